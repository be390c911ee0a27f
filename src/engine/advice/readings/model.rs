//! What a meter would read at the points measured, for any values of the circuit: each point with
//! the meter's own load hung on it where that matters.

use crate::circuit::Readings;
use crate::network::assemble::empty_vector;
use crate::network::{Network, Values};
use crate::solve::solved::SolvedCircuit;
use crate::solve::{OperatingPointSolver, SmallSignal};
use num_complex::Complex64;

/// A source resistance below this share of the meter's is not worth a solution of its own.
const SLIGHT: f64 = 1e-3;

/// The points measured on one side of an amp.
pub struct Model<'a> {
    /// Equations.
    pub network: &'a Network,
    /// The side that the readings are compared with, parts that were measured put in.
    pub side: &'a SolvedCircuit,
    /// Positions of the points, in the order of the readings.
    positions: Vec<usize>,
    /// Whether the meter's load matters there.
    loaded: Vec<bool>,
    /// Of the meter, S.
    siemens: f64,
}

impl<'a> Model<'a> {
    /// The points of some readings.
    pub fn new(network: &'a Network, side: &'a SolvedCircuit, readings: &Readings) -> Self {
        let rest = SmallSignal::new(network, &side.values, &side.point).factored(0.0);
        let positions: Vec<usize> = readings
            .volts
            .iter()
            .map(|r| network.position(r.node))
            .collect();
        let ohms = |position: usize| {
            let mut current = empty_vector::<Complex64>(network);
            current[position] = Complex64::ONE;
            rest.driven(current)[position].norm()
        };
        let siemens = 1.0 / readings.meter.ohms;
        Model {
            network,
            side,
            loaded: positions
                .iter()
                .map(|&p| ohms(p) * siemens > SLIGHT)
                .collect(),
            positions,
            siemens,
        }
    }

    /// The readings for some values; none without a solution.
    pub fn read(&self, values: &Values, solver: &mut OperatingPointSolver) -> Option<Vec<f64>> {
        let start = &self.side.point.solution;
        let point = solver.operating_point_near(self.network, values, start)?;
        let mut read = Vec::with_capacity(self.positions.len());
        for (&position, &loaded) in self.positions.iter().zip(&self.loaded) {
            if !loaded {
                read.push(point.solution[position]);
                continue;
            }
            solver.set_load(Some((position, self.siemens)));
            let loaded = solver.operating_point_near(self.network, values, &point.solution);
            solver.set_load(None);
            read.push(loaded?.solution[position]);
        }
        Some(read)
    }

    /// Volts without the meter.
    pub fn unloaded(&self) -> Vec<f64> {
        let solution = &self.side.point.solution;
        self.positions.iter().map(|&p| solution[p]).collect()
    }
}
