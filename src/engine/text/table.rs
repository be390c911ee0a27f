//! Tables and numbers for the terminal: plain text, no more digits than deserved, one minus sign.

pub use crate::text::digits::{fixed, signed_db, significant, volts};
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

#[cfg(test)]
mod tests {
    use super::*;

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
