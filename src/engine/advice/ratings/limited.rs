//! What a limit is of, and where the limit is from.

use crate::device::RatingSystem;
use serde::{Serialize, Serializer};
use std::fmt;

/// A limited quantity of a valve or another part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Limited {
    /// Heat of an anode.
    AnodeDissipation,
    /// Heat of a screen.
    ScreenDissipation,
    /// Anode to cathode.
    AnodeVoltage,
    /// Screen to cathode.
    ScreenVoltage,
    /// Cathode current at rest.
    CathodeCurrent,
    /// Its mean.
    MeanCathodeCurrent,
    /// Its peak.
    PeakCathodeCurrent,
    /// How far a grid stands below its cathode.
    NegativeGridVoltage,
    /// Heater to cathode.
    HeaterVoltage,
    /// What a grid is returned through.
    GridResistance,
    /// Mean current out of a rectifier.
    MeanOutputCurrent,
    /// Peak current of one anode of a rectifier.
    PeakAnodeCurrent,
    /// Peak inverse voltage of a rectifier.
    InverseVoltage,
    /// Capacitance behind a rectifier.
    Reservoir,
    /// Resistance in series with each anode of a rectifier; a least value.
    AnodeResistance,
    /// Heat of a resistor.
    Dissipation,
    /// Voltage across a part.
    VoltageAcross,
    /// Power into a loudspeaker.
    Power,
}

impl Limited {
    /// The words for a sentence.
    pub fn in_words(self) -> &'static str {
        match self {
            Limited::AnodeDissipation => "anode dissipation",
            Limited::ScreenDissipation => "screen dissipation",
            Limited::AnodeVoltage => "anode voltage",
            Limited::ScreenVoltage => "screen voltage",
            Limited::CathodeCurrent => "cathode current",
            Limited::MeanCathodeCurrent => "mean cathode current",
            Limited::PeakCathodeCurrent => "peak cathode current",
            Limited::NegativeGridVoltage => "negative grid voltage",
            Limited::HeaterVoltage => "voltage between heater and cathode",
            Limited::GridResistance => "resistance in the grid circuit",
            Limited::MeanOutputCurrent => "mean output current",
            Limited::PeakAnodeCurrent => "peak current of one anode",
            Limited::InverseVoltage => "peak inverse voltage",
            Limited::Reservoir => "reservoir",
            Limited::AnodeResistance => "resistance in each anode",
            Limited::Dissipation => "dissipation",
            Limited::VoltageAcross => "voltage across it",
            Limited::Power => "power",
        }
    }

    /// The words for a sentence about several parts.
    pub fn in_words_of_each(self) -> &'static str {
        match self {
            Limited::VoltageAcross => "voltage across each",
            one => one.in_words(),
        }
    }

    /// Whether it is the heat of an electrode of a valve.
    pub fn is_electrode_dissipation(self) -> bool {
        matches!(self, Limited::AnodeDissipation | Limited::ScreenDissipation)
    }

    /// Whether it is different at different moments; a resistance is not.
    pub fn depends_on_moment(self) -> bool {
        !matches!(self, Limited::GridResistance | Limited::AnodeResistance)
    }
}

impl fmt::Display for Limited {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.in_words())
    }
}

impl Serialize for Limited {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.in_words())
    }
}

/// Where a limit is from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LimitSource {
    /// A maker's rating system.
    System(RatingSystem),
    /// Printed without a rating system.
    Printed,
    /// Stated in the circuit file.
    Stated,
    /// Assumed from the size of a resistor's body.
    AssumedFromSize,
}

impl LimitSource {
    /// The words for a report.
    pub fn in_words(self) -> &'static str {
        match self {
            LimitSource::System(system) => system.name(),
            LimitSource::Printed => "printed",
            LimitSource::Stated => "stated",
            LimitSource::AssumedFromSize => "assumed from its size",
        }
    }
}

impl Serialize for LimitSource {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self.in_words())
    }
}
