//! One circuit topology moving in time, a lane a circuit: the tuned counterpart of
//! [`crate::solve::transient`].
//!
//! What makes it fast, and is checked against the plain oracle:
//! - *static elimination*: the linear unknowns lead and are factored only when a value changes;
//!   a Newton iteration touches the trailing block alone;
//! - *Norton form*: an iteration solves for the new voltages, not for a correction, so no residual
//!   product is formed;
//! - *accept by estimate*: an iteration ends when `½·f″·Δ²` says that the device currents at the
//!   new voltages differ from their tangents by less than a tolerance, which saves the
//!   confirming iteration;
//! - *prediction*: the first iterate continues the last two solutions in a straight line.
//!
//! What keeps it accurate: steps of `h/2^level`, one factored matrix cached per level, the level
//! chosen by the local error of the trapezoidal rule on the output anodes (see [`super::stepper`]).

use crate::device::{PentodeLaw, RectifierLaw, TriodeLaw};
use crate::network::assemble::branch_volts;
use crate::network::devices::{stamp_pentode, stamp_rectifier, stamp_triode};
use crate::network::{
    BranchValue, Companion, DeviceValues, Devices, Fitted, INPUT_OHMS, LEAST_SIEMENS,
};
use crate::network::{Network, Values};
use crate::numeric::real::Real;
use crate::numeric::sparse::Program;

/// Newton iterations before a step counts as failed.
const CAP: usize = 20;
/// Iterations that may move as far as they like; later ones are limited by their last step.
const FREE: usize = 4;
/// A limited port may always move by this much, V.
const LEAST_BOUND: f64 = 0.05;
/// Effect of a screen volt on the cathode current as a share of a grid volt's, for judging errors.
const SCREEN_SHARE: f64 = 0.05;

/// A branch with memory between at most three unknowns; the third has a weight of its own.
#[derive(Clone, Debug)]
struct Reactance {
    branch: usize,
    at: [usize; 3],
    third: f64,
}

/// Coefficients for one step size.
#[derive(Clone, Debug)]
struct Level<T> {
    step: f64,
    stale: bool,
    siemens: Vec<T>,
    from_volts: Vec<T>,
    from_amps: Vec<T>,
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
    input: usize,
    output: [usize; 2],
    tolerance_amps: f64,
    // State.
    volts: Vec<T>,
    amps: Vec<T>,
    solution: Vec<T>,
    previous: Vec<T>,
    last_step: f64,
    step_before: f64,
    // Scratch.
    history: Vec<T>,
    right: Vec<T>,
    work: Vec<T>,
    guess: Vec<T>,
    ports: Vec<[T; 3]>,
    steps: Vec<[T; 3]>,
    fresh_slopes: Vec<T>,
    curvatures: Vec<[T; 3]>,
    /// Effect of an anode volt as a share of a grid volt's, 1/µ, one a triode.
    anode_shares: Vec<T>,
    /// Newton iterations since the start.
    pub iterations: u64,
    /// Attempts since the start.
    pub attempts: u64,
}

/// Local error that is let through on an output anode: 0.3 V and 0.9 % of its voltage (measured:
/// tighter costs more and changes the sound in band by less than the trapezoidal rule itself).
const ERROR_VOLTS: f64 = 0.3;
const ERROR_SHARE: f64 = 0.009;

impl<T: Real> Engine<T> {
    /// Builds the engine at rest.
    ///
    /// `lanes`: the values of each lane's circuit, all of `network`'s topology, with its
    /// operating point (volts by position). `step`: the coarsest step, s; `finest`: the number
    /// of halvings allowed.
    pub fn new(network: &Network, lanes: &[(&Values, &[f64])], step: f64, finest: usize) -> Self {
        assert_eq!(lanes.len(), T::LANES, "one set of values a lane");
        let n = network.unknowns();
        let program = network.program().clone();
        let mut reactances = Vec::new();
        for (index, branch) in network.branches().iter().enumerate() {
            if branch.kind == crate::network::BranchKind::Resistive {
                continue;
            }
            let find = |sign: f64| {
                branch
                    .terminals
                    .iter()
                    .find(|t| t.1 == sign)
                    .map_or(n, |t| t.0)
            };
            let third = branch.terminals.iter().find(|t| t.1.abs() != 1.0);
            // A transformer without a fraction (share 1) has −1 twice; keep the second apart.
            let negatives: Vec<usize> = branch
                .terminals
                .iter()
                .filter(|t| t.1 == -1.0)
                .map(|t| t.0)
                .collect();
            let (third_at, weight) = match (third, negatives.as_slice()) {
                (Some(&(at, c)), _) => (at, c),
                (None, [_, second]) => (*second, -1.0),
                _ => (n, 0.0),
            };
            let negative = negatives.first().copied().unwrap_or(n);
            reactances.push(Reactance {
                branch: index,
                at: [find(1.0), negative, third_at],
                third: weight,
            });
        }
        let count = reactances.len();
        let devices = network.devices();
        let device_count =
            devices.triodes.len() + devices.pentodes.len() + devices.rectifiers.len();
        let zero = |len: usize| vec![T::ZERO; len];
        let levels = (0..=finest)
            .map(|level| Level {
                step: step / (1u64 << level) as f64,
                stale: true,
                siemens: zero(count),
                from_volts: zero(count),
                from_amps: zero(count),
                matrix: zero(program.slots() + 1),
            })
            .collect();
        let (values, _) = lanes[0];
        let splat = T::splat;
        let mut engine = Engine {
            devices: network.devices().clone(),
            triodes: values
                .devices
                .triodes
                .iter()
                .map(|f| Fitted {
                    law: TriodeLaw::splat(&f.law),
                    present: splat(f.present),
                })
                .collect(),
            pentodes: values
                .devices
                .pentodes
                .iter()
                .map(|f| Fitted {
                    law: PentodeLaw::splat(&f.law),
                    present: splat(f.present),
                })
                .collect(),
            rectifiers: values
                .devices
                .rectifiers
                .iter()
                .map(|f| Fitted {
                    law: RectifierLaw::splat(&f.law),
                    present: splat(f.present),
                })
                .collect(),
            lanes: lanes.iter().map(|(v, _)| v.branches.clone()).collect(),
            stamps: network.branches().iter().map(|b| b.stamp.clone()).collect(),
            terminals: network
                .branches()
                .iter()
                .map(|b| b.terminals.clone())
                .collect(),
            watched: watched_branches(network)
                .into_iter()
                .map(|branch| Watched {
                    reactance: reactances
                        .iter()
                        .position(|r| r.branch == branch)
                        .expect("a capacitor"),
                    farads_inverse: T::ZERO,
                    slopes: [T::ZERO; 2],
                })
                .collect(),
            levels,
            resistive: zero(program.slots() + 1),
            resistive_stale: true,
            sources: zero(n + 1),
            input: network.input(),
            output: network.output(),
            tolerance_amps: 5e-7,
            volts: zero(count),
            amps: zero(count),
            solution: zero(n + 1),
            previous: zero(n + 1),
            last_step: step,
            step_before: step,
            history: zero(count),
            right: zero(n + 1),
            work: zero(program.slots() + 1),
            guess: zero(n + 1),
            ports: vec![[T::ZERO; 3]; device_count],
            steps: vec![[T::ZERO; 3]; device_count],
            fresh_slopes: zero(count),
            curvatures: vec![[T::ZERO; 3]; device_count],
            anode_shares: zero(network.devices().triodes.len()),
            iterations: 0,
            attempts: 0,
            reactances,
            program,
        };
        for (lane, (values, point)) in lanes.iter().enumerate() {
            engine.set_devices(lane, &values.devices);
            engine.settle(network, lane, point);
        }
        engine
    }

    /// Puts one lane at rest at its operating point.
    pub fn settle(&mut self, network: &Network, lane: usize, point: &[f64]) {
        for (at, &v) in point.iter().enumerate() {
            self.solution[at].set_lane(lane, v);
            self.previous[at].set_lane(lane, v);
        }
        for (index, reactance) in self.reactances.iter().enumerate() {
            let u = branch_volts(network, reactance.branch, point);
            let rest = self.lanes[lane][reactance.branch].at_rest();
            self.volts[index].set_lane(lane, u);
            self.amps[index].set_lane(lane, rest.siemens * u - rest.constant);
        }
        for watched in &mut self.watched {
            watched.slopes[0].set_lane(lane, 0.0);
            watched.slopes[1].set_lane(lane, 0.0);
        }
    }

    /// Replaces the value of one branch in one lane. The voltage and current of a reactance go on
    /// from where they are.
    ///
    /// # Real-time
    /// Allocates nothing; the matrices are made anew when they are next used.
    pub fn set_branch(&mut self, lane: usize, branch: usize, value: BranchValue) {
        debug_assert_eq!(value.kind(), self.lanes[lane][branch].kind());
        self.lanes[lane][branch] = value;
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

    /// Makes the coefficients of a level from the values of all lanes.
    #[inline(always)]
    pub fn refresh(&mut self, level: usize) {
        if self.resistive_stale {
            self.refresh_resistive();
        }
        let level = &mut self.levels[level];
        if !level.stale {
            return;
        }
        level.stale = false;
        level.matrix.copy_from_slice(&self.resistive);
        for (index, reactance) in self.reactances.iter().enumerate() {
            let (mut siemens, mut from_volts, mut from_amps) = (T::ZERO, T::ZERO, T::ZERO);
            for (lane, values) in self.lanes.iter().enumerate() {
                let Companion {
                    siemens: g,
                    from_volts: v,
                    from_amps: i,
                    ..
                } = values[reactance.branch].companion(level.step);
                siemens.set_lane(lane, g);
                from_volts.set_lane(lane, v);
                from_amps.set_lane(lane, i);
            }
            level.siemens[index] = siemens;
            level.from_volts[index] = from_volts;
            level.from_amps[index] = from_amps;
            for &(slot, c) in &self.stamps[reactance.branch] {
                level.matrix[slot] = level.matrix[slot].plus_product(siemens, T::splat(c));
            }
        }
        self.program
            .factor(0..self.program.leading(), &mut level.matrix);
    }

    #[inline(always)]
    fn refresh_resistive(&mut self) {
        self.resistive_stale = false;
        self.resistive.fill(T::ZERO);
        self.sources.fill(T::ZERO);
        for position in 0..self.program.unknowns() {
            let unknown = self.program.unknown_at(position);
            let jack = if position == self.input {
                1.0 / INPUT_OHMS
            } else {
                0.0
            };
            let slot = self
                .program
                .slot(unknown, unknown)
                .expect("the diagonal is in the pattern");
            self.resistive[slot] += T::splat(LEAST_SIEMENS + jack);
        }
        for branch in 0..self.stamps.len() {
            let (mut siemens, mut constant) = (T::ZERO, T::ZERO);
            for (lane, values) in self.lanes.iter().enumerate() {
                if let BranchValue::Resistive { siemens: g, volts } = values[branch] {
                    siemens.set_lane(lane, g);
                    constant.set_lane(lane, g * volts);
                } else {
                    break;
                }
            }
            for &(slot, c) in &self.stamps[branch] {
                self.resistive[slot] = self.resistive[slot].plus_product(siemens, T::splat(c));
            }
            for &(at, c) in &self.terminals[branch] {
                self.sources[at] = self.sources[at].plus_product(constant, T::splat(c));
            }
        }
        for watched in &mut self.watched {
            let branch = self.reactances[watched.reactance].branch;
            for (lane, values) in self.lanes.iter().enumerate() {
                if let BranchValue::Capacitive { farads } = values[branch] {
                    watched
                        .farads_inverse
                        .set_lane(lane, if farads > 0.0 { 1.0 / farads } else { 0.0 });
                }
            }
        }
    }

    /// Tries one step of the size that belongs to `level`, to `input` volts at the jack. Nothing
    /// changes until [`Engine::commit`].
    ///
    /// # Real-time
    /// Allocates nothing; at most eight iterations.
    #[inline(always)]
    pub fn attempt(&mut self, level: usize, input: T) -> Attempt {
        self.refresh(level);
        self.attempts += 1;
        let n = self.program.unknowns();
        let leading = self.program.leading();
        let coefficients = &self.levels[level];
        // Right-hand side: sources, the jack, and what the reactances remember.
        self.right.copy_from_slice(&self.sources);
        self.right[self.input] += input * T::splat(1.0 / INPUT_OHMS);
        for (index, reactance) in self.reactances.iter().enumerate() {
            let remembered = coefficients.from_volts[index] * self.volts[index];
            let remembered =
                remembered.plus_product(coefficients.from_amps[index], self.amps[index]);
            self.history[index] = remembered;
            let [a, b, c] = reactance.at;
            self.right[a] += remembered;
            self.right[b] -= remembered;
            if reactance.third != 0.0 {
                self.right[c] = self.right[c].plus_product(remembered, T::splat(reactance.third));
            }
        }
        self.right[n] = T::ZERO;
        self.program
            .forward(0..leading, &coefficients.matrix, &mut self.right);
        // Prediction.
        let ratio = T::splat(coefficients.step / self.last_step);
        for at in leading..n {
            self.guess[at] =
                self.solution[at].plus_product(self.solution[at] - self.previous[at], ratio);
        }
        self.guess[n] = T::ZERO;
        read_ports(&self.devices, &self.guess, &mut self.ports);
        let first = self.program.trailing_slot();
        let mut settled = false;
        for iteration in 0..CAP {
            self.iterations += 1;
            self.work[first..].copy_from_slice(&self.levels[level].matrix[first..]);
            self.guess[leading..].copy_from_slice(&self.right[leading..]);
            self.stamp_devices();
            self.guess[n] = T::ZERO;
            let trailing = leading..n;
            self.program.factor(trailing.clone(), &mut self.work);
            self.program
                .forward(trailing.clone(), &self.work, &mut self.guess);
            self.program.backward(trailing, &self.work, &mut self.guess);
            let error = self.move_ports(iteration >= FREE);
            if error <= self.tolerance_amps {
                settled = true;
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

    /// Norton equivalents of all devices at their ports into the trailing block.
    #[inline(always)]
    fn stamp_devices(&mut self) {
        let (work, right) = (&mut self.work, &mut self.guess);
        let mut at = 0;
        for (site, value) in self.devices.triodes.iter().zip(&self.triodes) {
            let [va, vg, _] = self.ports[at];
            let i = stamp_triode(site, value, va, vg, work, right);
            self.curvatures[at] = [i.anode_curvature, i.grid_curvature, T::ZERO];
            at += 1;
        }
        for (site, value) in self.devices.pentodes.iter().zip(&self.pentodes) {
            let [va, vs, vg] = self.ports[at];
            let i = stamp_pentode(site, value, va, vs, vg, work, right);
            self.curvatures[at] = [i.cathode_curvature, i.grid_curvature, i.anode_curvature];
            at += 1;
        }
        for (site, value) in self.devices.rectifiers.iter().zip(&self.rectifiers) {
            stamp_rectifier(site, value, self.ports[at][0], work, right);
            at += 1;
        }
    }

    /// Moves the ports to the new voltages, by bounded steps where `limited`, and returns the
    /// estimated error of the device currents there, A: `½·f″·Δ²`, infinite while a bound holds.
    #[inline(always)]
    fn move_ports(&mut self, limited: bool) -> f64 {
        let volts = &self.guess;
        let node = |p: u16| volts[p as usize];
        let mut worst = T::ZERO;
        let mut missed = T::ZERO;
        let mut ports = self
            .ports
            .iter_mut()
            .zip(&mut self.steps)
            .zip(&self.curvatures);
        for (site, &share) in self.devices.triodes.iter().zip(&self.anode_shares) {
            let [a, g, k] = site.at.map(node);
            let ((port, last), &[anode, grid, _]) = ports.next().expect("one entry a device");
            let (da, dg) = (a - k - port[0], g - k - port[1]);
            let effective = dg.plus_product(da, share);
            worst = worst.max((anode * effective * effective).plus_product(grid * dg, dg));
            missed += approach(&mut port[0], a - k, &mut last[0], limited);
            missed += approach(&mut port[1], g - k, &mut last[1], limited);
        }
        for site in &self.devices.pentodes {
            let [a, s, g, k] = site.at.map(node);
            let ((port, last), &[cathode, grid, anode]) = ports.next().expect("one entry a device");
            let (da, ds, dg) = (a - k - port[0], s - k - port[1], g - k - port[2]);
            let effective = dg.plus_product(ds, T::splat(SCREEN_SHARE));
            let error = (cathode * effective * effective).plus_product(grid * dg, dg);
            worst = worst.max(error.plus_product(anode * da, da));
            missed += approach(&mut port[0], a - k, &mut last[0], limited);
            missed += approach(&mut port[1], s - k, &mut last[1], limited);
            missed += approach(&mut port[2], g - k, &mut last[2], limited);
        }
        for site in &self.devices.rectifiers {
            let [r, k] = site.at.map(node);
            let ((port, last), _) = ports.next().expect("one entry a device");
            missed += approach(&mut port[0], r - k, &mut last[0], false);
        }
        // Max loses a NaN; this sum keeps it.
        if !missed.all_finite() {
            return f64::NAN;
        }
        let error = T::splat(0.5) * worst;
        if limited {
            (error + missed).largest()
        } else {
            error.largest()
        }
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
            let slope =
                (coefficients.siemens[index] * u - self.history[index]) * watched.farads_inverse;
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
        let leading = self.program.leading();
        self.guess[..leading].copy_from_slice(&self.right[..leading]);
        self.program
            .backward(0..leading, &coefficients.matrix, &mut self.guess);
        for (index, reactance) in self.reactances.iter().enumerate() {
            let [a, b, c] = reactance.at;
            let mut u = self.guess[a] - self.guess[b];
            if reactance.third != 0.0 {
                u = u.plus_product(self.guess[c], T::splat(reactance.third));
            }
            self.volts[index] = u;
            self.amps[index] = coefficients.siemens[index] * u - self.history[index];
        }
        for (watched, &fresh) in self.watched.iter_mut().zip(&self.fresh_slopes) {
            watched.slopes = [fresh, watched.slopes[0]];
        }
        self.step_before = self.last_step;
        self.last_step = coefficients.step;
        std::mem::swap(&mut self.previous, &mut self.solution);
        self.solution.copy_from_slice(&self.guess);
    }
}

/// Capacitors between anode and cathode of the pentodes, or of the triodes where there is no
/// pentode.
fn watched_branches(network: &Network) -> Vec<usize> {
    let devices = network.devices();
    let parts: Vec<_> = if devices.pentodes.is_empty() {
        devices.triodes.iter().map(|p| p.part).collect()
    } else {
        devices.pentodes.iter().map(|p| p.part).collect()
    };
    parts
        .into_iter()
        .filter_map(|part| {
            network
                .branches_of(part)
                .find(|&b| network.branches()[b].label.ends_with("anode to cathode"))
        })
        .collect()
}

/// Port voltages of all devices from node voltages: triodes (anode, grid), pentodes (anode,
/// screen, grid), rectifiers (reservoir).
#[inline(always)]
fn read_ports<T: Real>(devices: &Devices, volts: &[T], ports: &mut [[T; 3]]) {
    let at = |p: u16| volts[p as usize];
    let mut ports = ports.iter_mut();
    for (site, port) in devices.triodes.iter().zip(&mut ports) {
        let [a, g, k] = site.at.map(at);
        *port = [a - k, g - k, T::ZERO];
    }
    for (site, port) in devices.pentodes.iter().zip(&mut ports) {
        let [a, s, g, k] = site.at.map(at);
        *port = [a - k, s - k, g - k];
    }
    for (site, port) in devices.rectifiers.iter().zip(&mut ports) {
        let [r, k] = site.at.map(at);
        *port = [r - k, T::ZERO, T::ZERO];
    }
}

/// Moves `port` to `want`; where `limited`, by at most 1.6 times the last step onwards or half
/// of it back, so that an iterate that swings about a bend is halved in. `last` becomes the step taken.
#[inline(always)]
fn approach<T: Real>(port: &mut T, want: T, last: &mut T, limited: bool) -> T {
    let step = want - *port;
    let taken = if limited {
        let size = last.abs();
        let bound = (step * *last)
            .if_positive(T::splat(1.6) * size, T::splat(0.5) * size)
            .max(T::splat(LEAST_BOUND));
        step.min(bound).max(-bound)
    } else {
        step
    };
    *last = taken;
    *port += taken;
    (step - taken).abs()
}
