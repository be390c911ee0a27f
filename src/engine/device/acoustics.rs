//! Loudspeaker: its acoustic side, from the volts at its terminals to what a microphone hears.
//!
//! A few physical sections, each of first or second order: the driver's own resonance, which
//! follows from its electrical side, and what the file adds to it. They say how the sound at the
//! microphone depends on frequency at small levels, on the axis; the coil's inductance is in them,
//! since they begin with the voltage. Efficiency is not in them: at [`UNITY_HZ`] the gain is 1.

use num_complex::Complex64;
use serde::Deserialize;
use std::f64::consts::TAU;

/// Frequency at which every loudspeaker's gain is 1, Hz: above the resonance and below the
/// break-up of any guitar driver, and where loudness is referred to anyway.
pub const UNITY_HZ: f64 = 1000.0;
/// Most sections of one loudspeaker, its own resonance included.
pub const MOST_SECTIONS: usize = 8;

/// Range of a section's frequency, Hz: what is heard.
pub const HZ_RANGE: [f64; 2] = [20.0, 20_000.0];
/// Range of a section's quality factor: from two apart real poles to a ring of some ten periods,
/// more than paper does (own choice).
pub const Q_RANGE: [f64; 2] = [0.3, 12.0];
/// Range of a peak or a shelf, dB; either sign (own choice).
pub const DB_RANGE: [f64; 2] = [-24.0, 24.0];

/// A transfer function of at most second order,
/// `H(s) = (n₀ + n₁s + n₂s²)/(d₀ + d₁s + d₂s²)`, `s` in rad/s.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AnalogSection {
    /// Coefficients of s⁰, s¹ and s².
    pub numerator: [f64; 3],
    /// Coefficients of s⁰, s¹ and s².
    pub denominator: [f64; 3],
}

impl AnalogSection {
    /// Complex gain at a frequency.
    pub fn at(&self, hz: f64) -> Complex64 {
        let s = Complex64::new(0.0, TAU * hz);
        let of = |c: [f64; 3]| c[0] + s * (c[1] + s * c[2]);
        of(self.numerator) / of(self.denominator)
    }
}

/// One line of the acoustic side, as the file writes it.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Section {
    /// A resonance below which the sound falls by 12 dB an octave.
    LowCut(Resonance),
    /// The back of the box is open: below this the wave from the rear meets that from the front,
    /// and the sound falls by 6 dB an octave.
    OpenBack(Corner),
    /// More or less of what lies about a frequency, as where the cone breaks up.
    Peak(Bell),
    /// All above a frequency raised or lowered.
    Shelf(Step),
    /// A resonance above which the sound falls by 12 dB an octave.
    RollOff(Resonance),
}

/// Frequency and quality factor of a resonance.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Resonance {
    /// Hz.
    pub hz: f64,
    /// Quality factor, which is also the gain at that frequency.
    pub q: f64,
}

/// A corner of first order.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Corner {
    /// Frequency at which 3 dB are gone, Hz.
    pub hz: f64,
}

/// A bell.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bell {
    /// Middle, Hz.
    pub hz: f64,
    /// Middle over width, the width taken where half of the decibels are left.
    pub q: f64,
    /// Gain in the middle, dB.
    pub db: f64,
}

/// A step of first order.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Step {
    /// Where half of the decibels are reached, Hz.
    pub hz: f64,
    /// Gain far above, dB.
    pub db: f64,
}

impl Section {
    /// The words that a file uses, each with the keys that belong to it.
    pub const WORDS: [(&'static str, &'static [&'static str]); 5] = [
        ("open_back", &["hz"]),
        ("low_cut", &["hz", "q"]),
        ("peak", &["hz", "q", "db"]),
        ("shelf", &["hz", "db"]),
        ("roll_off", &["hz", "q"]),
    ];

    /// The section of a word, with the value of each of its keys; none for a word that is not known
    /// or a key without a value. Ranges are not checked.
    pub fn of(word: &str, value: impl Fn(&str) -> Option<f64>) -> Option<Section> {
        let resonance = || {
            Some(Resonance {
                hz: value("hz")?,
                q: value("q")?,
            })
        };
        match word {
            "open_back" => Some(Section::OpenBack(Corner { hz: value("hz")? })),
            "low_cut" => Some(Section::LowCut(resonance()?)),
            "peak" => Some(Section::Peak(Bell {
                hz: value("hz")?,
                q: value("q")?,
                db: value("db")?,
            })),
            "shelf" => Some(Section::Shelf(Step {
                hz: value("hz")?,
                db: value("db")?,
            })),
            "roll_off" => Some(Section::RollOff(resonance()?)),
            _ => None,
        }
    }

    /// The word that the file uses.
    pub fn word(&self) -> &'static str {
        match self {
            Section::LowCut(_) => "low_cut",
            Section::OpenBack(_) => "open_back",
            Section::Peak(_) => "peak",
            Section::Shelf(_) => "shelf",
            Section::RollOff(_) => "roll_off",
        }
    }

    /// The keys with their values.
    pub fn keys(&self) -> Vec<(&'static str, f64)> {
        match *self {
            Section::LowCut(r) | Section::RollOff(r) => vec![("hz", r.hz), ("q", r.q)],
            Section::OpenBack(c) => vec![("hz", c.hz)],
            Section::Peak(b) => vec![("hz", b.hz), ("q", b.q), ("db", b.db)],
            Section::Shelf(s) => vec![("hz", s.hz), ("db", s.db)],
        }
    }

    /// Its transfer function: the classic second-order forms; the bell is that of
    /// R. Bristow-Johnson, "Cookbook formulae for audio EQ biquad filter coefficients" (from
    /// memory).
    pub fn analog(&self) -> AnalogSection {
        let (numerator, denominator) = match *self {
            Section::LowCut(Resonance { hz, q }) => {
                let w = TAU * hz;
                let s2 = 1.0 / (w * w);
                ([0.0, 0.0, s2], [1.0, 1.0 / (q * w), s2])
            }
            Section::RollOff(Resonance { hz, q }) => {
                let w = TAU * hz;
                ([1.0, 0.0, 0.0], [1.0, 1.0 / (q * w), 1.0 / (w * w)])
            }
            Section::OpenBack(Corner { hz }) => {
                let w = TAU * hz;
                ([0.0, 1.0 / w, 0.0], [1.0, 1.0 / w, 0.0])
            }
            Section::Peak(Bell { hz, q, db }) => {
                let w = TAU * hz;
                let root = 10f64.powf(db / 40.0);
                let s2 = 1.0 / (w * w);
                ([1.0, root / (q * w), s2], [1.0, 1.0 / (root * q * w), s2])
            }
            Section::Shelf(Step { hz, db }) => {
                let w = TAU * hz;
                let root = 10f64.powf(db / 40.0);
                ([1.0, root / w, 0.0], [1.0, 1.0 / (root * w), 0.0])
            }
        };
        AnalogSection {
            numerator,
            denominator,
        }
    }
}

/// The acoustic side of a loudspeaker. Without sections it is flat.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(from = "Vec<Section>")]
pub struct Acoustic {
    stated: Vec<Section>,
    sections: Vec<AnalogSection>,
}

impl From<Vec<Section>> for Acoustic {
    fn from(stated: Vec<Section>) -> Self {
        let mut sections: Vec<AnalogSection> = stated.iter().map(Section::analog).collect();
        // The first one carries the factor that makes the gain 1 where all are compared.
        let whole: Complex64 = sections.iter().map(|s| s.at(UNITY_HZ)).product();
        if let Some(first) = sections.first_mut() {
            first.numerator = first.numerator.map(|c| c / whole.norm());
        }
        Acoustic { stated, sections }
    }
}

impl Acoustic {
    /// With a driver's own resonance in front: Small's `G(s) = s²T²/(s²T² + sT/Qts + 1)`, sound
    /// pressure by volts at the terminals (R. H. Small, "Direct-Radiator Loudspeaker System
    /// Analysis", JAES 20(5), 383–395, 1972; from memory), with the quality factor of motor and
    /// suspension together.
    pub fn of_driver(self, resonance_hz: f64, mechanical_q: f64, electrical_q: f64) -> Acoustic {
        let own = Section::LowCut(Resonance {
            hz: resonance_hz,
            q: mechanical_q * electrical_q / (mechanical_q + electrical_q),
        });
        let all: Vec<Section> = std::iter::once(own).chain(self.stated).collect();
        all.into()
    }

    /// The sections, the driver's own first.
    pub fn sections(&self) -> &[Section] {
        &self.stated
    }

    /// Their transfer functions; the product of all is the gain. At most [`MOST_SECTIONS`] for a
    /// loudspeaker that was read from a file.
    pub fn analog(&self) -> impl Iterator<Item = AnalogSection> + '_ {
        self.sections.iter().copied()
    }

    /// [`Acoustic::analog`] with a factor on the whole; without sections there is none to carry it.
    pub fn louder(&self, factor: f64) -> impl Iterator<Item = AnalogSection> + '_ {
        self.analog()
            .enumerate()
            .map(move |(index, section)| match index {
                0 if factor != 1.0 => AnalogSection {
                    numerator: section.numerator.map(|c| c * factor),
                    ..section
                },
                _ => section,
            })
    }

    /// What the microphone hears by volts at the terminals, without unit: its absolute value is 1
    /// at [`UNITY_HZ`].
    pub fn at(&self, hz: f64) -> Complex64 {
        self.sections.iter().map(|s| s.at(hz)).product()
    }

    /// Every fault of what a file states, a sentence each with key, value, range and remedy.
    pub(crate) fn faults(&self) -> Vec<String> {
        let mut faults: Vec<String> = count_fault(self.stated.len())
            .map(|fault| format!("acoustic {fault}"))
            .into_iter()
            .collect();
        for (index, section) in self.stated.iter().enumerate() {
            for (key, value) in section.keys() {
                let (range, unit) = range_of(key);
                let place = format!("acoustic {} ({}): {key}", index + 1, section.word());
                let fault = range_fault(value, range, unit);
                faults.extend(fault.map(|fault| format!("{place} {fault}")));
            }
        }
        faults
    }
}

/// What is wrong with a value of a loudspeaker, to be read behind the key, and what to do about it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ValueFault {
    /// "is 0 Ω, outside 1 to 64 Ω".
    pub message: String,
    /// "write 1 or more".
    pub remedy: String,
}

impl std::fmt::Display for ValueFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.message, self.remedy)
    }
}

/// Range and unit of a section's key.
pub fn range_of(key: &str) -> ([f64; 2], &'static str) {
    match key {
        "hz" => (HZ_RANGE, " Hz"),
        "q" => (Q_RANGE, ""),
        _ => (DB_RANGE, " dB"),
    }
}

/// A fault if a file states more sections than there is room for; one place is the driver's own.
pub fn count_fault(stated: usize) -> Option<ValueFault> {
    (stated >= MOST_SECTIONS).then(|| ValueFault {
        message: format!(
            "has {stated} sections; at most {} are allowed beside the driver's own resonance",
            MOST_SECTIONS - 1
        ),
        remedy: "leave out those that do least".into(),
    })
}

/// A fault if a value is not within its range.
pub fn range_fault(value: f64, [least, greatest]: [f64; 2], unit: &str) -> Option<ValueFault> {
    let inside = (least..=greatest).contains(&value);
    // Of hundreds of digits the size says all.
    let long = value.is_finite() && value != 0.0 && !(1e-6..1e9).contains(&value.abs());
    let shown = match long {
        true => format!("{value:e}"),
        false => value.to_string(),
    };
    (!inside).then(|| ValueFault {
        message: format!("is {shown}{unit}, outside {least} to {greatest}{unit}"),
        remedy: match value {
            v if v < least => format!("write {least} or more"),
            v if v > greatest => format!("write {greatest} or less"),
            _ => "write a number".into(),
        },
    })
}
