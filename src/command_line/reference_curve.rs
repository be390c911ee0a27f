//! A measured curve from outside: a CSV file of hertz and decibels, to compare with.

use super::failure::Failure;
use crate::files::read_text;
use std::path::Path;

/// Largest file, bytes.
const LIMIT: u64 = 1 << 20;

/// A curve by its points.
#[derive(Clone, Debug, PartialEq)]
pub struct ReferenceCurve {
    /// Frequencies, Hz, rising.
    pub hz: Vec<f64>,
    /// Levels, dB.
    pub db: Vec<f64>,
}

/// Reads a curve from a file.
///
/// # Errors
/// Everything that [`parse`] finds, and faults of the file.
pub fn read(path: &Path) -> Result<ReferenceCurve, Failure> {
    parse(&read_text(path, LIMIT)?).map_err(|faults| {
        let name = path.display();
        Failure::Input(faults.iter().map(|f| format!("{name}, {f}")).collect())
    })
}

/// Reads a curve from text: a point a line, hertz then decibels, between them a comma, a semicolon
/// or a space; more columns, empty lines, lines that start with `#` and one line of heads are left
/// out.
///
/// # Errors
/// Each line that is no point, and a curve of fewer than two points.
pub fn parse(text: &str) -> Result<ReferenceCurve, Vec<String>> {
    let mut curve = ReferenceCurve {
        hz: Vec::new(),
        db: Vec::new(),
    };
    let mut faults = Vec::new();
    let mut heads_allowed = true;
    for (i, line) in text.lines().enumerate() {
        let line = line.trim().trim_start_matches('\u{feff}');
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        let mut cells = line
            .split(|c: char| matches!(c, ',' | ';') || c.is_whitespace())
            .filter(|cell| !cell.is_empty())
            .map(str::parse::<f64>);
        match (cells.next(), cells.next()) {
            (Some(Ok(hz)), Some(Ok(db))) => {
                let rising = curve.hz.last().is_none_or(|last| hz > *last);
                if !(0.1..=1e6).contains(&hz) {
                    faults.push(format!(
                        "line {}: {hz} Hz is outside 0.1 Hz to 1 MHz",
                        i + 1
                    ));
                } else if !rising {
                    faults.push(format!("line {}: {hz} Hz does not rise", i + 1));
                } else if !(-300.0..=300.0).contains(&db) {
                    faults.push(format!("line {}: {db} dB is outside ±300 dB", i + 1));
                } else {
                    curve.hz.push(hz);
                    curve.db.push(db);
                }
            }
            (Some(Err(_)), _) if heads_allowed => {}
            _ => faults.push(format!("line {}: not a point of hertz and decibels", i + 1)),
        }
        heads_allowed = false;
    }
    if faults.is_empty() && curve.hz.len() < 2 {
        faults.push("a curve needs two points or more".into());
    }
    if faults.is_empty() {
        Ok(curve)
    } else {
        Err(faults)
    }
}

impl ReferenceCurve {
    /// The curve at a frequency, straight between its points on a logarithmic axis; none outside.
    pub fn at(&self, hz: f64) -> Option<f64> {
        let after = self.hz.partition_point(|&f| f < hz);
        if after < self.hz.len() && self.hz[after] == hz {
            return Some(self.db[after]);
        }
        if after == 0 || after == self.hz.len() {
            return None;
        }
        let [x0, x1] = [self.hz[after - 1].ln(), self.hz[after].ln()];
        let [y0, y1] = [self.db[after - 1], self.db[after]];
        Some(y0 + (y1 - y0) * (hz.ln() - x0) / (x1 - x0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn commas_semicolons_spaces_heads_and_comments() {
        let text = "# a sweep\nFrequency,Level\n20, -3\n\n2000;1,90\n20000\t-1.5\n";
        let curve = parse(text).unwrap();
        assert_eq!(curve.hz, [20.0, 2000.0, 20_000.0]);
        assert_eq!(curve.db, [-3.0, 1.0, -1.5]);
        assert_eq!(curve.at(20.0), Some(-3.0));
        // Half way on a logarithmic axis.
        assert!((curve.at(200.0).unwrap() + 1.0).abs() < 1e-12);
        assert_eq!(curve.at(10.0), None);
        assert_eq!(curve.at(30_000.0), None);
    }

    #[test]
    fn every_fault_is_told() {
        let faults = parse("100,1\n50,2\n200,x\n300,1e9\nNaN,0\n").unwrap_err();
        assert_eq!(faults.len(), 4, "{faults:?}");
        assert!(faults[0].contains("line 2"));
        assert_eq!(parse("20,0\n").unwrap_err().len(), 1);
        assert_eq!(parse("").unwrap_err().len(), 1);
    }
}
