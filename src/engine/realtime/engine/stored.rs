//! What the capacitors and coils of one lane hold, to be read and to be moved: an analysis that
//! knows where a slow circuit is bound for takes it there at once.

use super::Engine;
use crate::numeric::real::Real;

/// What carries a current that is stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Storage {
    /// A coil, by its branch.
    Coil(usize),
    /// All capacitors on one node, whose currents go together.
    Capacitors,
}

impl<T: Real> Engine<T> {
    /// What stores, in the order of [`Engine::stored_amps`].
    pub fn storages(&self) -> impl Iterator<Item = Storage> + '_ {
        let coils = self.coils.iter().map(|coil| Storage::Coil(coil.branch));
        let nodes = std::iter::repeat_n(Storage::Capacitors, self.capacitors.nodes());
        coils.chain(nodes)
    }

    /// Current through a storage now, A: through a transformer's inductance with its core, out of a
    /// node into its capacitors.
    pub fn stored_amps(&self, place: usize, lane: usize) -> f64 {
        match place.checked_sub(self.coils.len()) {
            None => self.carried(place, lane),
            Some(node) => self.capacitors.node_amps(node, lane),
        }
    }

    /// Moves one lane by `volts` (by position, ground last) and the currents of its storages by
    /// `amps` (in their order); the sound on top of both stays.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn displace(&mut self, lane: usize, volts: &[f64], amps: &[f64]) {
        let add = |slot: &mut T, amount: f64| slot.set_lane(lane, slot.lane(lane) + amount);
        for (at, &volts) in volts.iter().enumerate() {
            add(&mut self.solution[at], volts);
            add(&mut self.previous[at], volts);
            add(&mut self.earlier[at], volts);
        }
        self.capacitors.charge(&self.solution);
        let (coils, nodes) = amps.split_at(self.coils.len());
        for (place, &amps) in coils.iter().enumerate() {
            let coil = &self.coils[place];
            let [a, b, c] = coil.at;
            add(
                &mut self.memory[place].volts,
                volts[a] - volts[b] + coil.third * volts[c],
            );
            self.carry(place, lane, amps);
        }
        for (node, &amps) in nodes.iter().enumerate() {
            self.capacitors.add_amps(node, lane, amps);
        }
    }
}
