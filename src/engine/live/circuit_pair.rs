//! Two circuits of one amp, as found and proposed, each left and right, that always run.
//!
//! Made off the audio thread (see [`CircuitPair::new`]), then given to it whole. All that happens
//! there afterwards works on what is already allocated.

use super::adjustable::AdjustableKind;
use super::circuit_state::CircuitState;
pub use super::format::Format;
use super::hold_back::HoldBack;
use super::lanes::{AS_FOUND, LANES, PIECE, PROPOSED};
use super::parameter_map::ParameterMap;
use super::radiation::Radiator;
use crate::network::Network;
use crate::realtime::dispatch::Instructions;
use crate::realtime::{Counts, Processor};
use crate::solve::OperatingPointSolver;
use crate::solve::solved::NoOperatingPoint;
use std::sync::Arc;

/// Parameters that a circuit pair can follow: five for each of
/// the most parts that a file may have.
const MOST_PARAMETERS: usize = 5 * crate::circuit::MOST_PARTS;

/// With more parts than this on their way, they move on every so many steps only.
const MANY: usize = 3;
const MANY_STEPS: u32 = 4;

/// Samples between two looks at whether the equations are solved; as many steps without a solution
/// mean that they are not.
const LOOK: u64 = 64;
/// Iterations that a new beginning may take a side, 0.8 µs each.
const RECOVERY_ITERATIONS: usize = 300;

/// See the module.
#[derive(Debug)]
pub struct CircuitPair {
    map: Arc<ParameterMap>,
    network: Arc<Network>,
    processor: Processor<LANES>,
    sides: [CircuitState; 2],
    solver: OperatingPointSolver,
    format: Format,
    /// Samples since it was settled, so that steps fall on a grid of their own and not on the
    /// host's blocks.
    clock: u64,
    next_step: u64,
    /// Steps without a solution when last looked.
    unsolved: u64,
    /// Samples between two steps of a gliding part.
    stride: u64,
    hold: HoldBack,
    radiator: Radiator,
    /// Numbers aimed at, by circuit and adjustable.
    targets: [Vec<f64>; 2],
    /// Positions of the host's parameters when last looked at.
    positions: Vec<f32>,
    generation: Option<u64>,
}

impl CircuitPair {
    /// Builds a circuit pair with the amp's as-found values in both circuits, at its operating point.
    ///
    /// # Errors
    /// [`NoOperatingPoint`] when the amp has no operating point with its as-found values.
    pub fn new(map: Arc<ParameterMap>, format: Format) -> Result<Self, NoOperatingPoint> {
        let amp = map.amp();
        let solved = amp.solved_as_found()?;
        let circuit = &solved.as_found.circuit;
        let point = solved.as_found.point.solution.as_slice();
        let values = &solved.as_found.values;
        let settings = format.settings();
        let processor = Processor::new(
            &solved.network,
            [(values, point); LANES],
            settings,
            Instructions::detect(),
        );
        let side = || CircuitState::new(amp, &solved.network, circuit, values, point);
        let held_back = Format::latency(format.rate) - settings.latency();
        let mut pair = CircuitPair {
            sides: [side(), side()],
            solver: OperatingPointSolver::new(&solved.network),
            hold: HoldBack::new(held_back),
            radiator: Radiator::new(amp, circuit, format.rate, held_back),
            stride: (format.rate / 48_000.0).round().max(1.0) as u64,
            clock: 0,
            next_step: 0,
            unsolved: 0,
            targets: [amp.all_as_found(), amp.all_as_found()],
            positions: Vec::with_capacity(MOST_PARAMETERS),
            generation: None,
            processor,
            format,
            network: solved.network,
            map,
        };
        pair.radiator.settle(&pair.sides);
        Ok(pair)
    }

    /// The parameter map that it plays.
    pub fn parameter_map(&self) -> &Arc<ParameterMap> {
        &self.map
    }

    /// Its rate and oversampling.
    pub fn format(&self) -> Format {
        self.format
    }

    /// What the work took so far.
    pub fn counts(&self) -> Counts {
        self.processor.counts()
    }

    /// Follows the host's parameters, given by their positions, and what else changed in the
    /// parameter map. Whether anything did.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn follow(&mut self, positions: &[f32], milliseconds: f64) -> bool {
        let map = self.map.clone();
        let generation = map.generation();
        let all = self.generation != Some(generation) || self.positions.len() != positions.len();
        if all {
            self.generation = Some(generation);
            self.positions.clear();
            self.positions
                .resize(positions.len().min(MOST_PARAMETERS), f32::NAN);
        }
        let mut changed = false;
        for (parameter, &place) in positions.iter().enumerate().take(self.positions.len()) {
            if !all && self.positions[parameter].to_bits() == place.to_bits() {
                continue;
            }
            self.positions[parameter] = place;
            for (adjustable, value) in map.numbers_at(parameter, place).into_iter().flatten() {
                changed |= self.propose(adjustable, value, milliseconds);
            }
        }
        if all {
            for &adjustable in map.unbound() {
                changed |= self.propose(adjustable, map.loose(adjustable), milliseconds);
            }
            for (adjustable, what) in map.amp().adjustables().iter().enumerate() {
                if what.kind != AdjustableKind::Turn {
                    changed |= self.aim(
                        AS_FOUND,
                        adjustable,
                        map.amp().as_found(adjustable),
                        milliseconds,
                    );
                }
            }
        }
        changed
    }

    /// A proposed number; the player's knobs turn both amps.
    fn propose(&mut self, adjustable: usize, value: f64, milliseconds: f64) -> bool {
        let both = self.map.amp().adjustables()[adjustable].kind == AdjustableKind::Turn;
        let found = both && self.aim(AS_FOUND, adjustable, value, milliseconds);
        self.aim(PROPOSED, adjustable, value, milliseconds) || found
    }

    /// Sends an adjustable of one side to a number within `milliseconds`. Whether that is another
    /// one than it was sent to before.
    ///
    /// # Real-time
    /// Allocates nothing.
    fn aim(&mut self, side: usize, adjustable: usize, value: f64, milliseconds: f64) -> bool {
        if self.targets[side][adjustable] == value {
            return false;
        }
        self.targets[side][adjustable] = value;
        let steps = (milliseconds * 1e-3 * self.format.rate / self.stride as f64).round();
        let kind = &self.map.amp().adjustables()[adjustable].kind;
        self.sides[side].aim(adjustable, kind, value, steps.max(0.0) as u32);
        true
    }

    /// To the operating point with the values aimed at, which are taken on at once. A circuit
    /// without an operating point there starts from its last one.
    ///
    /// # Real-time
    /// Allocates nothing; takes as long as some tens of plain factorisations.
    pub fn settle(&mut self) {
        for side in &mut self.sides {
            side.arrive();
            if let Ok(point) = self.solver.solve(&self.network, &side.values) {
                side.point.copy_from_slice(point);
            }
        }
        for side in 0..2 {
            self.write_all(side);
        }
        self.radiator.settle(&self.sides);
        self.start_at_operating_point();
        self.unsolved = self.processor.counts().unsolved;
        self.clock = 0;
        self.next_step = 0;
        self.hold.clear();
    }

    /// Looks whether the equations have been without a solution for a while, or a motion that has
    /// ended could not be followed at the operating point; values far from any amp can bring about
    /// both. If so, begins again at the operating point: charges gone astray would take seconds to
    /// drain.
    fn look(&mut self) {
        let unsolved = self.processor.counts().unsolved;
        let since = unsolved - std::mem::replace(&mut self.unsolved, unsolved);
        let astray = self.sides.iter().all(CircuitState::calm)
            && self.sides.iter().any(|side| u64::from(side.astray) > LOOK);
        if since < LOOK && !astray {
            return;
        }
        for side in &mut self.sides {
            side.astray = 0;
            if let Ok(point) =
                self.solver
                    .solve_within(&self.network, &side.values, RECOVERY_ITERATIONS)
            {
                side.point.copy_from_slice(point);
            }
        }
        self.start_at_operating_point();
    }

    /// Puts the circuits at their operating points.
    fn start_at_operating_point(&mut self) {
        let [found, proposed] = &self.sides;
        let (found, proposed) = (found.point.as_slice(), proposed.point.as_slice());
        self.processor
            .reset(&self.network, [found, found, proposed, proposed]);
        let [positive, negative] = self.network.output();
        for side in &mut self.sides {
            side.idle_volts = side.point[positive] - side.point[negative];
        }
    }

    fn write_all(&mut self, side: usize) {
        let state = &self.sides[side];
        for (branch, &value) in state.values.branches.iter().enumerate() {
            for lane in [2 * side, 2 * side + 1] {
                self.processor.set_branch(lane, branch, value);
            }
        }
        for lane in [2 * side, 2 * side + 1] {
            self.processor.set_devices(lane, &state.values.devices);
        }
    }

    /// Processes up to [`PIECE`] samples: volts at the jack, left and right, into volts at the
    /// output, one line a lane, without the direct voltage there, and into what the loudspeakers
    /// radiate of them.
    ///
    /// # Real-time
    /// Allocates nothing; the result does not depend on how a signal is cut into pieces.
    pub fn process(
        &mut self,
        input: [&[f64]; 2],
        output: &mut [[f64; PIECE]; LANES],
        radiated: &mut [[f64; PIECE]; LANES],
    ) {
        let count = input[0].len();
        let mut start = 0;
        while start < count {
            let calm = self.sides.iter().all(CircuitState::calm);
            if !calm && self.clock >= self.next_step && self.clock.is_multiple_of(self.stride) {
                self.step();
            }
            let until_look = (LOOK - self.clock % LOOK) as usize;
            let length = match calm {
                true => count - start,
                false => (self.until_step() as usize).min(count - start),
            }
            .min(until_look);
            let end = start + length;
            let inputs: [&[f64]; LANES] = std::array::from_fn(|lane| &input[lane % 2][start..end]);
            let mut outputs = output.each_mut().map(|line| &mut line[start..end]);
            self.processor.process(&inputs, &mut outputs);
            for (side, state) in self.sides.iter_mut().enumerate() {
                let [left, right] = &mut output[2 * side..2 * side + 2] else {
                    unreachable!("two lanes a side")
                };
                for (left, right) in left[start..end].iter_mut().zip(&mut right[start..end]) {
                    let gain = state.mute.gain();
                    *left = (*left - state.idle_volts) * gain;
                    *right = (*right - state.idle_volts) * gain;
                }
            }
            self.radiator.process(start..end, output, radiated);
            self.clock += length as u64;
            if self.clock.is_multiple_of(LOOK) {
                self.look();
            }
            start = end;
        }
        self.hold.process_all(output, count);
        self.radiator.hold_back(radiated, count);
    }

    /// Samples until the next step.
    fn until_step(&self) -> u64 {
        let due = self.next_step.max(self.clock + 1);
        due.next_multiple_of(self.stride) - self.clock
    }

    /// Moves what glides, and swaps types whose side is silent by now. Where many parts move at
    /// once they move less often, so that the work stays within its time.
    fn step(&mut self) {
        let most = self.sides.iter().map(CircuitState::gliding).max();
        let steps = if most > Some(MANY) { MANY_STEPS } else { 1 };
        let stride = self.stride * u64::from(steps);
        self.next_step = self.clock + stride;
        let (network, solver) = (&self.network, &mut self.solver);
        for (side, state) in self.sides.iter_mut().enumerate() {
            let lanes = [2 * side, 2 * side + 1];
            let processor = &mut self.processor;
            let moved = state.step(steps, network, solver, |branch, value| {
                for lane in lanes {
                    processor.set_branch(lane, branch, value);
                }
            });
            if let Some(difference) = moved {
                for lane in lanes {
                    self.processor.shift(lane, difference);
                }
            }
            let difference = state.swap_types(stride, self.format.rate, network, solver);
            let Some(difference) = difference else {
                continue;
            };
            self.radiator.swapped(side, self.clock);
            for lane in lanes {
                self.processor.shift(lane, difference);
            }
            for lane in lanes {
                self.processor.set_devices(lane, &state.values.devices);
                for branch in state.typed_branches() {
                    let value = state.values.branches[branch];
                    self.processor.set_branch(lane, branch, value);
                }
            }
        }
        self.radiator.follow(&self.sides, self.clock);
    }
}

#[cfg(test)]
#[path = "circuit_pair_tests.rs"]
mod tests;
