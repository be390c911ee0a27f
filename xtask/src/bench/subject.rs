//! What is played: a circuit ready to play, and the hard chord of the built-in phrase.

use engine::circuit::{self, Circuit};
use engine::device::Catalogue;
use engine::network::{Network, Values};
use engine::solve::{OperatingPoint, operating_point};
use engine::sound::phrase::phrase;

/// Sample rate of the host, Hz.
pub const RATE: f64 = 48_000.0;

/// A circuit ready to play.
pub struct Subject {
    pub circuit: Circuit,
    pub network: Network,
    pub values: Values,
    pub point: OperatingPoint,
}

impl Subject {
    /// Reads and solves a circuit file.
    ///
    /// # Errors
    /// Its faults, or that it has no operating point.
    pub fn new(text: &str) -> Result<Self, String> {
        let circuit =
            circuit::read(text, &Catalogue::built_in()).map_err(|faults| format!("{faults:?}"))?;
        let network = Network::new(&circuit);
        let values = network.values(&circuit);
        let point = operating_point(&network, &values).map_err(|e| e.to_string())?;
        Ok(Subject {
            circuit,
            network,
            values,
            point,
        })
    }
}

/// The hard chord of the built-in phrase, volts at 48 kHz.
pub fn hard_chord() -> Vec<f64> {
    let all = phrase(RATE as u32);
    let loudest = (0..all.len())
        .max_by(|&a, &b| all[a].abs().total_cmp(&all[b].abs()))
        .unwrap_or(0);
    let start = loudest.saturating_sub(2400);
    all[start..(start + 48_000).min(all.len())]
        .iter()
        .map(|&v| f64::from(v))
        .collect()
}
