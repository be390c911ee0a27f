//! Voltages and currents at rest.
//!
//! Newton's method on the whole network. A device is evaluated at port voltages that move towards
//! the solution by bounded steps, as in the limiting of nodal simulators (L. Nagel, SPICE2,
//! Univ. of California memorandum ERL-M520, 1975; from memory); behind it stand a leak to ground
//! that is taken away by decades, then sources that are raised in steps.

use crate::network::assemble::{
    empty_matrix, empty_vector, linear_matrix_into, port_volts_into, stamp_devices,
};
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
/// Iterations from a neighbouring solution before starting from cold.
const MOST_NEAR: usize = 60;
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

/// Solves a network at rest again and again for other values, in storage of its own.
#[derive(Clone, Debug)]
pub struct OperatingPointSolver {
    companions: Vec<Companion>,
    base: Vec<f64>,
    matrix: Vec<f64>,
    sources: Vec<f64>,
    solution: Vec<f64>,
    last: Vec<f64>,
    ports: Vec<[f64; 3]>,
    wanted: Vec<[f64; 3]>,
    /// Ports of each device, in the order of [`port_volts_into`].
    counts: Vec<usize>,
    iterations: usize,
    /// Iterations that a solution may take, all stages together.
    budget: usize,
    /// A conductance to ground at a position, S.
    load: Option<(usize, f64)>,
}

impl OperatingPointSolver {
    /// Storage for a network.
    pub fn new(network: &Network) -> Self {
        let devices = network.devices();
        let counts = [
            vec![2; devices.triodes.len()],
            vec![3; devices.pentodes.len()],
            vec![1; devices.rectifiers.len()],
        ]
        .concat();
        OperatingPointSolver {
            companions: Vec::with_capacity(network.branches().len()),
            base: empty_matrix(network),
            matrix: empty_matrix(network),
            sources: empty_vector(network),
            solution: empty_vector(network),
            last: empty_vector(network),
            ports: vec![[0.0; 3]; counts.len()],
            wanted: vec![[0.0; 3]; counts.len()],
            counts,
            iterations: 0,
            budget: usize::MAX,
            load: None,
        }
    }

    /// Hangs a meter on the circuit, or takes it off: a conductance (S) from a position to ground
    /// that the solutions to come include.
    pub fn set_load(&mut self, load: Option<(usize, f64)>) {
        self.load = load;
    }

    /// Finds the operating point from cold: volts by position, ground (0 V) last.
    ///
    /// # Errors
    /// Position of the unknown that moved most in the last iteration, and how far it moved (V).
    ///
    /// # Real-time
    /// Allocates nothing, but takes as long as some tens of plain factorisations.
    pub fn solve(&mut self, network: &Network, values: &Values) -> Result<&[f64], (usize, f64)> {
        self.budget = usize::MAX;
        self.solve_from_cold(network, values)
    }

    /// [`OperatingPointSolver::solve`] in at most so many iterations.
    ///
    /// # Errors
    /// As there, or when the iterations do not suffice.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn solve_within(
        &mut self,
        network: &Network,
        values: &Values,
        most: usize,
    ) -> Result<&[f64], (usize, f64)> {
        self.budget = most;
        self.solve_from_cold(network, values)
    }

    fn solve_from_cold(
        &mut self,
        network: &Network,
        values: &Values,
    ) -> Result<&[f64], (usize, f64)> {
        self.companions.clear();
        self.companions
            .extend(values.branches.iter().map(|b| b.at_rest()));
        self.iterations = 0;
        let mut solved = self.run(network, values, std::iter::once((0.0, 1.0)));
        if solved.is_err() {
            let leaks = (3..=12).map(|k| 10f64.powi(-k)).chain([0.0]);
            solved = self.run(network, values, leaks.map(|leak| (leak, 1.0)));
        }
        if solved.is_err() {
            let scales = (1..=20).map(|k| f64::from(k) / 20.0);
            solved = self.run(network, values, scales.map(|scale| (0.0, scale)));
        }
        match solved {
            Ok(()) => Ok(&self.last),
            Err(failure) => Err((failure.worst, failure.moved)),
        }
    }

    /// The operating point near another one, from there in at most so many iterations.
    ///
    /// # Errors
    /// As of [`OperatingPointSolver::solve`], where it is not near enough.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn solve_near(
        &mut self,
        network: &Network,
        values: &Values,
        start: &[f64],
        most: usize,
    ) -> Result<&[f64], (usize, f64)> {
        self.companions.clear();
        self.companions
            .extend(values.branches.iter().map(|b| b.at_rest()));
        self.iterations = 0;
        self.budget = usize::MAX;
        self.last.copy_from_slice(start);
        match self.newton(network, values, 0.0, 1.0, most) {
            Ok(()) => Ok(&self.last),
            Err(failure) => Err((failure.worst, failure.moved)),
        }
    }

    /// The operating point of a circuit that is much like another one, found from that one's
    /// solution `start` if it leads there, else from cold; none without one.
    pub fn operating_point_near(
        &mut self,
        network: &Network,
        values: &Values,
        start: &[f64],
    ) -> Option<OperatingPoint> {
        let solution = match self.solve_near(network, values, start, MOST_NEAR) {
            Ok(solution) => solution.to_vec(),
            Err(_) => self.solve(network, values).ok()?.to_vec(),
        };
        Some(OperatingPoint {
            solution,
            iterations: self.iterations,
        })
    }

    /// Newton iterations that the last solution took, all stages together.
    pub fn iterations(&self) -> usize {
        self.iterations
    }

    /// Stages of leak to ground (S) and share of the sources, each from where the last one ended.
    fn run(
        &mut self,
        network: &Network,
        values: &Values,
        stages: impl Iterator<Item = (f64, f64)>,
    ) -> Result<(), Failure> {
        self.last.fill(0.0);
        for (leak, scale) in stages {
            self.newton(network, values, leak, scale, CAP)?;
        }
        Ok(())
    }

    fn newton(
        &mut self,
        network: &Network,
        values: &Values,
        leak: f64,
        scale: f64,
        most: usize,
    ) -> Result<(), Failure> {
        let program = network.program();
        let n = program.unknowns();
        linear_matrix_into(network, &self.companions, &mut self.base);
        for position in 0..n {
            let unknown = program.unknown_at(position);
            self.base[program.slot(unknown, unknown).expect("diagonal")] += leak;
        }
        if let Some((position, siemens)) = self.load {
            let unknown = program.unknown_at(position);
            self.base[program.slot(unknown, unknown).expect("diagonal")] += siemens;
        }
        self.sources.fill(0.0);
        for (branch, companion) in network.branches().iter().zip(&self.companions) {
            for &(at, c) in &branch.terminals {
                self.sources[at] += c * companion.constant * scale;
            }
        }
        port_volts_into(network, &self.last, &mut self.ports);
        let mut failure = Failure {
            worst: 0,
            moved: f64::INFINITY,
        };
        for _ in 0..most {
            if self.iterations >= self.budget {
                break;
            }
            self.iterations += 1;
            self.matrix.copy_from_slice(&self.base);
            self.solution.copy_from_slice(&self.sources);
            stamp_devices(
                network,
                &values.devices,
                &self.ports,
                &mut self.matrix,
                &mut self.solution,
            );
            self.solution[n] = 0.0;
            program.solve(&mut self.matrix, &mut self.solution);
            if self.solution.iter().any(|v| !v.is_finite()) {
                return Err(failure);
            }
            let settled = self.move_ports(network);
            failure.moved = 0.0;
            for (at, (a, b)) in self.solution.iter().zip(&self.last).enumerate() {
                if (a - b).abs() > failure.moved {
                    failure = Failure {
                        worst: at,
                        moved: (a - b).abs(),
                    };
                }
            }
            self.last.copy_from_slice(&self.solution);
            if settled {
                return Ok(());
            }
        }
        Err(failure)
    }

    /// Moves the ports towards the solution, each within its bound; whether all were there.
    fn move_ports(&mut self, network: &Network) -> bool {
        port_volts_into(network, &self.solution, &mut self.wanted);
        let mut settled = true;
        for ((port, want), &count) in self.ports.iter_mut().zip(&self.wanted).zip(&self.counts) {
            for k in 0..count {
                let step = want[k] - port[k];
                settled &= step.abs() <= TOLERANCE * (1.0 + want[k].abs());
                let bound = limit(k, count, port[k]);
                port[k] += step.clamp(-bound, bound);
            }
        }
        settled
    }
}

/// Finds the operating point from cold.
///
/// # Errors
/// [`Unsolved`] when Newton's method fails, with leak and source stepping too.
pub fn operating_point(network: &Network, values: &Values) -> Result<OperatingPoint, Unsolved> {
    let mut solver = OperatingPointSolver::new(network);
    match solver.solve(network, values) {
        Ok(solution) => Ok(OperatingPoint {
            solution: solution.to_vec(),
            iterations: solver.iterations(),
        }),
        Err((worst, moved)) => Err(Unsolved {
            worst: network.names().get(worst).cloned().unwrap_or_default(),
            moved,
        }),
    }
}
