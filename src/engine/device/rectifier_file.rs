//! A rectifier's file in `presets/rectifiers`: text in, perveance, limits and published points out.

use super::rectifier_type::{RectifierLimits, RectifierType};
use super::valve_file::Mark;
use serde::Deserialize;

/// Everything that a rectifier's file may hold.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RectifierFile {
    /// Type number, or "silicon".
    pub name: String,
    /// One line on where the numbers come from.
    pub provenance: String,
    /// `K` of `i = K·v^1.5` for one anode, A/V^1.5; none for silicon.
    pub perveance: Option<f64>,
    /// Limits.
    pub limits: RectifierLimits,
    /// Published points of one anode without signal.
    #[serde(default)]
    pub printed: Vec<PrintedDrop>,
    /// Published regulation of a full-wave supply with a reservoir.
    #[serde(default)]
    pub regulation: Vec<PrintedRegulation>,
}

/// Current of one anode at a voltage.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrintedDrop {
    /// Anode voltage, V.
    pub volts: f64,
    /// Current, mA.
    pub milliamps: f64,
    /// How well it was seen.
    pub mark: Mark,
}

/// One point of a regulation chart.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrintedRegulation {
    /// Half of the winding without load, V rms.
    pub winding_volts_rms: f64,
    /// Resistance in each anode, Ω.
    pub limiting_ohms: f64,
    /// Output current, mA.
    pub milliamps: f64,
    /// Output voltage, V.
    pub volts: f64,
    /// How well it was seen.
    pub mark: Mark,
}

impl RectifierFile {
    /// Reads a file's text.
    ///
    /// # Errors
    /// A sentence that says what is wrong and where.
    pub fn parse(text: &str) -> Result<RectifierFile, String> {
        toml::from_str(text).map_err(|e| e.to_string())
    }

    /// What a circuit needs of it.
    pub fn rectifier(&self) -> RectifierType {
        RectifierType {
            name: self.name.clone(),
            perveance: self.perveance,
            limits: self.limits.clone(),
            provenance: self.provenance.clone(),
        }
    }
}
