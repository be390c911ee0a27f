//! How the part in the shop is marked: both usual colour codes, letters, digits, rated voltage.

use crate::circuit::{Part, PartKind};
use crate::units::marking::{
    Bands, Colour, MarkingError, Tolerance, bands, capacitance_code, capacitor_code,
    resistance_code, voltage_code,
};
use serde::Serialize;

/// One colour code.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ColourCode {
    /// Bands in reading order.
    pub bands: Vec<Colour>,
    /// The tolerance that the last band states, as a share.
    pub tolerance: f64,
}

impl ColourCode {
    /// "brown, green, orange, gold".
    pub fn in_words(&self) -> String {
        let names: Vec<&str> = self.bands.iter().map(|c| c.name()).collect();
        names.join(", ")
    }
}

/// Everything that may be printed on one part. What cannot be printed is none.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Marking {
    /// Two digits: usual at 5 % and wider.
    pub four_bands: Option<ColourCode>,
    /// Three digits: usual at 2 % and closer.
    pub five_bands: Option<ColourCode>,
    /// Letter code, such as "15K" or "22n"; without the tolerance, whose letter follows.
    pub letters: Option<String>,
    /// Letter of the tolerance, such as "J".
    pub tolerance_letter: Option<char>,
    /// Digits of a capacitor, such as "223".
    pub digits: Option<String>,
    /// Code of a capacitor's rated voltage, such as "2G".
    pub volts: Option<String>,
    /// What cannot be marked, and why; in words.
    pub notes: Vec<String>,
}

/// From here on a resistor usually has four bands, below it five (common practice, no source).
const FOUR_BANDS_TOLERANCE: f64 = 0.05;
/// Tolerance of the usual part with five bands.
const FIVE_BANDS_TOLERANCE: f64 = 0.01;
/// From here on a capacitor is an electrolytic and has its value printed in plain, F.
pub const ELECTROLYTIC_FARADS: f64 = 1e-6;

/// The marking of a part of this value and tolerance, rated for `volts`; empty for parts whose
/// value is printed in plain.
pub fn marking(part: &Part, tolerance: f64, volts: Option<f64>) -> Marking {
    match part.kind {
        PartKind::Resistor { ohms, .. } => resistor(ohms, tolerance),
        PartKind::Capacitor { farads, .. } => capacitor(farads, tolerance, volts),
        _ => Marking::default(),
    }
}

fn resistor(ohms: f64, tolerance: f64) -> Marking {
    let code = |digits: usize, tolerance: f64| {
        let value = Bands {
            ohms,
            tolerance,
            temperature_coefficient: None,
        };
        bands(&value, digits).map(|bands| ColourCode { bands, tolerance })
    };
    let four = code(2, tolerance);
    let five = code(3, tolerance.min(FIVE_BANDS_TOLERANCE));
    let letters = resistance_code(ohms, None);
    let mut notes = Vec::new();
    for (code, what) in [(&four, "four bands"), (&five, "five bands")] {
        match code {
            Err(MarkingError::TooManyDigits { shown }) => notes.push(format!(
                "It cannot be written in {what}: they show {shown} digits."
            )),
            Err(MarkingError::OutOfReach) => {
                notes.push(format!("It cannot be written in {what}."));
            }
            Err(_) => notes.push(format!("No colour stands for its tolerance in {what}.")),
            Ok(_) => {}
        }
    }
    if letters.is_err() {
        notes.push("It has more digits than the letter code shows.".into());
    }
    Marking {
        four_bands: four.ok(),
        five_bands: five.ok(),
        letters: letters.ok(),
        tolerance_letter: Tolerance::Share(tolerance).letter(),
        notes,
        ..Marking::default()
    }
}

fn capacitor(farads: f64, tolerance: f64, volts: Option<f64>) -> Marking {
    let letters = capacitance_code(farads, None);
    let two = capacitor_code(farads, 2);
    let digits = two.clone().or_else(|_| capacitor_code(farads, 3));
    let mut notes = Vec::new();
    if farads >= ELECTROLYTIC_FARADS {
        notes.push("Electrolytics carry the value and the volts in plain print.".into());
    }
    if two.is_err() {
        notes.push(match digits {
            Ok(_) => "It needs four digits: a usual three-digit code cannot show it.".into(),
            Err(_) => "It cannot be written in a digit code.".to_string(),
        });
    }
    Marking {
        letters: letters.ok(),
        tolerance_letter: Tolerance::Share(tolerance).letter(),
        digits: digits.ok(),
        volts: volts.and_then(|v| voltage_code(v).ok()),
        notes,
        ..Marking::default()
    }
}

/// The colour code that a part with this tolerance usually has, if there is one.
pub fn usual(marking: &Marking, tolerance: f64) -> Option<&ColourCode> {
    match tolerance >= FOUR_BANDS_TOLERANCE {
        true => marking.four_bands.as_ref().or(marking.five_bands.as_ref()),
        false => marking.five_bands.as_ref().or(marking.four_bands.as_ref()),
    }
}
