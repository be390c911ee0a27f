//! Digit codes of capacitors in picofarads, and the letter codes of rated voltages.
//!
//! From memory: two figures (three on closer parts) and the number of zeros, where 8 stands for
//! × 0.01 and 9 for × 0.1; a rated voltage is a power of ten and a letter for the figure.

use super::{EXACT, MarkingError, figures, joined};

/// Power of ten of a picofarad.
const PICO: i32 = -12;

/// The digit code of a capacitance in farads: 100 nF is "104" with two figures, "1003" with three.
///
/// # Errors
/// [`MarkingError`] when the value has more figures or lies beyond 0.1 pF and 990 µF.
///
/// # Panics
/// When `shown` is neither 2 nor 3.
pub fn capacitor_code(farads: f64, shown: usize) -> Result<String, MarkingError> {
    assert!(
        shown == 2 || shown == 3,
        "the code shows two or three figures"
    );
    let (number, power) = figures(farads, shown)?;
    let zeros = match power - PICO {
        -2 => 8,
        -1 => 9,
        zeros @ 0..=7 => zeros,
        _ => return Err(MarkingError::OutOfReach),
    };
    Ok(format!("{number}{zeros}"))
}

/// Reads a digit code of three or four digits: farads.
///
/// # Errors
/// [`MarkingError::Malformed`] for everything else.
pub fn read_capacitor_code(text: &str) -> Result<f64, MarkingError> {
    let digits = text.bytes().all(|b| b.is_ascii_digit());
    if !digits || !(3..=4).contains(&text.len()) {
        return Err(MarkingError::Malformed);
    }
    let code: u32 = text.parse().map_err(|_| MarkingError::Malformed)?;
    let power = match code % 10 {
        8 => -2,
        9 => -1,
        zeros => zeros as i32,
    };
    match code / 10 {
        0 => Err(MarkingError::Malformed),
        number => Ok(joined(number, power + PICO)),
    }
}

/// Letters of rated voltages with their figure in hundredths.
const VOLTS: [(char, u32); 12] = [
    ('A', 100),
    ('B', 125),
    ('C', 160),
    ('D', 200),
    ('E', 250),
    ('F', 315),
    ('V', 350),
    ('G', 400),
    ('W', 450),
    ('H', 500),
    ('J', 630),
    ('K', 800),
];

/// The code of a rated voltage: "2A" is 100 V, "2J" 630 V.
///
/// # Errors
/// [`MarkingError::NoSign`] for a voltage without a code.
pub fn voltage_code(volts: f64) -> Result<String, MarkingError> {
    let codes = (0..=3).flat_map(|power| VOLTS.iter().map(move |(l, f)| (power, *l, *f)));
    for (power, letter, figure) in codes {
        if (joined(figure, power - 2) / volts - 1.0).abs() < EXACT {
            return Ok(format!("{power}{letter}"));
        }
    }
    Err(MarkingError::NoSign)
}

/// Reads the code of a rated voltage, V.
///
/// # Errors
/// [`MarkingError::Malformed`] for everything else.
pub fn read_voltage_code(text: &str) -> Result<f64, MarkingError> {
    let malformed = MarkingError::Malformed;
    let mut chars = text.chars();
    let (Some(power), Some(letter), None) = (chars.next(), chars.next(), chars.next()) else {
        return Err(malformed);
    };
    let power = power.to_digit(10).filter(|p| *p <= 3).ok_or(malformed)?;
    let figure = VOLTS.iter().find(|v| v.0 == letter).ok_or(malformed)?.1;
    Ok(joined(figure, power as i32 - 2))
}
