//! Where each part acts: decibels per octave of its value, over frequency.
//!
//! Takes an amp at rest, a path and frequencies; gives a curve for every part with a value. One
//! solve with the network and one with its adjoint serve all parts at a frequency (S. Director,
//! R. Rohrer, IEEE Trans. Circuit Theory 16(3), 1969). A part that carries direct current also
//! moves the operating point, and with it the tangents of the valves and the slopes of the
//! transformers' cores; that is included.

use super::response::Path;
use super::voltages::ByName;
use crate::circuit::{Circuit, Part, PartId, PartKind};
use crate::network::assemble::{branch_volts, empty_vector, port_volts};
use crate::network::curvature::{Curvature, curvatures};
use crate::network::{BranchValue, Network};
use crate::solve::SmallSignal;
use crate::solve::solved::SolvedCircuit;
use crate::units::decibels_from_ratio;
use num_complex::Complex64;
use serde::Serialize;
use std::f64::consts::{LN_2, LN_10, TAU};

/// Decibels for a change of one in the natural logarithm of the gain.
const DB_PER_LOGARITHM: f64 = 20.0 / LN_10;

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sensitivity {
    /// Frequencies, Hz.
    pub hz: Vec<f64>,
    /// For each fitted resistor, capacitor, inductor and pot, by designator: change of the level in
    /// decibels as if the value doubled at the present rate, one a frequency. Not a number where
    /// nothing arrives. An inductor's winding resistance and a pot's rotation stay.
    pub parts: ByName<Vec<f64>>,
}

/// Makes the report for one side of an amp.
pub fn sensitivity(network: &Network, side: &SolvedCircuit, path: Path, hz: &[f64]) -> Sensitivity {
    let parts: Vec<PartId> = with_a_value(&side.circuit).collect();
    let curves = of_parts(network, side, path, hz, &parts);
    let names = parts
        .iter()
        .map(|&id| side.circuit.part(id).designator.clone());
    Sensitivity {
        hz: hz.to_vec(),
        parts: ByName(names.zip(curves).collect()),
    }
}

/// The curves of some parts, in their order; a part without a value has zeros.
pub fn of_parts(
    network: &Network,
    side: &SolvedCircuit,
    path: Path,
    hz: &[f64],
    parts: &[PartId],
) -> Vec<Vec<f64>> {
    let each = parts.iter().map(|&id| branches(network, side, id));
    let octaves = |curve: Vec<f64>| curve.into_iter().map(|db| db * LN_2).collect();
    let levels = levels(network, side, path, hz, each.collect());
    levels.slopes.into_iter().map(octaves).collect()
}

/// The level along a path, and how it moves.
pub(crate) struct Levels {
    /// Gain, dB, one a frequency.
    pub db: Vec<f64>,
    /// For every motion that was asked for its derivative, dB, one a frequency.
    pub slopes: Vec<Vec<f64>>,
}

/// Level and slopes. A motion is a list of branches, each with the derivative of the logarithm of
/// its ohms, farads or henries by whatever moves.
pub(crate) fn levels(
    network: &Network,
    side: &SolvedCircuit,
    path: Path,
    hz: &[f64],
    motions: Vec<Vec<(usize, f64)>>,
) -> Levels {
    let linear = SmallSignal::new(network, &side.values, &side.point);
    let ports = port_volts(network, &side.point.solution);
    let bends = curvatures(network, &side.values.devices, &ports);
    let rest = linear.factored(0.0);
    let moves: Vec<Moves> = motions
        .into_iter()
        .map(|branches| {
            let shift = shift(network, side, &branches, &bends, |current| {
                rest.driven(current)
            });
            Moves { branches, shift }
        })
        .collect();
    let mut db = Vec::with_capacity(hz.len());
    let mut slopes = vec![Vec::with_capacity(hz.len()); moves.len()];
    for &hz in hz {
        let Pair {
            volts,
            adjoint,
            gain,
        } = pair(network, &linear, path, hz);
        db.push(decibels_from_ratio(gain));
        let mut tangents = by_port_shift(&bends, &volts, &adjoint);
        // A core's slope stands as 1/jω of it beside the inductance.
        tangents.extend(
            network.cores().iter().map(|core| {
                Complex64::new(0.0, 1.0 / (TAU * hz)) * volts[core.at] * adjoint[core.at]
            }),
        );
        for (slope, motion) in slopes.iter_mut().zip(&moves) {
            let direct: Complex64 = motion
                .branches
                .iter()
                .map(|&(branch, share)| {
                    let value = &side.values.branches[branch];
                    -admittance_by_log(value, TAU * hz)
                        * share
                        * across(network, branch, &volts)
                        * across(network, branch, &adjoint)
                })
                .sum();
            let through_rest: Complex64 = tangents
                .iter()
                .zip(&motion.shift)
                .map(|(tangent, volts)| tangent * volts)
                .sum();
            slope.push(DB_PER_LOGARITHM * (direct + through_rest).re);
        }
    }
    Levels { db, slopes }
}

/// Fitted parts whose value is one number that can be doubled.
pub fn with_a_value(circuit: &Circuit) -> impl Iterator<Item = PartId> {
    let has = |part: &Part| {
        part.fitted
            && matches!(
                part.kind,
                PartKind::Resistor { .. }
                    | PartKind::Capacitor { .. }
                    | PartKind::Inductor { .. }
                    | PartKind::Pot { .. }
            )
    };
    let parts = circuit.parts().iter().enumerate();
    parts
        .filter(move |(_, part)| has(part))
        .map(|(i, _)| PartId(i as u16))
}

/// What one part moves.
struct Moves {
    /// Its branches, each with the growth of the branch's ohms, farads or henries in proportion
    /// to the part's value: 1 but for the end resistances of a pot.
    branches: Vec<(usize, f64)>,
    /// Volts at every port of every device and slope of every core (1/H) for the logarithm of the
    /// value; empty if none.
    shift: Vec<f64>,
}

/// The branches of a part with a value, each with its share in the part's doubling.
pub(crate) fn branches(network: &Network, side: &SolvedCircuit, id: PartId) -> Vec<(usize, f64)> {
    let part = side.circuit.part(id);
    let range = network.branches_of(id);
    match &part.kind {
        PartKind::Resistor { .. } | PartKind::Capacitor { .. } | PartKind::Inductor { .. }
            if part.fitted =>
        {
            range.map(|branch| (branch, 1.0)).collect()
        }
        PartKind::Pot {
            ohms, taper, set, ..
        } if part.fitted => {
            let low = taper.share(*set);
            let tracks = [1.0 - low, low].map(|share| ohms * share);
            let share = |branch: usize, track: f64| match side.values.branches[branch] {
                BranchValue::Resistive { siemens, .. } => track * siemens,
                _ => 0.0,
            };
            range.zip(tracks).map(|(b, t)| (b, share(b, t))).collect()
        }
        _ => Vec::new(),
    }
}

/// Derivative of a branch's admittance by the logarithm of its ohms, farads or henries.
pub(super) fn admittance_by_log(value: &BranchValue, omega: f64) -> Complex64 {
    let admittance = value.admittance(omega);
    match *value {
        BranchValue::Resistive { .. } => -admittance,
        BranchValue::Capacitive { .. } => admittance,
        BranchValue::Coil {
            henries, damping, ..
        } => {
            let reactance = Complex64::new(0.0, omega * henries);
            let damped = reactance * damping + 1.0;
            -admittance * admittance * reactance / (damped * damped)
        }
    }
}

/// How far a part's value moves the ports at rest, V for its logarithm.
fn shift(
    network: &Network,
    side: &SolvedCircuit,
    branches: &[(usize, f64)],
    bends: &[Curvature],
    solve: impl Fn(Vec<Complex64>) -> Vec<Complex64>,
) -> Vec<f64> {
    let mut current = empty_vector::<Complex64>(network);
    let mut any = false;
    for &(branch, share) in branches {
        if let BranchValue::Resistive { siemens, .. } = side.values.branches[branch] {
            let volts = branch_volts(network, branch, &side.point.solution);
            // More ohms let less through: as if that much were fed back in.
            let amps = siemens * volts * share;
            any |= amps != 0.0;
            for &(at, c) in &network.branches()[branch].terminals {
                current[at] += c * amps;
            }
        }
    }
    if !any {
        return Vec::new();
    }
    let volts = solve(current);
    let cores = network.cores().iter().zip(&side.values.cores);
    let slopes = cores.map(|(core, law)| {
        let branch = &side.values.branches[core.branch];
        let rest = side.point.solution[core.at];
        core.slope_by_volts_at_rest(branch, law, rest) * volts[core.at].re
    });
    let ports = bends.iter().flat_map(|bend| {
        let volts = &volts;
        (0..bend.ports).map(move |k| (volts[bend.at[k]] - volts[bend.reference]).re)
    });
    ports.chain(slopes).collect()
}

/// What one frequency needs.
struct Pair {
    /// Volts along the path.
    volts: Vec<Complex64>,
    /// The adjoint for the logarithm of the gain.
    adjoint: Vec<Complex64>,
    /// Magnitude of the gain.
    gain: f64,
}

/// Volts along the path at `hz`, and the adjoint for the logarithm of its gain.
fn pair(network: &Network, linear: &SmallSignal<'_>, path: Path, hz: f64) -> Pair {
    let factored = linear.factored(hz);
    let mut current = empty_vector::<Complex64>(network);
    let mut weights = empty_vector::<Complex64>(network);
    let mut reference = Complex64::ONE;
    let volts = match path.from {
        None => {
            current[network.input()] = Complex64::new(network.input_siemens(), 0.0);
            factored.driven(current)
        }
        Some(node) => {
            let at = network.position(node);
            current[at] = Complex64::ONE;
            let volts = factored.driven(current);
            reference = volts[at];
            weights[at] -= reference.inv();
            volts
        }
    };
    let heard = match path.to {
        Some(node) => {
            let at = network.position(node);
            weights[at] += volts[at].inv();
            volts[at]
        }
        None => {
            let [positive, negative] = network.output();
            let heard = volts[positive] - volts[negative];
            weights[positive] += heard.inv();
            weights[negative] -= heard.inv();
            heard
        }
    };
    let adjoint = factored.adjoint(weights);
    Pair {
        volts,
        adjoint,
        gain: (heard / reference).norm(),
    }
}

/// Change of the gain's logarithm for a volt more at each port at rest, ports of all devices in a
/// row.
fn by_port_shift(
    bends: &[Curvature],
    volts: &[Complex64],
    adjoint: &[Complex64],
) -> Vec<Complex64> {
    let mut out = Vec::with_capacity(3 * bends.len());
    for bend in bends {
        let port = |x: &[Complex64]| -> [Complex64; 3] {
            std::array::from_fn(|k| x[bend.at[k]] - x[bend.reference])
        };
        let (volts, adjoint) = (port(volts), port(adjoint));
        for k in 0..bend.ports {
            let rows = bend.by_port.iter().zip(&adjoint);
            let sum: Complex64 = rows
                .map(|(row, weight)| {
                    let amps: Complex64 = row.iter().zip(&volts).map(|(g, v)| v * g[k]).sum();
                    weight * amps
                })
                .sum();
            out.push(-sum);
        }
    }
    out
}

/// Volts across a branch.
pub(super) fn across(network: &Network, branch: usize, volts: &[Complex64]) -> Complex64 {
    let terminals = network.branches()[branch].terminals.iter();
    terminals.map(|&(at, c)| volts[at] * c).sum()
}
