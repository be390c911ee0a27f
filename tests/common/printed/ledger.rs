//! Measured against printed, row by row; rows that miss are listed with their figure and reason.
//!
//! A miss that is not listed fails the test, and so does a listed miss that is none or whose
//! figure has changed: the list is what is measured, no more and no less.

/// How far a measured figure may be from the printed one.
#[derive(Clone, Copy, Debug)]
pub enum Within {
    /// Per cent of the printed figure.
    Percent(f64),
    /// In the figure's own unit: percentage points, decibels.
    Of(f64),
}

/// One figure.
#[derive(Clone, Debug)]
pub struct Row {
    pub what: String,
    pub measured: f64,
    pub printed: f64,
    pub within: Within,
}

impl Row {
    fn meets(&self) -> bool {
        let off = (self.measured - self.printed).abs();
        match self.within {
            Within::Percent(p) => off <= 0.01 * p * self.printed.abs(),
            Within::Of(amount) => off <= amount,
        }
    }

    fn offset(&self) -> String {
        match self.within {
            Within::Percent(p) => format!(
                "{:+6.1} % (±{p})",
                100.0 * (self.measured / self.printed - 1.0)
            ),
            Within::Of(amount) => format!("{:+6.2}   (±{amount})", self.measured - self.printed),
        }
    }
}

/// A printed figure that is not met: its row, what is measured instead, and why.
#[derive(Clone, Copy, Debug)]
pub struct Miss {
    pub what: &'static str,
    pub measured: f64,
    pub why: &'static str,
}

/// Share by which a listed miss may move before it counts as changed.
const SAME: f64 = 0.01;

/// All rows of a test.
#[derive(Debug, Default)]
pub struct Ledger(Vec<Row>);

impl Ledger {
    pub fn add(&mut self, what: impl Into<String>, measured: f64, printed: f64, within: Within) {
        self.0.push(Row {
            what: what.into(),
            measured,
            printed,
            within,
        });
    }

    /// A figure that several makers print differently: the nearest is the one to meet.
    pub fn add_any(
        &mut self,
        what: impl Into<String>,
        measured: f64,
        printed: &[f64],
        within: Within,
    ) {
        let off = |p: &f64| (measured / p - 1.0).abs();
        let nearest = printed
            .iter()
            .copied()
            .min_by(|a, b| off(a).total_cmp(&off(b)))
            .expect("a printed figure");
        self.add(what, measured, nearest, within);
    }

    /// Prints the table, then fails unless the rows that miss are exactly `misses`.
    pub fn settle(self, misses: &[Miss]) {
        let mut wrong = Vec::new();
        let mut met = 0;
        for row in &self.0 {
            let listed = misses.iter().find(|m| m.what == row.what);
            let sign = if row.meets() { ' ' } else { '!' };
            println!(
                "{sign} {:<58} {:>9.3} printed {:>8.3} {}",
                row.what,
                row.measured,
                row.printed,
                row.offset()
            );
            met += usize::from(row.meets());
            match (row.meets(), listed) {
                (true, Some(_)) => wrong.push(format!("{} is met: take it off the list", row.what)),
                (false, None) => wrong.push(format!(
                    "{}: {:.4}, printed {}",
                    row.what, row.measured, row.printed
                )),
                (false, Some(m)) if (row.measured / m.measured - 1.0).abs() > SAME => {
                    wrong.push(format!(
                        "{}: {:.4}, listed as {}",
                        row.what, row.measured, m.measured
                    ));
                }
                _ => {}
            }
        }
        for miss in misses {
            if !self.0.iter().any(|r| r.what == miss.what) {
                wrong.push(format!("{} is listed but not measured", miss.what));
            }
        }
        println!("{met} of {} met", self.0.len());
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }
}
