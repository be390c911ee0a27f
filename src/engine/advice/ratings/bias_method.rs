//! How each valve section gets its bias, told from the circuit, and the resistance in its grid.

use super::passive;
use super::states::without_valves;
use crate::circuit::{Part, PartId, electrodes};
use crate::network::Network;
use crate::solve::OperatingPointSolver;
use crate::solve::solved::SolvedCircuit;
use serde::Serialize;

/// Idle that is aimed at with fixed bias, per cent of the anode's limit (common practice for a
/// class-AB pair, not a rating).
pub const FIXED_BIAS_PERCENT: f64 = 70.0;
/// The same with cathode bias (own choice within the 65 to 100 % of common practice and of makers'
/// own conditions).
pub const CATHODE_BIAS_PERCENT: f64 = 90.0;
/// The same for a single valve with fixed bias, class A (common practice, not a rating).
pub const SINGLE_PERCENT: f64 = 85.0;

/// Where the bias comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum BiasMethod {
    /// Its own current through a resistor in the cathode: a valve that draws more biases itself
    /// colder.
    Cathode,
    /// A bias supply, whatever the valve draws.
    Fixed,
    /// Some of both; limits for fixed bias are the safe ones.
    Both,
    /// None: the grid stands at the cathode.
    Nothing,
}

impl BiasMethod {
    /// "cathode bias".
    pub fn in_words(self) -> &'static str {
        match self {
            BiasMethod::Cathode => "cathode bias",
            BiasMethod::Fixed => "fixed bias",
            BiasMethod::Both => "fixed and cathode bias together",
            BiasMethod::Nothing => "no bias",
        }
    }
}

/// Within this share of the whole bias, a part of it counts as nothing (own design).
const ALL_SHARE: f64 = 0.1;
/// A grid within so many volts of its cathode has no bias to speak of: contact potential and grid
/// current make as much.
const NOTHING_VOLTS: f64 = 0.3;

/// A section's bias.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bias {
    /// The section.
    pub part: PartId,
    /// Grid to cathode at rest, V.
    pub volts: f64,
    /// Where it comes from.
    pub method: BiasMethod,
    /// Resistance from grid to cathode through the circuit, valves out, Ω; none without a path.
    pub grid_ohms: Option<f64>,
}

/// The bias of every fitted valve section, in the order of the file.
pub fn biases(network: &Network, side: &SolvedCircuit) -> Vec<Bias> {
    let mut solver = OperatingPointSolver::new(network);
    // What stands between grid and cathode with all valves pulled is not of their own making.
    let empty = solver.solve(network, &without_valves(&side.values)).ok();
    let empty = empty.map(<[f64]>::to_vec);
    let parts = side.circuit.parts().iter().enumerate();
    let bias = |(index, part): (usize, &Part)| {
        let valve = electrodes(part).filter(|_| part.fitted)?;
        let [grid, cathode] = [valve.grid, valve.cathode].map(|n| network.position(n));
        let of = |solution: &[f64]| solution[grid] - solution[cathode];
        let volts = of(&side.point.solution);
        let pulled = empty.as_deref().map_or(0.0, of);
        let ohms = passive::resistance(network, &side.circuit, &side.values, [grid, cathode]);
        Some(Bias {
            part: PartId(index as u16),
            volts,
            method: method(volts, pulled),
            grid_ohms: (ohms < passive::NO_PATH_OHMS).then_some(ohms),
        })
    };
    parts.filter_map(bias).collect()
}

/// The method, from grid to cathode at rest and with the valves pulled, V: what stays is fixed, what
/// its own current adds is cathode bias.
fn method(volts: f64, pulled: f64) -> BiasMethod {
    let share = pulled.min(0.0) / volts.min(-NOTHING_VOLTS);
    if share > 1.0 - ALL_SHARE {
        BiasMethod::Fixed
    } else if share > ALL_SHARE {
        BiasMethod::Both
    } else if volts - pulled < -NOTHING_VOLTS {
        BiasMethod::Cathode
    } else {
        BiasMethod::Nothing
    }
}
