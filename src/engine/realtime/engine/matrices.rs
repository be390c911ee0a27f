//! The matrices of each step size, made anew when a value has changed.

use super::Engine;
use super::coils::Weights;
use crate::network::{BranchValue, Companion, LEAST_SIEMENS};
use crate::numeric::real::Real;

impl<T: Real> Engine<T> {
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
        for (index, coil) in self.coils.iter().enumerate() {
            let (mut siemens, mut from_volts, mut from_amps) = (T::ZERO, T::ZERO, T::ZERO);
            for (lane, values) in self.lanes.iter().enumerate() {
                let Companion {
                    siemens: g,
                    from_volts: v,
                    from_amps: i,
                    ..
                } = values[coil.branch].companion(level.step);
                siemens.set_lane(lane, g);
                from_volts.set_lane(lane, v);
                from_amps.set_lane(lane, i);
            }
            level.weights[index] = Weights {
                siemens,
                from_volts,
                from_amps,
            };
            for &(slot, c) in &self.stamps[coil.branch] {
                level.matrix[slot] = level.matrix[slot].plus_product(siemens, T::splat(c));
            }
        }
        self.capacitors.stamp(level.rate, &mut level.matrix);
        self.program
            .factor(0..self.program.constant(), &mut level.matrix);
    }

    #[inline(always)]
    fn refresh_resistive(&mut self) {
        self.resistive_stale = false;
        self.resistive.fill(T::ZERO);
        self.sources.fill(T::ZERO);
        for position in 0..self.program.unknowns() {
            let unknown = self.program.unknown_at(position);
            let jack = if position == self.input {
                self.input_siemens
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
        self.capacitors.take_over(&self.lanes, &self.solution);
        for watched in &mut self.watched {
            for (lane, values) in self.lanes.iter().enumerate() {
                let there = matches!(
                    values[watched.branch],
                    BranchValue::Capacitive { farads } if farads > 0.0
                );
                watched.present.set_lane(lane, f64::from(u8::from(there)));
            }
        }
    }
}
