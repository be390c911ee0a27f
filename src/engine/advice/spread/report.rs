//! The report on many amps of one model, and what is asked of it.

use super::band::Band;
use crate::analysis::voltages::ByName;
use serde::Serialize;

/// What to draw.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SpreadSettings {
    /// How many amps.
    pub amps: usize,
    /// Seed; the same seed draws the same amps.
    pub seed: u64,
    /// How far the mains may be off, as a share: 0.05 is ±5 %. At 0 all amps have the same mains,
    /// as two in one room do.
    pub mains: f64,
}

impl Default for SpreadSettings {
    fn default() -> Self {
        SpreadSettings {
            amps: 1000,
            seed: 1,
            mains: 0.0,
        }
    }
}

/// One valve section over all amps, at rest.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ValveSpread {
    /// Type number.
    pub valve: String,
    /// Anode current, mA.
    pub anode_milliamps: Band,
    /// Anode dissipation, W.
    pub anode_watts: Band,
    /// Its limit, W.
    pub anode_limit_watts: Option<f64>,
    /// Amps in a hundred that are over it.
    pub anode_over_percent: Option<f64>,
    /// Screen dissipation, W; none for a triode.
    pub screen_watts: Option<Band>,
    /// Its limit, W.
    pub screen_limit_watts: Option<f64>,
    /// Amps in a hundred that are over it.
    pub screen_over_percent: Option<f64>,
}

/// One side over all amps.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SideSpread {
    /// Volts to ground of every node at rest; a valve pin reads what its node does.
    pub nodes: ByName<Band>,
    /// Valve sections.
    pub valves: ByName<ValveSpread>,
    /// Gain for small signals at 1 kHz, dB.
    pub gain_db: Band,
    /// Response at the frequencies of the report, dB.
    pub curve_db: Vec<Band>,
    /// The same against 1 kHz: the tone, dB.
    pub tone_db: Vec<Band>,
    /// Level at the jack at which a rising 1 kHz tone reaches 1 % distortion, V r.m.s.; none where
    /// the amp of the file never does, or distorts more at the lowest level.
    pub clean_volts: Option<Band>,
    /// Amps whose level lies outside those tried; they count as the nearest one tried.
    pub clean_outside: usize,
}

/// A figure that the proposal changes, amp by amp.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChangeInSpread {
    /// What changes, such as "the gain at 1 kHz".
    pub what: String,
    /// Unit of the figures.
    pub unit: &'static str,
    /// The change of one and the same amp, proposed less as found.
    pub change: Band,
    /// Nine in ten amps as found lie within ± this of the middle.
    pub spread: f64,
    /// Whether the middle change is larger than that.
    pub stands_out: bool,
    /// All of it in words.
    pub sentence: String,
}

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SpreadReport {
    /// Name of the amp.
    pub amp: String,
    /// What was drawn.
    pub settings: SpreadSettings,
    /// Drawn amps without a solution at rest; they count nowhere.
    pub unsolved: usize,
    /// Frequencies of the curves, Hz.
    pub hz: Vec<f64>,
    /// As found.
    pub as_found: SideSpread,
    /// As proposed; only when something is.
    pub proposed: Option<SideSpread>,
    /// What the proposal changes.
    pub changes: Vec<ChangeInSpread>,
    /// Sentences about the amp and, if something is proposed, about the changes.
    pub sentences: Vec<String>,
    /// How the amps were drawn, a sentence each.
    pub assumptions: Vec<String>,
}
