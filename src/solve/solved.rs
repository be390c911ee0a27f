//! An amp at rest, where every analysis starts: the equations of its topology, and values and
//! operating point as found and as proposed.

use crate::circuit::Circuit;
use crate::network::{Network, Values};
use crate::solve::{OperatingPoint, Unsolved, operating_point};
use serde::Serialize;
use std::fmt;

/// The same thing as found and as proposed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Both<T> {
    /// As the amp is.
    pub as_found: T,
    /// As it would be.
    pub proposed: T,
}

impl<T> Both<T> {
    /// Does the same to each.
    pub fn map<'a, U>(&'a self, mut each: impl FnMut(&'a T) -> U) -> Both<U> {
        Both {
            as_found: each(&self.as_found),
            proposed: each(&self.proposed),
        }
    }
}

/// One circuit with its values and its operating point.
#[derive(Clone, Debug)]
pub struct SolvedCircuit {
    /// The circuit.
    pub circuit: Circuit,
    /// Its values for the equations.
    pub values: Values,
    /// Its voltages at rest.
    pub point: OperatingPoint,
}

/// The amp at rest.
#[derive(Clone, Debug)]
pub struct SolvedAmp {
    /// Equations that both sides share.
    pub network: Network,
    /// As found.
    pub as_found: SolvedCircuit,
    /// As proposed, if anything is.
    pub proposed: Option<SolvedCircuit>,
}

/// A circuit that has no operating point, or none that was found.
#[derive(Clone, Debug, PartialEq)]
pub struct NoOperatingPoint {
    /// "as found" or "as proposed".
    pub which: &'static str,
    /// Where it fails.
    pub fault: Unsolved,
}

impl fmt::Display for NoOperatingPoint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "The amp {} has no solution: {}.", self.which, self.fault)
    }
}

impl std::error::Error for NoOperatingPoint {}

impl SolvedAmp {
    /// Solves a circuit, and another one of the same topology beside it.
    ///
    /// # Errors
    /// [`NoOperatingPoint`] when one has no operating point.
    pub fn new(as_found: &Circuit, proposed: Option<&Circuit>) -> Result<Self, NoOperatingPoint> {
        let network = Network::new(as_found);
        let side = |circuit: &Circuit, which| {
            let values = network.values(circuit);
            let point = operating_point(&network, &values)
                .map_err(|fault| NoOperatingPoint { which, fault })?;
            Ok(SolvedCircuit {
                circuit: circuit.clone(),
                values,
                point,
            })
        };
        let as_found = side(as_found, "as found")?;
        let proposed = proposed
            .map(|circuit| side(circuit, "as proposed"))
            .transpose()?;
        Ok(SolvedAmp {
            network,
            as_found,
            proposed,
        })
    }

    /// The side that was asked for: as proposed if anything is, else as found.
    pub fn asked_for(&self) -> &SolvedCircuit {
        self.proposed.as_ref().unwrap_or(&self.as_found)
    }

    /// Both sides, if there are two.
    pub fn both(&self) -> Option<Both<&SolvedCircuit>> {
        self.proposed.as_ref().map(|proposed| Both {
            as_found: &self.as_found,
            proposed,
        })
    }
}
