//! Colour bands of resistors: three to six of them, from value and tolerance and back.
//!
//! All tables from memory; the classic ones (digits, multipliers, gold and silver) stand in every
//! text book.

use super::{EXACT, MarkingError, figures, joined};
use serde::Serialize;

/// A colour of a band.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Colour {
    /// ×0.01, ±10 %.
    Silver,
    /// ×0.1, ±5 %.
    Gold,
    /// 0.
    Black,
    /// 1, ±1 %.
    Brown,
    /// 2, ±2 %.
    Red,
    /// 3, ±0.05 %.
    Orange,
    /// 4, ±0.02 %.
    Yellow,
    /// 5, ±0.5 %.
    Green,
    /// 6, ±0.25 %.
    Blue,
    /// 7, ±0.1 %.
    Violet,
    /// 8, ±0.01 % (±0.05 % in older editions).
    Grey,
    /// 9.
    White,
}

impl Colour {
    /// All colours by their power of ten, from silver (−2) to white (9).
    pub const ALL: [Colour; 12] = [
        Colour::Silver,
        Colour::Gold,
        Colour::Black,
        Colour::Brown,
        Colour::Red,
        Colour::Orange,
        Colour::Yellow,
        Colour::Green,
        Colour::Blue,
        Colour::Violet,
        Colour::Grey,
        Colour::White,
    ];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Colour::Silver => "silver",
            Colour::Gold => "gold",
            Colour::Black => "black",
            Colour::Brown => "brown",
            Colour::Red => "red",
            Colour::Orange => "orange",
            Colour::Yellow => "yellow",
            Colour::Green => "green",
            Colour::Blue => "blue",
            Colour::Violet => "violet",
            Colour::Grey => "grey",
            Colour::White => "white",
        }
    }

    /// Power of ten as a multiplier, −2 to 9.
    pub fn power(self) -> i32 {
        let place = Colour::ALL.iter().position(|&c| c == self);
        place.unwrap_or(2) as i32 - 2
    }

    /// Digit; none for silver and gold.
    pub fn digit(self) -> Option<u32> {
        u32::try_from(self.power()).ok()
    }

    /// Tolerance as a share; none for black and white.
    pub fn tolerance(self) -> Option<f64> {
        TOLERANCES.iter().find(|t| t.0 == self).map(|t| t.1)
    }

    /// Temperature coefficient, 10⁻⁶ a kelvin; none for white, gold and silver.
    pub fn temperature_coefficient(self) -> Option<u32> {
        COEFFICIENTS.iter().find(|c| c.0 == self).map(|c| c.1)
    }
}

const TOLERANCES: [(Colour, f64); 10] = [
    (Colour::Silver, 0.1),
    (Colour::Gold, 0.05),
    (Colour::Brown, 0.01),
    (Colour::Red, 0.02),
    (Colour::Orange, 0.0005),
    (Colour::Yellow, 0.0002),
    (Colour::Green, 0.005),
    (Colour::Blue, 0.0025),
    (Colour::Violet, 0.001),
    (Colour::Grey, 0.0001),
];

const COEFFICIENTS: [(Colour, u32); 9] = [
    (Colour::Black, 250),
    (Colour::Brown, 100),
    (Colour::Red, 50),
    (Colour::Orange, 15),
    (Colour::Yellow, 25),
    (Colour::Green, 20),
    (Colour::Blue, 10),
    (Colour::Violet, 5),
    (Colour::Grey, 1),
];

/// Tolerance of a resistor without a tolerance band, as a share.
const NO_BAND: f64 = 0.2;

/// What a resistor's bands say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bands {
    /// Resistance, Ω.
    pub ohms: f64,
    /// Tolerance as a share: 0.05 is 5 %.
    pub tolerance: f64,
    /// Temperature coefficient, 10⁻⁶ a kelvin, where a sixth band states one.
    pub temperature_coefficient: Option<u32>,
}

/// The bands of a resistor, in reading order. `digits` is 2 (three or four bands: ±20 % has no
/// tolerance band) or 3 (five bands); with a temperature coefficient there are six.
///
/// # Errors
/// [`MarkingError`] when the value has more digits, lies beyond the multipliers (below 0.1 Ω with
/// two digits, below 1 Ω with three), or no colour stands for the tolerance.
///
/// # Panics
/// When `digits` is neither 2 nor 3.
pub fn bands(value: &Bands, digits: usize) -> Result<Vec<Colour>, MarkingError> {
    assert!(digits == 2 || digits == 3, "bands show two or three digits");
    let (number, power) = figures(value.ohms, digits)?;
    let multiplier = usize::try_from(power + 2).ok();
    let multiplier = multiplier.and_then(|place| Colour::ALL.get(place));
    let multiplier = *multiplier.ok_or(MarkingError::OutOfReach)?;
    let mut out: Vec<Colour> = (0..digits)
        .rev()
        .map(|place| Colour::ALL[2 + (number / 10u32.pow(place as u32) % 10) as usize])
        .collect();
    out.push(multiplier);
    let same = |share: f64| (share / value.tolerance - 1.0).abs() < EXACT;
    match TOLERANCES.iter().find(|(_, share)| same(*share)) {
        Some((colour, _)) => out.push(*colour),
        None if same(NO_BAND) && digits == 2 => {}
        None => return Err(MarkingError::NoSign),
    }
    if let Some(wanted) = value.temperature_coefficient {
        let sign = COEFFICIENTS.iter().find(|(_, c)| *c == wanted);
        // A sixth band stands beside three digits and a tolerance only.
        let sign = sign.filter(|_| digits == 3);
        out.push(sign.ok_or(MarkingError::NoSign)?.0);
    }
    Ok(out)
}

/// Reads three to six bands.
///
/// # Errors
/// [`MarkingError::Malformed`] when there are fewer or more, or a colour cannot stand in its place.
pub fn read_bands(bands: &[Colour]) -> Result<Bands, MarkingError> {
    let digits = match bands.len() {
        3 | 4 => 2,
        5 | 6 => 3,
        _ => return Err(MarkingError::Malformed),
    };
    let number = bands[..digits]
        .iter()
        .try_fold(0, |number, colour| Some(10 * number + colour.digit()?));
    let number = number.ok_or(MarkingError::Malformed)?;
    let tolerance = match bands.get(digits + 1) {
        Some(colour) => colour.tolerance().ok_or(MarkingError::Malformed)?,
        None => NO_BAND,
    };
    let coefficient = bands.get(digits + 2);
    let coefficient =
        coefficient.map(|c| c.temperature_coefficient().ok_or(MarkingError::Malformed));
    Ok(Bands {
        ohms: joined(number, bands[digits].power()),
        tolerance,
        temperature_coefficient: coefficient.transpose()?,
    })
}
