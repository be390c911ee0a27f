//! A named valve type: its law, capacitances, ratings, and where each number comes from.

use super::{PentodeLaw, TriodeLaw};
use serde::{Deserialize, Serialize, Serializer};

/// What kind of valve, with its fitted law.
#[derive(Clone, Debug, PartialEq)]
pub enum ValveLaw {
    /// One triode section.
    Triode(TriodeLaw<f64>),
    /// A pentode or beam tetrode.
    Pentode(PentodeLaw<f64>),
}

impl ValveLaw {
    /// Whether both are triodes or both have a screen.
    pub fn same_kind(&self, other: &ValveLaw) -> bool {
        std::mem::discriminant(self) == std::mem::discriminant(other)
    }
}

/// What a limit holds for (rating systems of the makers' associations).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RatingSystem {
    /// At nominal mains; swings of the mains are allowed for.
    #[default]
    DesignCentre,
    /// At the highest mains too.
    DesignMaximum,
}

impl RatingSystem {
    /// Its name, as a valve's file has it.
    pub fn name(self) -> &'static str {
        match self {
            RatingSystem::DesignCentre => "design-centre",
            RatingSystem::DesignMaximum => "design-maximum",
        }
    }

    /// For a report: the name, or an empty text where no rating is known.
    ///
    /// # Errors
    /// Those of the serializer.
    pub fn serialize_known<S: Serializer>(
        known: &Option<RatingSystem>,
        serializer: S,
    ) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(known.map_or("", RatingSystem::name))
    }
}

impl std::fmt::Display for RatingSystem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name())
    }
}

/// One set of limiting values.
#[derive(Clone, Debug, PartialEq, Default, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ratings {
    /// The rating system.
    pub system: RatingSystem,
    /// Where the limits are printed.
    pub source: String,
    /// Anode voltage, V.
    pub anode_volts: Option<f64>,
    /// Anode voltage while the valve draws nothing, V, where a separate limit is printed.
    pub anode_cold_volts: Option<f64>,
    /// Anode dissipation of one section, W.
    pub anode_watts: Option<f64>,
    /// Screen voltage, V.
    pub screen_volts: Option<f64>,
    /// Screen voltage while the valve draws nothing, V, where a separate limit is printed.
    pub screen_cold_volts: Option<f64>,
    /// Screen dissipation, W, without signal or averaged.
    pub screen_watts: Option<f64>,
    /// Screen dissipation at full signal, W, where a separate limit is printed.
    pub screen_peak_watts: Option<f64>,
    /// Cathode current, A.
    pub cathode_amps: Option<f64>,
    /// How far the control grid may stand below the cathode, V.
    pub grid_negative_volts: Option<f64>,
    /// The same for moments, V, where a separate limit is printed.
    pub grid_negative_peak_volts: Option<f64>,
    /// Voltage between heater and cathode, V.
    pub heater_cathode_volts: Option<f64>,
    /// Grid leak with cathode bias, Ω.
    pub grid_leak_cathode_bias_ohms: Option<f64>,
    /// Grid leak with fixed bias, Ω.
    pub grid_leak_fixed_bias_ohms: Option<f64>,
}

/// A valve type.
#[derive(Clone, Debug, PartialEq)]
pub struct Valve {
    /// Type number.
    pub name: String,
    /// Other type numbers of the same valve.
    pub also: Vec<String>,
    /// Socket and connection, such as "noval, ECC83": two valves with the same text may swap.
    pub socket: String,
    /// The fitted law.
    pub law: ValveLaw,
    /// Control grid to anode, F.
    pub grid_anode_farads: f64,
    /// Control grid to cathode (and heater), F.
    pub grid_cathode_farads: f64,
    /// Anode to cathode (and heater), F.
    pub anode_cathode_farads: f64,
    /// Limiting values; the first set is the one that reports use.
    pub ratings: Vec<Ratings>,
    /// One line on what the law rests on.
    pub provenance: String,
}
