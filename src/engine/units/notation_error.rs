//! Why a text is not a value of a quantity, and what to do about it.

use super::{Quantity, Unit};
use std::fmt;

/// Why a text is not a value of a quantity.
#[derive(Clone, Debug, PartialEq)]
pub enum NotationError {
    /// Not a number in any usual spelling.
    Malformed {
        /// What was asked for.
        quantity: Quantity,
    },
    /// A unit of another quantity.
    WrongUnit {
        /// What was asked for.
        quantity: Quantity,
        /// The unit or prefix as written.
        found: String,
    },
    /// A prefix in the wrong case or one that is never used here, such as "4m7" for a resistor.
    DoubtfulPrefix {
        /// What was asked for.
        quantity: Quantity,
        /// The prefix as written.
        found: char,
    },
    /// "4,700": decimal comma and thousands look alike.
    DoubtfulComma,
    /// A good number, but not one to be found in an amplifier.
    OutOfRange {
        /// What was asked for.
        quantity: Quantity,
        /// The value in SI units.
        value: f64,
    },
}

impl NotationError {
    /// What to do about it.
    pub fn remedy(&self) -> String {
        match self {
            NotationError::Malformed { quantity } | NotationError::WrongUnit { quantity, .. } => {
                format!("write it like {}", examples(*quantity))
            }
            NotationError::DoubtfulPrefix { quantity, .. } => match quantity.family() {
                Unit::Ohm => "write 4M7 for megohms, R0047 for milliohms".into(),
                Unit::Henry => "write 8m or \"8 mH\" for millihenries".into(),
                Unit::Farad => "write u for microfarads, n for nanofarads, p for picofarads".into(),
                _ => format!("write it like {}", examples(*quantity)),
            },
            NotationError::DoubtfulComma => {
                "write 4.7 or 4k7 with a decimal point, thousands without a separator".into()
            }
            NotationError::OutOfRange { .. } => "state a value within it".into(),
        }
    }
}

impl fmt::Display for NotationError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NotationError::Malformed { quantity } => write!(f, "is not a {}", quantity.name()),
            NotationError::WrongUnit { quantity, found } => {
                write!(
                    f,
                    "is not a {}: \"{found}\" is another unit",
                    quantity.name()
                )
            }
            NotationError::DoubtfulPrefix { quantity, found } => write!(
                f,
                "is doubtful: \"{found}\" is not a usual prefix of a {}",
                quantity.name()
            ),
            NotationError::DoubtfulComma => write!(f, "is doubtful: a decimal comma or thousands?"),
            NotationError::OutOfRange { quantity, .. } => {
                write!(f, "is outside {}", quantity.range_in_words())
            }
        }
    }
}

impl std::error::Error for NotationError {}

fn examples(quantity: Quantity) -> &'static str {
    match quantity.family() {
        Unit::Ohm => "4k7, 470, 2M2 or R47",
        Unit::Farad => "22n, 0.022u or 100p",
        Unit::Henry => "\"8 mH\" or \"20 H\"",
        Unit::Volt if quantity == Quantity::BiasVoltage => "\"-30 V\"",
        Unit::Volt => "\"280 V\"",
        Unit::Watt => "\"0.5 W\"",
        Unit::Ampere => "\"10 mA\"",
        Unit::Hertz => "\"1 kHz\"",
        Unit::Decibel => "\"-6 dB\"",
        Unit::Percent => "\"5%\"",
        Unit::Plain => "0.5 or \"50%\"",
    }
}
