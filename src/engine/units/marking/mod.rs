//! What is printed on a part, IEC 60062: colour bands, letter codes, digit codes, voltage codes.
//!
//! Takes values in SI units and gives the marking, and reads each marking back. A value that has
//! more digits than a marking can show is refused in words, never rounded. The standard itself was
//! not seen: the tables are quoted from memory unless a line says otherwise.

mod colour;
mod digits;
mod letters;
mod tolerance;

pub use colour::{Bands, Colour, bands, read_bands};
pub use digits::{capacitor_code, read_capacitor_code, read_voltage_code, voltage_code};
pub use letters::{capacitance_code, read_capacitance_code, read_resistance_code, resistance_code};
pub use tolerance::Tolerance;

use std::fmt;

/// Why a value has no such marking, or a marking no value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum MarkingError {
    /// The value is no positive number.
    NoValue,
    /// The value has more significant digits than the marking shows.
    TooManyDigits {
        /// Digits that the marking shows.
        shown: usize,
    },
    /// Too small or too large for the multipliers of the marking.
    OutOfReach,
    /// The marking has no sign for this tolerance or temperature coefficient.
    NoSign,
    /// Not a marking of this kind.
    Malformed,
}

impl fmt::Display for MarkingError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            MarkingError::NoValue => write!(f, "there is no value to mark"),
            MarkingError::TooManyDigits { shown } => {
                write!(
                    f,
                    "the value has more digits than the {shown} that are marked"
                )
            }
            MarkingError::OutOfReach => write!(f, "the value is beyond the multipliers"),
            MarkingError::NoSign => write!(f, "the marking has no sign for this tolerance"),
            MarkingError::Malformed => write!(f, "this is no such marking"),
        }
    }
}

impl std::error::Error for MarkingError {}

/// A marking cannot differ from its value by more than this share: rounding of doubles, not of
/// values.
const EXACT: f64 = 1e-9;

/// The value as a whole number of `figures` digits times a power of ten.
///
/// # Errors
/// [`MarkingError::NoValue`] and [`MarkingError::TooManyDigits`].
fn figures(value: f64, figures: usize) -> Result<(u32, i32), MarkingError> {
    if !(value.is_finite() && value > 0.0) {
        return Err(MarkingError::NoValue);
    }
    let text = format!("{value:.*e}", figures - 1);
    let rounded: f64 = text.parse().map_err(|_| MarkingError::NoValue)?;
    if (rounded / value - 1.0).abs() > EXACT {
        return Err(MarkingError::TooManyDigits { shown: figures });
    }
    let (mantissa, exponent) = text.split_once('e').ok_or(MarkingError::NoValue)?;
    let number = mantissa.replace('.', "").parse();
    let exponent: Result<i32, _> = exponent.parse();
    match (number, exponent) {
        (Ok(number), Ok(exponent)) => Ok((number, exponent + 1 - figures as i32)),
        _ => Err(MarkingError::NoValue),
    }
}

/// The double nearest to `number · 10^power`.
fn joined(number: u32, power: i32) -> f64 {
    // Decimal text is rounded once; a product of two doubles would be rounded twice.
    format!("{number}e{power}").parse().unwrap_or(f64::NAN)
}
