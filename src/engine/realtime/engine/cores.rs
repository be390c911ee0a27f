//! Transformers' cores in a step: their current is a line in the volts of the whole primary.
//!
//! Flux is the integral of those volts, so a step moves it by a hundredth of the rated flux at
//! most, and the prediction misses it by far less: the tangent at the prediction serves all
//! iterations of the step. The pivots of the primaries follow those that never change and are
//! eliminated once a step.

use super::Engine;
use crate::network::{BranchValue, Network};
use crate::numeric::real::Real;
use crate::numeric::rounds::copy;

/// A step is not predicted to move the flux by more than this share of the rated one; a tone at full
/// power moves it by a hundredth at 96 kHz.
const MOST_MOVED: f64 = 0.1;

impl<T: Real> Engine<T> {
    /// Current through the inductances of one lane at rest.
    pub(super) fn settle_cores(&mut self, network: &Network, lane: usize, point: &[f64]) {
        debug_assert_eq!(self.cores.len(), network.cores().len());
        for core in &self.cores {
            let branch = &self.lanes[lane][core.place.branch];
            let law = &core.lanes[lane];
            let amps = core.place.amps_at_rest(branch, law, point[core.place.at]);
            self.memory[core.coil].amps.set_lane(lane, amps);
        }
    }

    /// Takes over the inductance of a branch that may be a core's: its flux stays.
    pub(super) fn follow_inductance(&mut self, lane: usize, branch: usize, value: &BranchValue) {
        for core in &mut self.cores {
            let before = core.henries.lane(lane);
            if core.follow(lane, branch, value) {
                let amps = &mut self.memory[core.coil].amps;
                let flux = before * amps.lane(lane);
                amps.set_lane(lane, flux / core.henries.lane(lane));
            }
        }
    }

    /// What a branch with memory carries in one lane, A: an inductance with its core.
    pub(super) fn carried(&self, place: usize, lane: usize) -> f64 {
        let amps = self.memory[place].amps.lane(lane);
        match self.cores.iter().find(|core| core.coil == place) {
            Some(core) => core.both(lane, amps),
            None => amps,
        }
    }

    /// Adds to what a branch with memory carries in one lane, A.
    pub(super) fn carry(&mut self, place: usize, lane: usize, more: f64) {
        let now = self.memory[place].amps.lane(lane);
        let amps = match self.cores.iter().find(|core| core.coil == place) {
            Some(core) if more != 0.0 => core.inductance(lane, core.both(lane, now) + more),
            _ => now + more,
        };
        self.memory[place].amps.set_lane(lane, amps);
    }

    /// The matrix from the cores' pivots on, with their tangents, and those pivots eliminated. The
    /// right-hand side has been through the pivots before.
    #[inline(always)]
    pub(super) fn stamp_cores(&mut self, level: usize, ratio: T) {
        let (constant, leading) = (self.program.constant(), self.program.leading());
        let first = self.program.first_slot(constant);
        let coefficients = &self.levels[level];
        let stepwise = constant < leading;
        if stepwise {
            copy(&mut self.base[first..], &coefficients.matrix[first..]);
        }
        for core in &mut self.cores {
            let at = core.place.at;
            let volts =
                self.solution[at].plus_product(self.solution[at] - self.previous[at], ratio);
            let inductance = coefficients.weights[core.coil].siemens;
            let history = self.history[core.coil];
            let predicted = core.henries * (inductance * volts - history);
            // Where the prediction is wild, the tangent there would be a current of its own.
            let now = core.henries * self.memory[core.coil].amps;
            let most = T::splat(MOST_MOVED) / core.law.per_flux;
            let flux = predicted.min(now + most).max(now - most);
            let current = core.law.current(flux);
            // The line through that point in the volts of the primary: i + γ·(L·(g·e − J) − φ).
            let slope = current.by_flux * core.henries;
            core.tangent = slope * inductance;
            if stepwise {
                self.base[core.place.slot] += core.tangent;
            }
            self.right[at] += slope * history + current.by_flux * flux - current.current;
        }
        self.program
            .factor_forward(constant..leading, &mut self.base, &mut self.right);
    }
}
