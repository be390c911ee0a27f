//! The words of a match that are more than a number.

use super::unknowns::UnknownKind;
use crate::text::digits::{fixed, hertz, significant};

/// A peak or a dip of the colour is worth a word from this size on, dB, and from so many standard
/// deviations on.
const WORTH_DB: f64 = 1.0;
const WORTH_DEVIATIONS: f64 = 2.0;
/// Most peaks and dips that are told.
const MOST_TOLD: usize = 4;

/// A value with three digits, or a position on a dial from 0 to 10.
pub fn in_words(what: UnknownKind, value: f64) -> String {
    match what {
        UnknownKind::Value(quantity) => quantity.in_words(to_digits(value, 3)),
        UnknownKind::Rotation(_) => format!("{} of 10", fixed(10.0 * value, 1)),
    }
}

/// "between 180 kΩ and 330 kΩ", with two digits.
pub fn range_in_words(what: UnknownKind, [low, high]: [f64; 2]) -> String {
    let shown = |value: f64| match what {
        UnknownKind::Value(quantity) => quantity.in_words(to_digits(value, 2)),
        UnknownKind::Rotation(_) => fixed(10.0 * value, 1),
    };
    let (low, high) = (shown(low), shown(high));
    let end = match what {
        UnknownKind::Value(_) => "",
        UnknownKind::Rotation(_) => " of 10",
    };
    format!("most likely between {low} and {high}{end}")
}

/// A number with so many significant digits and nothing behind them.
fn to_digits(value: f64, digits: usize) -> f64 {
    let text = format!("{:.*e}", digits - 1, value);
    text.parse().unwrap_or(value)
}

/// Where a curve stands out of its doubt: its highest and lowest places, in the order of frequency.
/// `hz`, `db` and `deviation` go together.
pub fn peaks(hz: &[f64], db: &[f64], deviation: &[f64]) -> Vec<String> {
    let mut found: Vec<(usize, f64)> = (0..db.len())
        .filter(|&i| db[i].abs() >= WORTH_DB && db[i].abs() >= WORTH_DEVIATIONS * deviation[i])
        .filter(|&i| {
            let higher = |j: usize| db[j].abs() > db[i].abs() && db[j] * db[i] > 0.0;
            let before = i > 0 && higher(i - 1);
            let after = i + 1 < db.len() && higher(i + 1);
            !before && !after
        })
        .map(|i| (i, db[i].abs()))
        .collect();
    found.sort_by(|a, b| b.1.total_cmp(&a.1));
    found.truncate(MOST_TOLD);
    found.sort_by_key(|(i, _)| *i);
    let last = db.len().saturating_sub(1);
    let told = |(i, _): (usize, f64)| {
        let sign = if db[i] > 0.0 { "+" } else { "−" };
        let size = significant(db[i].abs(), if db[i].abs() < 10.0 { 1 } else { 2 });
        let place = match i {
            0 => "at and below",
            i if i == last => "at and above",
            _ => "about",
        };
        format!("{sign}{size} dB {place} {}", hertz(hz[i]))
    };
    found.into_iter().map(told).collect()
}
