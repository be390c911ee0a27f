//! A valve's file in `presets/valves`: text in, fitted law, ratings and published points out.
//!
//! The law in a file is written by `cargo xtask fit-valves --write` from the points in the same
//! file and in `presets/valves/points`; everything else is typed by hand, with its source.

use super::{PentodeLaw, Ratings, TriodeLaw, Valve, ValveLaw};
use serde::Deserialize;

/// Everything that a valve's file may hold.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ValveFile {
    /// Type number.
    pub name: String,
    /// Other type numbers of the same valve.
    #[serde(default)]
    pub also: Vec<String>,
    /// Socket and connection: two valves with the same text may swap.
    pub socket: String,
    /// One line on what the law rests on, and where the sources disagree.
    pub provenance: String,
    /// Capacitances without a shield.
    pub capacitances: Capacitances,
    /// Limiting values; the first set is the one that reports use.
    pub ratings: Vec<Ratings>,
    /// Fitted law, of a triode section.
    pub triode: Option<TriodeLaw<f64>>,
    /// Fitted law, of a pentode or beam tetrode.
    pub pentode: Option<PentodeLaw<f64>>,
    /// Published points without signal.
    #[serde(default)]
    pub printed: Vec<PrintedPoint>,
    /// Published resistance-coupled stages.
    #[serde(default)]
    pub stage: Vec<PrintedStage>,
    /// Published output stages at full drive.
    #[serde(default)]
    pub driven: Vec<PrintedDrive>,
}

/// Capacitances between electrodes, pF.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Capacitances {
    /// Control grid to anode.
    pub grid_anode_picofarads: f64,
    /// Control grid to cathode and everything tied to it.
    pub grid_cathode_picofarads: f64,
    /// Anode to cathode and everything tied to it.
    pub anode_cathode_picofarads: f64,
    /// Where they are printed.
    pub source: String,
}

/// One published point without signal. Voltages are referred to the cathode.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrintedPoint {
    /// Anode voltage, V.
    pub anode_volts: f64,
    /// Screen voltage, V; of a pentode without one the screen is tied to the anode and
    /// `anode_milliamps` is the sum of both currents.
    pub screen_volts: Option<f64>,
    /// Control-grid voltage, V.
    pub grid_volts: Option<f64>,
    /// Cathode resistor of one valve that sets the grid voltage instead, Ω; for two valves that
    /// share one, twice its value.
    pub cathode_ohms: Option<f64>,
    /// Anode current, mA.
    pub anode_milliamps: Option<f64>,
    /// Screen current, mA.
    pub screen_milliamps: Option<f64>,
    /// Mutual conductance, mA/V.
    pub milliamps_per_volt: Option<f64>,
    /// Anode resistance, kΩ.
    pub anode_kilohms: Option<f64>,
    /// Where it is printed.
    pub source: String,
    /// How well it was seen.
    pub mark: Mark,
    /// False where it is only compared, not fitted.
    #[serde(default = "yes")]
    pub fitted: bool,
}

/// One published resistance-coupled triode stage with bypassed cathode resistor.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrintedStage {
    /// Supply, V.
    pub supply_volts: f64,
    /// Anode load, Ω.
    pub anode_ohms: f64,
    /// Cathode resistor, Ω.
    pub cathode_ohms: f64,
    /// Grid leak of the next stage, Ω.
    pub next_leak_ohms: f64,
    /// Anode current, mA.
    pub anode_milliamps: Option<f64>,
    /// Voltage gain.
    pub gain: Option<f64>,
    /// Where it is printed.
    pub source: String,
    /// How well it was seen.
    pub mark: Mark,
    /// False where it is only compared, not fitted.
    #[serde(default = "yes")]
    pub fitted: bool,
}

/// One published output stage at full drive. Currents are those of one valve.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PrintedDrive {
    /// True for two valves in push-pull.
    pub push_pull: bool,
    /// Anode voltage without signal, V.
    pub anode_volts: f64,
    /// Screen voltage, V; none with the screen tied to the anode.
    pub screen_volts: Option<f64>,
    /// Fixed bias, V.
    pub grid_volts: Option<f64>,
    /// Cathode resistor of one valve instead, Ω; twice the value of one shared by two.
    pub cathode_ohms: Option<f64>,
    /// Load of the valve, or from anode to anode, Ω.
    pub load_ohms: f64,
    /// Sine at each control grid, V rms.
    pub drive_volts: f64,
    /// Mean anode current, mA.
    pub anode_milliamps: Option<f64>,
    /// Mean screen current, mA.
    pub screen_milliamps: Option<f64>,
    /// Output power, W.
    pub watts: Option<f64>,
    /// Total distortion, %.
    pub distortion_percent: Option<f64>,
    /// Where it is printed.
    pub source: String,
    /// How well it was seen.
    pub mark: Mark,
    /// False where it is only compared, not fitted.
    #[serde(default = "yes")]
    pub fitted: bool,
}

/// How well a published number was seen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mark {
    /// Read in the primary document.
    Seen,
    /// Read in a secondary copy.
    SecondaryCopy,
    /// From memory.
    FromMemory,
}

fn yes() -> bool {
    true
}

impl ValveFile {
    /// Reads a file's text.
    ///
    /// # Errors
    /// A sentence that says what is wrong and where.
    pub fn parse(text: &str) -> Result<ValveFile, String> {
        let file: ValveFile = toml::from_str(text).map_err(|e| e.to_string())?;
        if file.triode.is_some() == file.pentode.is_some() {
            return Err(format!(
                "{}: one of [triode] and [pentode] is needed",
                file.name
            ));
        }
        Ok(file)
    }

    /// What a circuit needs of it.
    pub fn valve(&self) -> Valve {
        let law = match (&self.triode, &self.pentode) {
            (Some(triode), _) => ValveLaw::Triode(*triode),
            (None, Some(pentode)) => ValveLaw::Pentode(*pentode),
            (None, None) => unreachable!("parse() refuses a file without a law"),
        };
        Valve {
            name: self.name.clone(),
            also: self.also.clone(),
            socket: self.socket.clone(),
            law,
            grid_anode_farads: self.capacitances.grid_anode_picofarads * 1e-12,
            grid_cathode_farads: self.capacitances.grid_cathode_picofarads * 1e-12,
            anode_cathode_farads: self.capacitances.anode_cathode_picofarads * 1e-12,
            ratings: self.ratings.clone(),
            provenance: self.provenance.clone(),
        }
    }
}
