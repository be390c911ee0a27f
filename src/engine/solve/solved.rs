//! An amp at rest, where every analysis starts: the equations of its topology, and values and
//! operating point as found and as proposed.

use crate::circuit::Circuit;
use crate::network::{Network, Values};
use crate::solve::{OperatingPoint, Unsolved, operating_point};
use serde::Serialize;
use std::fmt;
use std::sync::Arc;

/// Which of the two amps.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Version {
    /// As the amp is.
    AsFound,
    /// As it would be.
    Proposed,
}

impl Version {
    /// Its name for a person.
    pub fn name(self) -> &'static str {
        match self {
            Version::AsFound => "as found",
            Version::Proposed => "proposed",
        }
    }
}

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

impl SolvedCircuit {
    /// Solves a circuit of the network's topology from cold.
    ///
    /// # Errors
    /// [`Unsolved`] when it has no operating point.
    pub fn new(network: &Network, circuit: Circuit) -> Result<Self, Unsolved> {
        let values = network.values(&circuit);
        let point = operating_point(network, &values)?;
        Ok(SolvedCircuit {
            circuit,
            values,
            point,
        })
    }
}

/// The amp at rest.
#[derive(Clone, Debug)]
pub struct SolvedAmp {
    /// Equations that both sides share, compiled once for a topology.
    pub network: Arc<Network>,
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
        Self::with_network(Arc::new(Network::new(as_found)), as_found, proposed)
    }

    /// [`SolvedAmp::new`] with the equations of the circuits' topology, which were compiled before.
    ///
    /// # Errors
    /// [`NoOperatingPoint`] when one has no operating point.
    pub fn with_network(
        network: Arc<Network>,
        as_found: &Circuit,
        proposed: Option<&Circuit>,
    ) -> Result<Self, NoOperatingPoint> {
        let as_found = solved(&network, as_found, "as found")?;
        let proposed = proposed
            .map(|circuit| solved(&network, circuit, "as proposed"))
            .transpose()?;
        Ok(SolvedAmp {
            network,
            as_found,
            proposed,
        })
    }

    /// The same amp with this circuit proposed, of the same topology. What is solved already is not
    /// solved again.
    ///
    /// # Errors
    /// [`NoOperatingPoint`] when it has no operating point.
    pub fn proposing(&self, circuit: &Circuit) -> Result<Self, NoOperatingPoint> {
        let mut sides = std::iter::once(&self.as_found).chain(&self.proposed);
        let known = sides.find(|side| side.circuit.same_but_for_lines(circuit));
        let proposed = match known {
            Some(side) => SolvedCircuit {
                circuit: circuit.clone(),
                ..side.clone()
            },
            None => solved(&self.network, circuit, "as proposed")?,
        };
        Ok(SolvedAmp {
            network: Arc::clone(&self.network),
            as_found: self.as_found.clone(),
            proposed: Some(proposed),
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

fn solved(
    network: &Network,
    circuit: &Circuit,
    which: &'static str,
) -> Result<SolvedCircuit, NoOperatingPoint> {
    SolvedCircuit::new(network, circuit.clone()).map_err(|fault| NoOperatingPoint { which, fault })
}
