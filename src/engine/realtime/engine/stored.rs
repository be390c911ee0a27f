//! What the capacitors and coils of one lane hold, to be read and to be moved: an analysis that
//! knows where a slow circuit is bound for takes it there at once.

use super::Engine;
use crate::numeric::real::Real;

impl<T: Real> Engine<T> {
    /// Branches that store, capacitors and coils, in the order of [`Engine::stored_amps`].
    pub fn storing_branches(&self) -> impl Iterator<Item = usize> + '_ {
        self.reactances.iter().map(|r| r.branch)
    }

    /// Current through a storing branch now, A: through a transformer's inductance with its core.
    pub fn stored_amps(&self, place: usize, lane: usize) -> f64 {
        self.carried(place, lane)
    }

    /// Moves one lane by `volts` (by position, ground last) and the currents of its storing
    /// branches by `amps` (in their order); the sound on top of both stays.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn displace(&mut self, lane: usize, volts: &[f64], amps: &[f64]) {
        let add = |slot: &mut T, amount: f64| slot.set_lane(lane, slot.lane(lane) + amount);
        for (at, &volts) in volts.iter().enumerate() {
            add(&mut self.solution[at], volts);
            add(&mut self.previous[at], volts);
        }
        for (place, &amps) in amps.iter().enumerate() {
            let reactance = &self.reactances[place];
            let [a, b, c] = reactance.at;
            add(
                &mut self.memory[place].volts,
                volts[a] - volts[b] + reactance.third * volts[c],
            );
            self.carry(place, lane, amps);
        }
    }
}
