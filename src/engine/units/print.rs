//! Value to text: the canonical notation, and words for reading.
//!
//! The canonical notation uses the shortest digits that name a double, so reading it gives the
//! same double back.

use super::{Quantity, Unit};

impl Quantity {
    /// The one canonical notation of a value, such that [`Quantity::parse`] gives it back exactly.
    pub fn format(self, value: f64) -> String {
        format(self, value)
    }

    /// A value for reading, with prefix and unit and at most four significant digits: "4.7 kΩ".
    pub fn in_words(self, value: f64) -> String {
        in_words(self, value)
    }
}

/// Shortest digits that name `value` exactly, without the point, and the power of ten of the
/// first digit.
fn shortest(value: f64) -> (String, i32) {
    split_exponent(&format!("{:e}", value.abs()))
}

fn split_exponent(text: &str) -> (String, i32) {
    let (digits, exponent) = text.split_once('e').expect("`e` format has an exponent");
    let digits: String = digits.chars().filter(|c| *c != '.').collect();
    (
        digits,
        exponent.parse().expect("`e` format has a number there"),
    )
}

/// Digits with the point, or `letter`, behind the first `whole` digits; no trailing zeros.
fn place(digits: &str, whole: i32, letter: &str) -> String {
    let (mut head, tail) = if whole <= 0 {
        (String::new(), "0".repeat(-whole as usize) + digits)
    } else {
        let mut head: String = digits.chars().take(whole as usize).collect();
        let tail = digits.chars().skip(whole as usize).collect();
        while (head.len() as i32) < whole {
            head.push('0');
        }
        (head, tail)
    };
    let tail = tail.trim_end_matches('0');
    if head.is_empty() && (letter == "." || tail.is_empty()) {
        head.push('0');
    }
    match (letter, tail.is_empty()) {
        ("R" | ".", true) => head,
        _ => head + letter + tail,
    }
}

/// Prefixes that the canonical notation uses, largest first.
fn prefixes(family: Unit) -> &'static [(i32, &'static str)] {
    match family {
        Unit::Ohm => &[(6, "M"), (3, "k"), (0, "R")],
        Unit::Farad => &[(-6, "u"), (-9, "n"), (-12, "p")],
        Unit::Henry => &[(0, ""), (-3, "m"), (-6, "u")],
        Unit::Ampere => &[(0, ""), (-3, "m"), (-6, "u")],
        Unit::Hertz => &[(3, "k"), (0, "")],
        _ => &[(0, "")],
    }
}

/// Largest prefix that leaves a digit before the point, else the smallest.
fn choose_prefix(family: Unit, power: i32) -> (i32, &'static str) {
    let all = prefixes(family);
    *all.iter()
        .find(|p| power >= p.0)
        .unwrap_or(all.last().expect("every family has a prefix"))
}

fn format(quantity: Quantity, value: f64) -> String {
    let family = quantity.family();
    let sign = if value < 0.0 { "-" } else { "" };
    if value == 0.0 || !value.is_finite() {
        return number_with_unit(quantity, &value.to_string(), "");
    }
    let (digits, mut power) = shortest(value);
    let smallest = prefixes(family).last().map_or(0, |p| p.0);
    if power < smallest - 6 || power > 20 {
        // A page of zeros is no notation; these are tests' and fuzzers' values.
        let number = format!("{value:e}");
        return match family {
            Unit::Percent => number,
            _ => number_with_unit(quantity, &number, ""),
        };
    }
    match family {
        Unit::Ohm | Unit::Farad => {
            let (scale, letter) = choose_prefix(family, power);
            sign.to_owned() + &place(&digits, power - scale + 1, letter)
        }
        _ => {
            if family == Unit::Percent {
                power += 2;
            }
            let (scale, prefix) = choose_prefix(family, power);
            let number = place(&digits, power - scale + 1, ".");
            number_with_unit(quantity, &format!("{sign}{number}"), prefix)
        }
    }
}

fn in_words(quantity: Quantity, value: f64) -> String {
    if value == 0.0 || !value.is_finite() {
        return number_with_words(quantity, &value.to_string(), "");
    }
    let sign = if value < 0.0 { "-" } else { "" };
    let (digits, mut power) = split_exponent(&format!("{:.3e}", value.abs()));
    let family = quantity.family();
    if family == Unit::Percent {
        power += 2;
    }
    let (scale, prefix) = choose_prefix(family, power);
    let prefix = match prefix {
        "R" => "",
        "u" => "µ",
        p => p,
    };
    let whole = power - scale + 1;
    // An absurd value keeps its exponent rather than a page of zeros.
    if !(-6..=9).contains(&whole) {
        return number_with_words(quantity, &format!("{value:.3e}"), "");
    }
    let number = place(&digits, whole, ".");
    number_with_words(quantity, &format!("{sign}{number}"), prefix)
}

fn number_with_unit(quantity: Quantity, number: &str, prefix: &str) -> String {
    match quantity.family() {
        Unit::Ohm | Unit::Farad | Unit::Plain => number.to_owned(),
        Unit::Percent => format!("{number}%"),
        _ => format!("{number} {prefix}{}", quantity.unit()),
    }
}

fn number_with_words(quantity: Quantity, number: &str, prefix: &str) -> String {
    let unit = quantity.unit();
    if unit.is_empty() {
        number.to_owned()
    } else {
        format!("{number} {prefix}{unit}")
    }
}
