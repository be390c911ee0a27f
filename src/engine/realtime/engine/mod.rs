//! One circuit topology moving in time, a lane a circuit: the tuned counterpart of
//! [`crate::solve::transient`].
//!
//! What makes it fast, and is checked against the plain oracle:
//! - *static elimination*: the linear unknowns lead and are factored only when a value changes;
//!   a Newton iteration touches the trailing block alone, and a step the transformers' cores;
//! - *Norton form*: an iteration solves for the new voltages, not for a correction, so no residual
//!   product is formed;
//! - *accept by estimate*: an iteration ends when `½·f″·Δ²` says that the device currents at the
//!   new voltages differ from their tangents by less than a tolerance, which saves the
//!   confirming iteration;
//! - *prediction*: the first iterate continues the last two solutions in a straight line.
//!
//! What keeps it accurate: steps of `h/2^level`, one factored matrix cached per level, the level
//! chosen by the local error of the trapezoidal rule on the output anodes (see [`super::stepper`]).

mod build;
mod cores;
mod live_core;
mod matrices;
mod port_volts;
mod ports;
mod stored;

use crate::device::{PentodeLaw, RectifierLaw, TriodeLaw};
use crate::network::assemble::branch_volts;
use crate::network::devices::Tangent;
use crate::network::{BranchValue, DeviceValues, Devices, Fitted, Network};
use crate::numeric::real::Real;
use crate::numeric::sparse::Program;
use live_core::LiveCore;
use port_volts::read_ports;

/// Newton iterations before a step counts as failed.
const CAP: usize = 20;
/// A step that takes more iterations than this is too wild to be continued in a straight line.
const CALM: usize = 4;

/// A branch with memory between at most three unknowns; the third has a weight of its own.
#[derive(Clone, Debug)]
struct Reactance {
    branch: usize,
    at: [usize; 3],
    third: f64,
}

/// Companion of one reactance in all lanes: `i = siemens·u − J`, `J = from_volts·u₋ + from_amps·i₋`.
#[derive(Clone, Copy, Debug)]
struct Weights<T> {
    siemens: T,
    from_volts: T,
    from_amps: T,
}

/// What a reactance remembers.
#[derive(Clone, Copy, Debug)]
struct ReactanceState<T> {
    volts: T,
    amps: T,
}

/// Coefficients for one step size.
#[derive(Clone, Debug)]
struct Level<T> {
    step: f64,
    stale: bool,
    weights: Vec<Weights<T>>,
    matrix: Vec<T>,
}

/// A node whose local error steers the step.
#[derive(Clone, Debug)]
struct Watched<T> {
    /// Index among the reactances of a capacitor on that node.
    reactance: usize,
    farads_inverse: T,
    /// dv/dt at the last two accepted times, V/s, latest first.
    slopes: [T; 2],
}

/// How an attempt ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Attempt {
    /// Solved; the local error as a multiple of what is allowed.
    Solved(f64),
    /// Newton's method did not settle.
    Failed,
}

/// The engine. `T` carries one circuit a lane.
#[derive(Clone, Debug)]
pub struct Engine<T> {
    program: Program,
    devices: Devices,
    triodes: Vec<Fitted<TriodeLaw<T>, T>>,
    pentodes: Vec<Fitted<PentodeLaw<T>, T>>,
    rectifiers: Vec<Fitted<RectifierLaw<T>, T>>,
    lanes: Vec<Vec<BranchValue>>,
    stamps: Vec<Vec<(usize, f64)>>,
    terminals: Vec<Vec<(usize, f64)>>,
    reactances: Vec<Reactance>,
    levels: Vec<Level<T>>,
    resistive: Vec<T>,
    resistive_stale: bool,
    sources: Vec<T>,
    watched: Vec<Watched<T>>,
    cores: Vec<LiveCore<T>>,
    input: usize,
    input_siemens: f64,
    output: [usize; 2],
    tolerance_amps: f64,
    // State.
    memory: Vec<ReactanceState<T>>,
    solution: Vec<T>,
    previous: Vec<T>,
    last_step: f64,
    // Scratch.
    history: Vec<T>,
    right: Vec<T>,
    /// The matrix from the cores' pivots on, in this step.
    base: Vec<T>,
    work: Vec<T>,
    guess: Vec<T>,
    ports: Vec<[T; 3]>,
    steps: Vec<[T; 3]>,
    /// The last step settled quickly, so that a straight line predicts the next one.
    calm: bool,
    tangents: Vec<Tangent<T>>,
    fresh_slopes: Vec<T>,
    curvatures: Vec<[T; 3]>,
    /// Effect of an anode volt as a share of a grid volt's, 1/µ, one a triode.
    anode_shares: Vec<T>,
    /// Newton iterations since the start.
    pub iterations: u64,
    /// Attempts since the start.
    pub attempts: u64,
}

/// Local error that is let through on an output anode: 0.3 V and 0.9 % of its voltage. Taken over
/// from an earlier prototype, not searched for anew; `tests/solver/realtime_accuracy.rs` holds with it.
const ERROR_VOLTS: f64 = 0.3;
const ERROR_SHARE: f64 = 0.009;

impl<T: Real> Engine<T> {
    /// Puts one lane at rest at its operating point.
    pub fn settle(&mut self, network: &Network, lane: usize, point: &[f64]) {
        for (at, &v) in point.iter().enumerate() {
            self.solution[at].set_lane(lane, v);
            self.previous[at].set_lane(lane, v);
        }
        for (index, reactance) in self.reactances.iter().enumerate() {
            let u = branch_volts(network, reactance.branch, point);
            let rest = self.lanes[lane][reactance.branch].at_rest();
            self.memory[index].volts.set_lane(lane, u);
            self.memory[index]
                .amps
                .set_lane(lane, rest.siemens * u - rest.constant);
        }
        self.settle_cores(network, lane, point);
        for watched in &mut self.watched {
            watched.slopes[0].set_lane(lane, 0.0);
            watched.slopes[1].set_lane(lane, 0.0);
        }
    }

    /// Moves the state of one lane by the difference between two operating points, V by
    /// position: what the circuit stores moves along, the sound on top of it stays.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn shift(&mut self, lane: usize, difference: &[f64]) {
        let add = |slot: &mut T, amount: f64| slot.set_lane(lane, slot.lane(lane) + amount);
        for (at, &volts) in difference.iter().enumerate() {
            add(&mut self.solution[at], volts);
            add(&mut self.previous[at], volts);
        }
        for place in 0..self.reactances.len() {
            let reactance = &self.reactances[place];
            let [a, b, c] = reactance.at;
            let mut u = difference[a] - difference[b];
            if reactance.third != 0.0 {
                u += reactance.third * difference[c];
            }
            let rest = self.lanes[lane][reactance.branch].at_rest();
            add(&mut self.memory[place].volts, u);
            self.carry(place, lane, u * rest.siemens);
        }
    }

    /// Replaces the value of one branch in one lane. The voltage and current of a reactance go on
    /// from where they are, of a transformer's inductance the flux.
    ///
    /// # Real-time
    /// Allocates nothing; the matrices are made anew when they are next used.
    pub fn set_branch(&mut self, lane: usize, branch: usize, value: BranchValue) {
        debug_assert_eq!(value.kind(), self.lanes[lane][branch].kind());
        self.lanes[lane][branch] = value;
        self.follow_inductance(lane, branch, &value);
        self.resistive_stale = true;
        for level in &mut self.levels {
            level.stale = true;
        }
    }

    /// Replaces the laws of all devices in one lane.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn set_devices(&mut self, lane: usize, values: &DeviceValues) {
        for (index, (own, new)) in self.triodes.iter_mut().zip(&values.triodes).enumerate() {
            own.law.set_lane(lane, &new.law);
            own.present.set_lane(lane, new.present);
            self.anode_shares[index].set_lane(lane, 1.0 / new.law.mu);
        }
        for (own, new) in self.pentodes.iter_mut().zip(&values.pentodes) {
            own.law.set_lane(lane, &new.law);
            own.present.set_lane(lane, new.present);
        }
        for (own, new) in self.rectifiers.iter_mut().zip(&values.rectifiers) {
            own.law.set_lane(lane, &new.law);
            own.present.set_lane(lane, new.present);
        }
        for tangent in &mut self.tangents {
            tangent.volts = T::splat(f64::INFINITY);
        }
    }

    /// Number of halvings allowed.
    pub fn finest(&self) -> usize {
        self.levels.len() - 1
    }

    /// Volts by position now, ground last.
    pub fn solution(&self) -> &[T] {
        &self.solution
    }

    /// What is heard now, V.
    #[inline(always)]
    pub fn heard(&self) -> T {
        self.solution[self.output[0]] - self.solution[self.output[1]]
    }

    /// Tries one step of the size that belongs to `level`, to `input` volts at the jack. Nothing
    /// changes until [`Engine::commit`].
    ///
    /// # Real-time
    /// Allocates nothing; at most twenty iterations.
    #[inline(always)]
    pub fn attempt(&mut self, level: usize, input: T) -> Attempt {
        self.refresh(level);
        self.attempts += 1;
        let n = self.program.unknowns();
        let (constant, leading) = (self.program.constant(), self.program.leading());
        let coefficients = &self.levels[level];
        // Right-hand side: sources, the jack, and what the reactances remember.
        self.right.copy_from_slice(&self.sources);
        self.right[self.input] += input * T::splat(self.input_siemens);
        let remembered = self
            .reactances
            .iter()
            .zip(&coefficients.weights)
            .zip(&self.memory);
        for (((reactance, weights), memory), history) in remembered.zip(&mut self.history) {
            let j =
                (weights.from_volts * memory.volts).plus_product(weights.from_amps, memory.amps);
            *history = j;
            let [a, b, c] = reactance.at;
            self.right[a] += j;
            self.right[b] -= j;
            if reactance.third != 0.0 {
                self.right[c] = self.right[c].plus_product(j, T::splat(reactance.third));
            }
        }
        self.right[n] = T::ZERO;
        self.program
            .forward(0..constant, &coefficients.matrix, &mut self.right);
        let ratio = T::splat(if self.calm {
            coefficients.step / self.last_step
        } else {
            0.0
        });
        self.stamp_cores(level, ratio);
        // Prediction.
        for at in leading..n {
            self.guess[at] =
                self.solution[at].plus_product(self.solution[at] - self.previous[at], ratio);
        }
        self.guess[n] = T::ZERO;
        read_ports(&self.devices, &self.guess, &mut self.ports);
        let first = self.program.first_slot(leading);
        let mut settled = false;
        for iteration in 0..CAP {
            self.iterations += 1;
            self.work[first..].copy_from_slice(&self.base[first..]);
            self.guess[leading..].copy_from_slice(&self.right[leading..]);
            self.stamp_devices();
            self.guess[n] = T::ZERO;
            let trailing = leading..n;
            self.program
                .factor_forward(trailing.clone(), &mut self.work, &mut self.guess);
            self.program.backward(trailing, &self.work, &mut self.guess);
            let error = self.move_ports(iteration);
            if error <= self.tolerance_amps {
                settled = true;
                self.calm = iteration < CALM;
                break;
            }
            if !error.is_finite() {
                return Attempt::Failed;
            }
        }
        if !settled {
            return Attempt::Failed;
        }
        self.local_error(level)
    }

    /// Local error of the trapezoidal rule, `h³/12·v‴`, by divided differences of dv/dt.
    #[inline(always)]
    fn local_error(&mut self, level: usize) -> Attempt {
        let coefficients = &self.levels[level];
        let step = coefficients.step;
        let scale = T::splat(step * step * step / 12.0 * 2.0 / (step + self.last_step));
        let mut worst = T::ZERO;
        for (watched, fresh) in self.watched.iter().zip(&mut self.fresh_slopes) {
            let [a, b, _] = self.reactances[watched.reactance].at;
            let u = self.guess[a] - self.guess[b];
            let index = watched.reactance;
            let slope = (coefficients.weights[index].siemens * u - self.history[index])
                * watched.farads_inverse;
            *fresh = slope;
            let latest = (slope - watched.slopes[0]) * T::splat(1.0 / step);
            let earlier = (watched.slopes[0] - watched.slopes[1]) * T::splat(1.0 / self.last_step);
            let error = ((latest - earlier) * scale).abs();
            let allowed = T::splat(ERROR_VOLTS).plus_product(T::splat(ERROR_SHARE), u.abs());
            worst = worst.max(error / allowed);
        }
        if worst.all_finite() {
            Attempt::Solved(worst.largest())
        } else {
            Attempt::Failed
        }
    }

    /// Makes the last solved attempt the present.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn commit(&mut self, level: usize) {
        let coefficients = &self.levels[level];
        let (constant, leading) = (self.program.constant(), self.program.leading());
        self.guess[..leading].copy_from_slice(&self.right[..leading]);
        self.program
            .backward(constant..leading, &self.base, &mut self.guess);
        self.program
            .backward(0..constant, &coefficients.matrix, &mut self.guess);
        let remembered = self
            .reactances
            .iter()
            .zip(&coefficients.weights)
            .zip(&self.history);
        for (((reactance, weights), &history), memory) in remembered.zip(&mut self.memory) {
            let [a, b, c] = reactance.at;
            let mut u = self.guess[a] - self.guess[b];
            if reactance.third != 0.0 {
                u = u.plus_product(self.guess[c], T::splat(reactance.third));
            }
            *memory = ReactanceState {
                volts: u,
                amps: weights.siemens * u - history,
            };
        }
        for (watched, &fresh) in self.watched.iter_mut().zip(&self.fresh_slopes) {
            watched.slopes = [fresh, watched.slopes[0]];
        }
        self.last_step = coefficients.step;
        std::mem::swap(&mut self.previous, &mut self.solution);
        self.solution.copy_from_slice(&self.guess);
    }
}
