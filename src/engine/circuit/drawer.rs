//! A parts drawer: the resistors, capacitors and chokes that an owner has, to choose from.
//!
//! Takes the text of a small TOML file, gives a [`Drawer`] or every fault at once.

use super::diagnostics::{Diagnostic, in_order, shorten};
use super::text::{self, Entry, Item, Raw};
use super::values::{check_format, plain_text, unknown_key, value_fault};
use crate::units::Quantity;

/// Most different values in a drawer.
pub const MOST_STOCKED: usize = 1000;
/// Most pieces of one value.
const MOST_PIECES: usize = 10_000;

/// Pieces of one value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stock {
    /// Resistance, capacitance or inductance.
    pub quantity: Quantity,
    /// SI units.
    pub value: f64,
    /// How many; at least one.
    pub pieces: usize,
}

/// What an owner has.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawer {
    /// Anything worth noting.
    pub about: String,
    /// In the order of the file, each value once.
    pub stock: Vec<Stock>,
}

/// The lists of a drawer and what stands in them.
const LISTS: [(&str, Quantity); 3] = [
    ("resistors", Quantity::Resistance),
    ("capacitors", Quantity::Capacitance),
    ("inductors", Quantity::Inductance),
];

/// Reads a drawer file.
///
/// # Errors
/// Every fault found, in the order of the file.
pub fn read_drawer(bytes: &[u8]) -> Result<Drawer, Vec<Diagnostic>> {
    let text = text::decode(bytes).map_err(|fault| vec![fault])?;
    let mut faults = Vec::new();
    let (_, entries) = text::parse(text, &mut faults);
    let mut drawer = Drawer::default();
    check_format(&entries, &mut faults);
    for entry in &entries {
        let list = LISTS.iter().find(|(word, _)| *word == entry.key);
        match (entry.key.as_str(), list) {
            ("format", _) => {}
            ("about", _) => match plain_text(entry) {
                Ok(text) => drawer.about = text,
                Err(fault) => faults.push(fault),
            },
            (_, Some((_, quantity))) => stock(&mut drawer, entry, *quantity, &mut faults),
            _ => faults.push(unknown_key(
                entry,
                &["format", "about", "resistors", "capacitors", "inductors"],
            )),
        }
    }
    if faults.is_empty() && drawer.stock.is_empty() {
        faults.push(Diagnostic::error(
            "the drawer is empty",
            "write resistors = [\"4k7\", \"10k x3\"] or capacitors = [\"22n\"]",
        ));
    }
    if faults.is_empty() {
        Ok(drawer)
    } else {
        Err(in_order(faults))
    }
}

fn stock(drawer: &mut Drawer, entry: &Entry, quantity: Quantity, faults: &mut Vec<Diagnostic>) {
    let Raw::List(items) = &entry.item.raw else {
        let message = format!("{} is not a list", entry.key);
        let remedy = format!("write {} = [\"4k7\", \"10k x3\"]", entry.key);
        faults.push(Diagnostic::error(message, remedy).line(entry.line));
        return;
    };
    for item in items {
        let new = match piece(item, quantity) {
            Ok(new) => new,
            Err(fault) => {
                faults.push(fault.line(item.line));
                continue;
            }
        };
        let same = |old: &&mut Stock| old.quantity == new.quantity && old.value == new.value;
        if let Some(old) = drawer.stock.iter_mut().find(same) {
            old.pieces = (old.pieces + new.pieces).min(MOST_PIECES);
        } else if drawer.stock.len() < MOST_STOCKED {
            drawer.stock.push(new);
        } else {
            let message = format!("more than {MOST_STOCKED} values are too many");
            let remedy = "keep those that you would use";
            faults.push(Diagnostic::error(message, remedy).line(item.line));
            return;
        }
    }
}

/// One entry: a value, and how many of it there are after an "x".
fn piece(item: &Item, quantity: Quantity) -> Result<Stock, Diagnostic> {
    let (Raw::Text(text) | Raw::Number(text)) = &item.raw else {
        let message = format!("an entry is no {}", quantity.name());
        return Err(Diagnostic::error(
            message,
            "write it like \"10k\" or \"10k x3\"",
        ));
    };
    let (value, pieces) = match text.rsplit_once(['x', 'X', '×']) {
        None => (text.as_str(), 1),
        Some((value, count)) => {
            let pieces = count.trim().parse::<usize>().ok();
            let Some(pieces) = pieces.filter(|n| (1..=MOST_PIECES).contains(n)) else {
                let message = format!(
                    "\"{}\" is no number of pieces: 1 to {MOST_PIECES}",
                    shorten(count.trim())
                );
                let remedy = "write it like \"10k x3\", or leave out what you do not have";
                return Err(Diagnostic::error(message, remedy).value(text));
            };
            (value, pieces)
        }
    };
    let parsed = quantity.parse(value.trim());
    Ok(Stock {
        quantity,
        value: parsed.map_err(|fault| value_fault(&fault, value.trim(), None).value(text))?,
        pieces,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_and_counts_are_read_and_alike_ones_added() {
        let drawer = read_drawer(
            b"format = 1\nabout = \"left over\"\nresistors = [\"4k7\", \"10k x3\", 4700, \"1M\xc3\x97 2\"]\ncapacitors = [\"22n\"]\n",
        )
        .expect("a drawer");
        let told: Vec<(f64, usize)> = drawer.stock.iter().map(|s| (s.value, s.pieces)).collect();
        assert_eq!(told, [(4700.0, 2), (10e3, 3), (1e6, 2), (22e-9, 1)]);
        assert_eq!(drawer.about, "left over");
    }

    #[test]
    fn all_faults_are_told_with_their_lines() {
        let text = "format = 1\nresistors = [\"4q7\",\n \"10k x0\",\n true]\ncapacitors = \"22n\"\nvalves = []\n";
        let faults = read_drawer(text.as_bytes()).expect_err("faulty");
        let lines: Vec<Option<usize>> = faults.iter().map(|f| f.line).collect();
        assert_eq!(lines, [Some(2), Some(3), Some(4), Some(5), Some(6)]);
        assert!(faults.iter().all(|f| !f.remedy.is_empty()), "{faults:?}");
        assert!(read_drawer(b"format = 1\n").is_err());
        assert!(read_drawer(b"\xff").is_err());
    }
}
