//! The same circuit at rest under other mains, with its valves cold, or with valves that draw more
//! or less than an average one.
//!
//! Every source follows the mains: supplies, bias supplies, rectified windings. The voltage that a
//! file states for a supply is its voltage without load.

use crate::circuit::PartId;
use crate::network::{BranchValue, Network, Values};
use crate::solve::OperatingPointSolver;
use crate::solve::solved::SolvedCircuit;

/// How far the mains may be off: a tenth either way (the usual tolerance of public supplies, from
/// memory).
pub const MAINS_HIGH: f64 = 1.1;
/// The same downwards.
pub const MAINS_LOW: f64 = 0.9;

/// Values with every source `factor` times as high.
pub fn with_mains(values: &Values, factor: f64) -> Values {
    let mut scaled = values.clone();
    for branch in &mut scaled.branches {
        if let BranchValue::Resistive { volts, .. } = branch {
            *volts *= factor;
        }
    }
    for rectifier in &mut scaled.devices.rectifiers {
        rectifier.law.peak *= factor;
    }
    scaled
}

/// Values with valves that draw nothing.
pub fn without_valves(values: &Values) -> Values {
    let mut cold = values.clone();
    for valve in &mut cold.devices.triodes {
        valve.present = 0.0;
    }
    for valve in &mut cold.devices.pentodes {
        valve.present = 0.0;
    }
    cold
}

/// Values with `share` times the current in the valves `of`.
pub fn with_spread(network: &Network, of: &[PartId], values: &Values, share: f64) -> Values {
    let mut spread = values.clone();
    let devices = network.devices();
    for (site, value) in devices.triodes.iter().zip(&mut spread.devices.triodes) {
        value.present *= if of.contains(&site.part) { share } else { 1.0 };
    }
    for (site, value) in devices.pentodes.iter().zip(&mut spread.devices.pentodes) {
        value.present *= if of.contains(&site.part) { share } else { 1.0 };
    }
    spread
}

/// Solutions at rest, volts by position, ground last. One that was not found is missing.
#[derive(Clone, Debug)]
pub struct States {
    /// As the circuit is.
    pub nominal: Vec<f64>,
    /// Mains 10 % high.
    pub high: Option<Vec<f64>>,
    /// Mains 10 % high, no valve drawing current.
    pub cold: Option<Vec<f64>>,
}

impl States {
    /// Solves them.
    pub fn new(network: &Network, side: &SolvedCircuit) -> Self {
        let mut solver = OperatingPointSolver::new(network);
        let nominal = side.point.solution.clone();
        let raised = with_mains(&side.values, MAINS_HIGH);
        let high = solver.operating_point_near(network, &raised, &nominal);
        let high = high.map(|point| point.solution);
        let cold = solver.solve(network, &without_valves(&raised)).ok();
        let cold = cold.map(<[f64]>::to_vec);
        States {
            nominal,
            high,
            cold,
        }
    }
}
