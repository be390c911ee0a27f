//! Voltages and currents at rest.
//!
//! Newton's method on the whole network. A device is evaluated at port voltages that move towards
//! the solution by bounded steps, as in the limiting of nodal simulators (L. Nagel, SPICE2,
//! Univ. of California memorandum ERL-M520, 1975; from memory); behind it stand a leak to ground
//! that is taken away by decades, then sources that are raised in steps.

use crate::network::assemble::{empty_vector, linear_matrix, port_volts, stamp_devices};
use crate::network::{Companion, Network, Values};

/// A solution at rest.
#[derive(Clone, Debug)]
pub struct OperatingPoint {
    /// Volts by position, ground (0 V) last.
    pub solution: Vec<f64>,
    /// Newton iterations that it took, all stages together.
    pub iterations: usize,
}

/// No operating point was found.
#[derive(Clone, Debug, PartialEq)]
pub struct Unsolved {
    /// Name of the unknown that moved most in the last iteration.
    pub worst: String,
    /// How far it still moved, V.
    pub moved: f64,
}

impl std::fmt::Display for Unsolved {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(
            f,
            "no operating point found: the voltage at \"{}\" still moves by {:.3} V an iteration; \
             check the parts around it for values that leave it undefined",
            self.worst, self.moved
        )
    }
}

impl std::error::Error for Unsolved {}

/// Iterations of one Newton run before it counts as failed.
const CAP: usize = 200;
/// Ports this near to the solution end the iteration, V and share of the voltage.
const TOLERANCE: f64 = 1e-10;

/// Largest step of a port voltage in one iteration: grids see cut-off and grid current within a
/// few volts, anodes and screens bend over tens.
fn limit(port: usize, ports: usize, volts: f64) -> f64 {
    let grid = ports > 1 && port == ports - 1;
    if grid {
        4.0 + 0.25 * volts.abs()
    } else {
        60.0 + 0.25 * volts.abs()
    }
}

struct Failure {
    worst: usize,
    moved: f64,
}

fn newton(
    network: &Network,
    values: &Values,
    companions: &[Companion],
    leak: f64,
    scale: f64,
    start: &[f64],
) -> Result<(Vec<f64>, usize), (Failure, usize)> {
    let program = network.program();
    let n = program.unknowns();
    let mut base = linear_matrix(network, companions);
    for position in 0..n {
        let unknown = program.unknown_at(position);
        base[program.slot(unknown, unknown).expect("diagonal")] += leak;
    }
    let mut sources = empty_vector(network);
    for (branch, companion) in network.branches().iter().zip(companions) {
        for &(at, c) in &branch.terminals {
            sources[at] += c * companion.constant * scale;
        }
    }
    let port_counts: Vec<usize> = [
        vec![2; network.devices().triodes.len()],
        vec![3; network.devices().pentodes.len()],
        vec![1; network.devices().rectifiers.len()],
    ]
    .concat();
    let mut ports = port_volts(network, start);
    let mut last = start.to_vec();
    let mut failure = Failure {
        worst: 0,
        moved: f64::INFINITY,
    };
    for iteration in 1..=CAP {
        let mut matrix = base.clone();
        let mut solution = sources.clone();
        stamp_devices(network, &values.devices, &ports, &mut matrix, &mut solution);
        solution[n] = 0.0;
        program.solve(&mut matrix, &mut solution);
        if solution.iter().any(|v| !v.is_finite()) {
            return Err((failure, iteration));
        }
        let wanted = port_volts(network, &solution);
        let mut settled = true;
        for ((port, want), &count) in ports.iter_mut().zip(&wanted).zip(&port_counts) {
            for k in 0..count {
                let step = want[k] - port[k];
                settled &= step.abs() <= TOLERANCE * (1.0 + want[k].abs());
                let bound = limit(k, count, port[k]);
                port[k] += step.clamp(-bound, bound);
            }
        }
        failure.moved = 0.0;
        for (at, (a, b)) in solution.iter().zip(&last).enumerate() {
            if (a - b).abs() > failure.moved {
                failure = Failure {
                    worst: at,
                    moved: (a - b).abs(),
                };
            }
        }
        last = solution;
        if settled {
            return Ok((last, iteration));
        }
    }
    Err((failure, CAP))
}

/// Finds the operating point from cold.
///
/// # Errors
/// [`Unsolved`] when Newton's method fails, with leak and source stepping too.
pub fn operating_point(network: &Network, values: &Values) -> Result<OperatingPoint, Unsolved> {
    let companions: Vec<Companion> = values.branches.iter().map(|b| b.at_rest()).collect();
    let cold = empty_vector::<f64>(network);
    let mut spent = 0;
    match newton(network, values, &companions, 0.0, 1.0, &cold) {
        Ok((solution, iterations)) => {
            return Ok(OperatingPoint {
                solution,
                iterations,
            });
        }
        Err((_, iterations)) => spent += iterations,
    }
    let mut run = |stages: &[(f64, f64)]| -> Result<Vec<f64>, Failure> {
        let mut solution = cold.clone();
        for &(leak, scale) in stages {
            match newton(network, values, &companions, leak, scale, &solution) {
                Ok((next, iterations)) => {
                    spent += iterations;
                    solution = next;
                }
                Err((failure, iterations)) => {
                    spent += iterations;
                    return Err(failure);
                }
            }
        }
        Ok(solution)
    };
    let leaks: Vec<(f64, f64)> = (3..=12)
        .map(|k| (10f64.powi(-k), 1.0))
        .chain([(0.0, 1.0)])
        .collect();
    let scales: Vec<(f64, f64)> = (1..=20).map(|k| (0.0, k as f64 / 20.0)).collect();
    match run(&leaks).or_else(|_| run(&scales)) {
        Ok(solution) => Ok(OperatingPoint {
            solution,
            iterations: spent,
        }),
        Err(failure) => Err(Unsolved {
            worst: network
                .names()
                .get(failure.worst)
                .cloned()
                .unwrap_or_default(),
            moved: failure.moved,
        }),
    }
}
