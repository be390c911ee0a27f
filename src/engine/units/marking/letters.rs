//! Letter codes: the multiplier's letter stands in place of the decimal point, a tolerance letter
//! may follow. "4K7J" is 4.7 kΩ ±5 %, "22nK" is 22 nF ±10 %.
//!
//! The form was seen in the examples of a package that reads such codes (R47, 4R7, 470R, 4K7, 47K,
//! p33, 4n7, 22n, 100n); milli- and micro-ohms are left out, being doubtful.

use super::{EXACT, MarkingError, Tolerance, joined};

/// Letters of resistors with their powers of ten, largest first.
const OHMS: [(char, i32); 5] = [('T', 12), ('G', 9), ('M', 6), ('K', 3), ('R', 0)];
/// Letters of capacitors, largest first.
const FARADS: [(char, i32); 5] = [('F', 0), ('m', -3), ('µ', -6), ('n', -9), ('p', -12)];
/// Significant figures that the code can show.
const MOST_FIGURES: usize = 4;

/// The letter code of a resistance in ohms, such as "4K7" or "470R"; with the tolerance's letter
/// if it is given and has one.
///
/// # Errors
/// [`MarkingError`] when it has more than four digits or is no positive number.
pub fn resistance_code(ohms: f64, tolerance: Option<Tolerance>) -> Result<String, MarkingError> {
    code(ohms, &OHMS, tolerance)
}

/// The letter code of a capacitance in farads, such as "22n" or "2µ2".
///
/// # Errors
/// As [`resistance_code`].
pub fn capacitance_code(farads: f64, tolerance: Option<Tolerance>) -> Result<String, MarkingError> {
    code(farads, &FARADS, tolerance)
}

fn code(
    value: f64,
    letters: &[(char, i32)],
    tolerance: Option<Tolerance>,
) -> Result<String, MarkingError> {
    if !(value.is_finite() && value > 0.0) {
        return Err(MarkingError::NoValue);
    }
    let scientific = format!("{value:.*e}", MOST_FIGURES - 1);
    let exact = scientific
        .parse::<f64>()
        .map_or(f64::NAN, |v| v / value - 1.0);
    if exact.is_nan() || exact.abs() > EXACT {
        return Err(MarkingError::TooManyDigits {
            shown: MOST_FIGURES,
        });
    }
    let (mantissa, exponent) = scientific.split_once('e').ok_or(MarkingError::NoValue)?;
    let exponent: i32 = exponent.parse().map_err(|_| MarkingError::NoValue)?;
    let figures = mantissa.replace('.', "");
    let figures = figures.trim_end_matches('0');
    // The largest letter that leaves a digit before it; below the smallest letter the code begins
    // with it: R47, p33.
    let smallest = letters[letters.len() - 1];
    let (letter, power) = *letters
        .iter()
        .find(|l| exponent >= l.1)
        .unwrap_or(&smallest);
    let before = exponent - power + 1;
    if !(-1..=3).contains(&before) {
        return Err(MarkingError::OutOfReach);
    }
    let whole: String = (0..before.max(0) as usize)
        .map(|place| figures.chars().nth(place).unwrap_or('0'))
        .collect();
    let zeros = "0".repeat((-before).max(0) as usize);
    let rest: String = figures.chars().skip(before.max(0) as usize).collect();
    let sign = tolerance.map(|t| t.letter().ok_or(MarkingError::NoSign));
    let sign = sign.transpose()?.map(String::from).unwrap_or_default();
    Ok(format!("{whole}{letter}{zeros}{rest}{sign}"))
}

/// Reads a resistor's letter code: ohms, and the tolerance if it is marked.
///
/// # Errors
/// [`MarkingError::Malformed`] for everything else.
pub fn read_resistance_code(text: &str) -> Result<(f64, Option<Tolerance>), MarkingError> {
    let (ohms, sign) = read(text, &OHMS)?;
    let tolerance = sign.map(|s| Tolerance::of_resistor(s).ok_or(MarkingError::Malformed));
    Ok((ohms, tolerance.transpose()?))
}

/// Reads a capacitor's letter code: farads, and the tolerance if it is marked. A "u" is taken for
/// the "µ" that few printers have.
///
/// # Errors
/// [`MarkingError::Malformed`] for everything else.
pub fn read_capacitance_code(text: &str) -> Result<(f64, Option<Tolerance>), MarkingError> {
    let (farads, sign) = read(&text.replace(['u', 'μ'], "µ"), &FARADS)?;
    let tolerance = sign.map(|s| Tolerance::of_capacitor(s, farads).ok_or(MarkingError::Malformed));
    Ok((farads, tolerance.transpose()?))
}

fn read(text: &str, letters: &[(char, i32)]) -> Result<(f64, Option<char>), MarkingError> {
    let malformed = MarkingError::Malformed;
    let digits = |part: &str| part.chars().all(|c| c.is_ascii_digit());
    let at = text.find(|c: char| !c.is_ascii_digit()).ok_or(malformed)?;
    let (whole, rest) = text.split_at(at);
    let letter = rest.chars().next().ok_or(malformed)?;
    let power = letters.iter().find(|l| l.0 == letter).ok_or(malformed)?.1;
    let rest = &rest[letter.len_utf8()..];
    let last = rest.chars().next_back().filter(|c| !c.is_ascii_digit());
    let fraction = last.map_or(rest, |c| &rest[..rest.len() - c.len_utf8()]);
    let figures = whole.len() + fraction.len();
    if !digits(fraction) || figures == 0 || figures > MOST_FIGURES + 1 {
        return Err(malformed);
    }
    let number: u32 = format!("{whole}{fraction}")
        .parse()
        .map_err(|_| malformed)?;
    if number == 0 {
        return Err(malformed);
    }
    Ok((joined(number, power - fraction.len() as i32), last))
}
