//! Digitised points: CSV files with header comments in `presets/valves/points`.

use std::path::Path;

/// A table of numbers with named columns; an empty cell is NaN.
pub struct Points {
    names: Vec<String>,
    rows: Vec<Vec<f64>>,
}

impl Points {
    /// Reads a file.
    pub fn read(path: &Path) -> Result<Points, String> {
        let text = std::fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))?;
        let mut lines = text
            .lines()
            .filter(|l| !l.starts_with('#') && !l.trim().is_empty());
        let names: Vec<String> = lines
            .next()
            .ok_or_else(|| format!("{}: empty", path.display()))?
            .split(',')
            .map(str::to_owned)
            .collect();
        let mut rows = Vec::new();
        for line in lines {
            let row: Result<Vec<f64>, _> = line
                .split(',')
                .map(|cell| {
                    if cell.is_empty() {
                        Ok(f64::NAN)
                    } else {
                        cell.parse()
                    }
                })
                .collect();
            let row = row.map_err(|e| format!("{}: '{line}': {e}", path.display()))?;
            if row.len() != names.len() {
                return Err(format!(
                    "{}: '{line}' has {} cells",
                    path.display(),
                    row.len()
                ));
            }
            rows.push(row);
        }
        Ok(Points { names, rows })
    }

    /// The rows as a function from column name to value; none where the cell is empty.
    pub fn rows(&self) -> impl Iterator<Item = impl Fn(&str) -> Option<f64> + '_> + '_ {
        self.rows.iter().map(move |row| {
            move |name: &str| {
                let column = self.names.iter().position(|n| n == name)?;
                Some(row[column]).filter(|v| v.is_finite())
            }
        })
    }
}
