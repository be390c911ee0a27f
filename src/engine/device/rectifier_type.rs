//! A named rectifier type: its law's one constant, its limits, and where the numbers come from.

use serde::Deserialize;

/// A rectifier type.
#[derive(Clone, Debug, PartialEq)]
pub struct RectifierType {
    /// Type number, or "silicon".
    pub name: String,
    /// `K` of `i = K·v^1.5` for one anode, A/V^1.5; none for silicon.
    pub perveance: Option<f64>,
    /// Limiting values.
    pub limits: RectifierLimits,
    /// One line on where the numbers come from.
    pub provenance: String,
}

/// Limiting values of a rectifier.
#[derive(Clone, Debug, Default, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RectifierLimits {
    /// Where they are printed, and how well that was seen.
    pub source: String,
    /// Largest reservoir, F.
    pub reservoir_farads: Option<f64>,
    /// Largest mean output current, A.
    pub output_amps: Option<f64>,
    /// Largest peak current of one anode, A.
    pub peak_amps: Option<f64>,
    /// Largest peak inverse voltage, V.
    pub inverse_volts: Option<f64>,
    /// Largest voltage between heater and cathode, V.
    pub heater_cathode_volts: Option<f64>,
    /// Least resistance in each anode by the voltage of the winding, rising.
    #[serde(default)]
    pub least_ohms: Vec<LeastOhms>,
}

/// The least resistance in each anode at one winding voltage.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LeastOhms {
    /// Half of the winding without load, V rms.
    pub winding_volts_rms: f64,
    /// Winding and limiting resistor together, Ω.
    pub ohms: f64,
}
