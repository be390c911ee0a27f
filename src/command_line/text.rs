//! Tables and numbers for the terminal: plain text, no more digits than deserved, one minus sign.

use std::fmt;

/// Which edge of a column its cells keep to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// Words.
    Left,
    /// Numbers.
    Right,
}

/// A table: heads, then rows of as many cells, and titles between them.
#[derive(Clone, Debug)]
pub struct Table {
    heads: Vec<(String, Edge)>,
    rows: Vec<Row>,
}

#[derive(Clone, Debug)]
enum Row {
    Cells(Vec<String>),
    Title(String),
}

impl Table {
    /// A table with these columns.
    pub fn new(heads: &[(&str, Edge)]) -> Self {
        Table {
            heads: heads.iter().map(|(h, e)| (h.to_string(), *e)).collect(),
            rows: Vec::new(),
        }
    }

    /// Adds a row; what is missing stays empty.
    ///
    /// # Panics
    /// When it has more cells than the table has columns.
    pub fn row<S: Into<String>>(&mut self, cells: impl IntoIterator<Item = S>) {
        let mut row: Vec<String> = cells.into_iter().map(Into::into).collect();
        assert!(row.len() <= self.heads.len(), "too many cells: {row:?}");
        row.resize(self.heads.len(), String::new());
        self.rows.push(Row::Cells(row));
    }

    /// Adds a title over the rows that follow.
    pub fn title(&mut self, title: &str) {
        self.rows.push(Row::Title(title.into()));
    }

    /// Whether it has no rows.
    pub fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }
}

impl fmt::Display for Table {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let widths: Vec<usize> = (0..self.heads.len())
            .map(|c| {
                let cells = self.rows.iter().filter_map(|row| match row {
                    Row::Cells(cells) => Some(cells[c].chars().count()),
                    Row::Title(_) => None,
                });
                cells.fold(self.heads[c].0.chars().count(), usize::max)
            })
            .collect();
        let write_row = |f: &mut fmt::Formatter<'_>, cells: Vec<&str>| {
            let mut line = String::new();
            for ((cell, width), (_, edge)) in cells.iter().zip(&widths).zip(&self.heads) {
                let padding = " ".repeat(width - cell.chars().count());
                match edge {
                    Edge::Left => line += &format!("{cell}{padding}  "),
                    Edge::Right => line += &format!("{padding}{cell}  "),
                }
            }
            writeln!(f, "{}", line.trim_end())
        };
        write_row(f, self.heads.iter().map(|(h, _)| h.as_str()).collect())?;
        let rules: Vec<String> = widths.iter().map(|w| "─".repeat(*w)).collect();
        write_row(f, rules.iter().map(String::as_str).collect())?;
        for row in &self.rows {
            match row {
                Row::Cells(cells) => write_row(f, cells.iter().map(String::as_str).collect())?,
                Row::Title(title) => writeln!(f, "\n{title}")?,
            }
        }
        Ok(())
    }
}

/// A number with so many significant digits, without an exponent: 162, 9.6, 0.88. What is no
/// number is a dash.
pub fn significant(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return "–".into();
    }
    if value == 0.0 {
        return "0".into();
    }
    // The exponent after rounding: 9.96 to two digits is 10.
    let scientific = format!("{:.*e}", digits.saturating_sub(1), value);
    let exponent = scientific
        .split_once('e')
        .and_then(|(_, e)| e.parse::<i32>().ok())
        .unwrap_or(0);
    let places = (digits as i32 - 1 - exponent).clamp(0, 12) as usize;
    minus(&format!("{value:.places$}"))
}

/// A number with so many digits after the point.
pub fn fixed(value: f64, places: usize) -> String {
    if !value.is_finite() {
        return "–".into();
    }
    let text = format!("{value:.places$}");
    let nothing = text.chars().all(|c| matches!(c, '-' | '0' | '.'));
    minus(if nothing {
        text.trim_start_matches('-')
    } else {
        &text
    })
}

/// A difference in decibels with its sign: "+1.5", "−0.2", "0.0".
pub fn signed_db(db: f64) -> String {
    let text = fixed(db, 1);
    let positive = db > 0.0 && text != "0.0" && text != "–";
    if positive { format!("+{text}") } else { text }
}

/// Volts for a voltage chart: whole volts from 100, else three digits.
pub fn volts(volts: f64) -> String {
    if volts.abs() >= 99.5 {
        fixed(volts, 0)
    } else if volts.abs() < 0.0005 {
        "0".into()
    } else {
        significant(volts, 3)
    }
}

/// The trade's minus sign, as wide as a plus.
fn minus(text: &str) -> String {
    text.replacen('-', "−", 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_the_digits_they_deserve() {
        assert_eq!(significant(162.34, 3), "162");
        assert_eq!(significant(9.96, 2), "10");
        assert_eq!(significant(0.8765, 2), "0.88");
        assert_eq!(significant(-12.345, 3), "−12.3");
        assert_eq!(significant(12345.0, 3), "12345");
        assert_eq!(significant(f64::NAN, 3), "–");
        assert_eq!(fixed(-0.04, 1), "0.0");
        assert_eq!(signed_db(1.52), "+1.5");
        assert_eq!(signed_db(-0.2), "−0.2");
        assert_eq!(signed_db(0.01), "0.0");
        assert_eq!(volts(301.7), "302");
        assert_eq!(volts(1.234), "1.23");
        assert_eq!(volts(-1e-6), "0");
    }

    #[test]
    fn columns_stand_under_their_heads() {
        let mut table = Table::new(&[("Valve", Edge::Left), ("Anode, V", Edge::Right)]);
        table.row(["V1a", "162"]);
        table.row(["V3 µΩ"]);
        assert_eq!(
            table.to_string(),
            "Valve  Anode, V\n─────  ────────\nV1a         162\nV3 µΩ\n"
        );
        table.title("A title wider than the table");
        assert!(
            table
                .to_string()
                .ends_with("V3 µΩ\n\nA title wider than the table\n")
        );
        assert!(!table.is_empty());
    }
}
