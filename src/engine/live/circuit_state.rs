//! One circuit of a pair: its numbers, and how its adjustables reach them.

use super::adjustable::AdjustableKind;
use super::amp::LiveAmp;
use super::mute::Mute;
use super::smoother::PartSmoother;
use super::typed_parts::{Typed, all_in, copy_device, set_present, typed};
use crate::circuit::{Circuit, PartId};
use crate::network::assemble::branch_volts;
use crate::network::{BranchValue, Network, Values};
use crate::solve::OperatingPointSolver;
use std::ops::Range;

/// How an adjustable reaches the numbers.
#[derive(Clone, Debug)]
enum Reach {
    /// Indices among the moving parts.
    PartSmoother(Vec<usize>),
    /// Index among the typed positions.
    Typed(usize),
    /// Fitted or not, of the device positions of valves.
    Valve(Vec<PartId>),
}

/// See the module.
#[derive(Debug)]
pub struct CircuitState {
    /// Values as they are now.
    pub values: Values,
    /// The last operating point, V by position, ground last.
    pub point: Vec<f64>,
    /// Direct voltage at the output, V.
    pub idle_volts: f64,
    /// Parts that can glide.
    pub moving: Vec<PartSmoother>,
    /// Silence around a change of type.
    pub mute: Mute,
    typed: Vec<Typed>,
    /// Values with every valve of the file in its place.
    filed: Values,
    /// Device positions by kind: triodes, pentodes, rectifiers.
    device_parts: [Vec<PartId>; 3],
    valve_branches: Vec<(PartId, Range<usize>)>,
    valve_fitted: Vec<(PartId, bool, bool)>,
    reach: Vec<Reach>,
    any_moves: bool,
    /// The last move of the operating point, V by position.
    shift: Vec<f64>,
    /// Steps until the operating point is looked for again.
    pause: u32,
    /// Steps that the operating point was not followed on, since it was settled last.
    pub astray: u32,
}

/// Iterations that a step may spend on the operating point, 0.8 µs each: a gliding part takes
/// four. Two sides then stay within 13 of the 21 µs that a sample lasts at 48 kHz.
const NEAR_ITERATIONS: usize = 8;
/// Iterations on the last step of a glide, and after a valve was swapped.
const LAST_ITERATIONS: usize = 32;
const SWAP_ITERATIONS: usize = 64;
/// Steps astray that a swap without an operating point counts for.
const ASTRAY_SWAP: u32 = 1000;
/// Steps to wait after they did not suffice.
const PAUSE_STEPS: u32 = 16;

/// Moves `from` to `to`; `by` is how far.
fn move_to(to: &[f64], from: &mut [f64], by: &mut [f64]) {
    for ((by, &to), from) in by.iter_mut().zip(to).zip(from) {
        *by = to - *from;
        *from = to;
    }
}

/// A part with less than this across it at the operating point moves no operating point, V.
const LEAST_VOLTS: f64 = 1e-6;

impl CircuitState {
    /// A side with the values of `circuit`.
    pub fn new(
        amp: &LiveAmp,
        network: &Network,
        circuit: &Circuit,
        values: &Values,
        point: &[f64],
    ) -> Self {
        let mut moving = Vec::new();
        let mut moving_of = vec![None; circuit.parts().len()];
        for (index, part) in circuit.parts().iter().enumerate() {
            let first = network.branches_of(PartId(index as u16)).start;
            if let Some(one) = PartSmoother::new(part, first) {
                moving_of[index] = Some(moving.len());
                moving.push(one);
            }
        }
        let devices = network.devices();
        let mut side = CircuitState {
            values: values.clone(),
            point: point.to_vec(),
            idle_volts: 0.0,
            moving,
            mute: Mute::default(),
            typed: Vec::new(),
            filed: network.values(&all_in(amp, circuit)),
            device_parts: [
                devices.triodes.iter().map(|p| p.part).collect(),
                devices.pentodes.iter().map(|p| p.part).collect(),
                devices.rectifiers.iter().map(|p| p.part).collect(),
            ],
            valve_branches: Vec::new(),
            valve_fitted: Vec::new(),
            reach: Vec::new(),
            any_moves: false,
            shift: vec![0.0; point.len()],
            pause: 0,
            astray: 0,
        };
        for (index, adjustable) in amp.adjustables().iter().enumerate() {
            let indices: Vec<usize> = adjustable
                .parts
                .iter()
                .filter_map(|id| moving_of[id.0 as usize])
                .collect();
            let reach = match &adjustable.kind {
                AdjustableKind::Choice { types } => {
                    side.typed
                        .push(typed(amp, network, index, types.len(), circuit));
                    Reach::Typed(side.typed.len() - 1)
                }
                AdjustableKind::Fitted if indices.is_empty() => {
                    for &id in &adjustable.parts {
                        let fitted = circuit.part(id).fitted;
                        side.valve_branches.push((id, network.branches_of(id)));
                        side.valve_fitted.push((id, fitted, fitted));
                    }
                    Reach::Valve(adjustable.parts.clone())
                }
                _ => Reach::PartSmoother(indices),
            };
            side.reach.push(reach);
        }
        side
    }

    /// Of a loudspeaker whether it is in the amp, and which of its types it is.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn loudspeaker(&self, part: PartId) -> (bool, usize) {
        let typed = self.typed.iter().find(|typed| typed.parts.contains(&part));
        let mut fitted = self.valve_fitted.iter().filter(|(id, ..)| *id == part);
        (
            fitted.all(|&(_, _, now)| now),
            typed.map_or(0, |typed| typed.now),
        )
    }

    /// Whether nothing moves, swaps or fades.
    pub fn calm(&self) -> bool {
        !self.any_moves && self.mute.calm()
    }

    /// Whether what moves carries direct current, so that the operating point moves too.
    fn loaded(&self, network: &Network) -> bool {
        let volts = |branch| branch_volts(network, branch, &self.point).abs();
        self.moving
            .iter()
            .filter(|moving| moving.moves() && moving.conducts())
            .any(|m| m.own_branches().any(|b| volts(b) > LEAST_VOLTS))
    }

    /// How many parts glide.
    pub fn gliding(&self) -> usize {
        self.moving.iter().filter(|moving| moving.moves()).count()
    }

    /// So many steps of everything that glides. Gives the difference that it makes to the operating
    /// point, V by position, if it makes one: what the circuit stores is to be moved by as much,
    /// so that a part that carries direct current changes without a thump.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn step(
        &mut self,
        count: u32,
        network: &Network,
        solver: &mut OperatingPointSolver,
        mut write: impl FnMut(usize, BranchValue),
    ) -> Option<&[f64]> {
        let loaded = self.loaded(network);
        self.any_moves = false;
        for moving in self.moving.iter_mut().filter(|moving| moving.moves()) {
            moving.steps(count);
            self.any_moves |= moving.moves();
            let (first, second) = moving.branches();
            for (branch, value) in moving.own_branches().zip([Some(first), second]) {
                if let Some(value) = value {
                    self.values.branches[branch] = value;
                    write(branch, value);
                }
            }
        }
        loaded.then(|| self.follow_operating_point(network, solver))
    }

    /// Solves for the operating point of the values now, and gives its difference to the last one;
    /// none where there is no solution within reach, which is looked for again a little later.
    fn follow_operating_point(
        &mut self,
        network: &Network,
        solver: &mut OperatingPointSolver,
    ) -> &[f64] {
        self.shift.fill(0.0);
        let last = !self.any_moves;
        if self.pause > 0 && !last {
            self.pause -= 1;
            self.astray += 1;
            return &self.shift;
        }
        let most = if last {
            LAST_ITERATIONS
        } else {
            NEAR_ITERATIONS
        };
        match solver.solve_near(network, &self.values, &self.point, most) {
            Ok(point) => move_to(point, &mut self.point, &mut self.shift),
            Err(_) => self.pause = PAUSE_STEPS,
        }
        &self.shift
    }

    /// The same with more patience, for a change that is not small.
    fn find_operating_point(
        &mut self,
        network: &Network,
        solver: &mut OperatingPointSolver,
    ) -> &[f64] {
        self.shift.fill(0.0);
        let near = solver.solve_near(network, &self.values, &self.point, SWAP_ITERATIONS);
        match near {
            Ok(point) => move_to(point, &mut self.point, &mut self.shift),
            Err(_) => self.astray += ASTRAY_SWAP,
        }
        &self.shift
    }

    /// Sends an adjustable to a number.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn aim(&mut self, adjustable: usize, kind: &AdjustableKind, value: f64, steps: u32) {
        match &self.reach[adjustable] {
            Reach::PartSmoother(indices) => {
                for &index in indices {
                    let moving = &mut self.moving[index];
                    match kind {
                        AdjustableKind::Value { .. } => moving.aim_value(value, steps),
                        AdjustableKind::Fitted => moving.aim_fitted(value > 0.5, steps),
                        _ => moving.aim_turn(value, steps),
                    }
                }
                self.any_moves = true;
            }
            Reach::Typed(index) => {
                let typed = &mut self.typed[*index];
                typed.wanted = (value.max(0.0) as usize).min(typed.options.len() - 1);
                if typed.wanted != typed.now {
                    self.mute.ask();
                }
            }
            Reach::Valve(parts) => {
                for (id, wanted, now) in &mut self.valve_fitted {
                    if parts.contains(id) {
                        *wanted = value > 0.5;
                        if wanted != now {
                            self.mute.ask();
                        }
                    }
                }
            }
        }
    }

    /// Takes on at once all that is aimed at.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn arrive(&mut self) {
        for moving in &mut self.moving {
            moving.arrive();
            let (first, second) = moving.branches();
            for (branch, value) in moving.own_branches().zip([Some(first), second]) {
                self.values.branches[branch] = value.unwrap_or(first);
            }
        }
        self.any_moves = false;
        self.pause = 0;
        self.astray = 0;
        self.set_types();
        self.mute = Mute::default();
    }

    /// Goes on with a change of types after `stride` samples: fades out, swaps, waits, fades in.
    /// When the types are swapped in this step, the difference of the operating points.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn swap_types(
        &mut self,
        stride: u64,
        rate: f64,
        network: &Network,
        solver: &mut OperatingPointSolver,
    ) -> Option<&[f64]> {
        if !self.mute.step(stride, rate) {
            return None;
        }
        self.set_types();
        Some(self.find_operating_point(network, solver))
    }

    /// Branches of valves, rectifiers and loudspeakers, which change with the type.
    pub fn typed_branches(&self) -> impl Iterator<Item = usize> + '_ {
        let typed = self.typed.iter().flat_map(|t| t.branches.iter().cloned());
        let valves = self.valve_branches.iter().map(|(_, range)| range.clone());
        typed.chain(valves).flatten()
    }

    fn set_types(&mut self) {
        for (_, range) in &self.valve_branches {
            self.values.branches[range.clone()]
                .copy_from_slice(&self.filed.branches[range.clone()]);
        }
        for typed in &mut self.typed {
            typed.now = typed.wanted;
            let option = &typed.options[typed.now];
            for range in &typed.branches {
                self.values.branches[range.clone()]
                    .copy_from_slice(&option.branches[range.clone()]);
            }
            for &part in &typed.parts {
                copy_device(
                    &self.device_parts,
                    part,
                    &option.devices,
                    &mut self.values.devices,
                );
            }
        }
        for (index, (part, wanted, now)) in self.valve_fitted.iter_mut().enumerate() {
            *now = *wanted;
            let present = f64::from(u8::from(*now));
            set_present(&self.device_parts, *part, present, &mut self.values.devices);
            if !*now {
                let (_, range) = &self.valve_branches[index];
                for value in &mut self.values.branches[range.clone()] {
                    *value = value.absent();
                }
            }
        }
    }
}
