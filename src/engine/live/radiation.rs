//! What the loudspeakers of both sides radiate, as types and what is fitted change.

use super::adjustable::AdjustableKind;
use super::amp::LiveAmp;
use super::circuit_state::CircuitState;
use super::hold_back::HoldBack;
use super::lanes::{LANES, Lines};
use crate::circuit::{Circuit, PartId, PartKind, PartType};
use crate::device::Loudspeaker;
use crate::realtime::cabinet::{Sections, Voicing};
use crate::units::ratio_from_decibels;
use std::ops::Range;

/// A loudspeaker that can be the one that is heard.
#[derive(Clone, Debug)]
struct Candidate {
    part: PartId,
    /// What it radiates, by type.
    voicings: Vec<Voicing>,
}

/// The loudspeakers across the output, the one that the file names first.
#[derive(Clone, Debug)]
struct Radiation {
    candidates: Vec<Candidate>,
}

impl Radiation {
    /// Those of a circuit, for sound at a rate in hertz; none where a node is heard.
    fn new(amp: &LiveAmp, circuit: &Circuit, rate: f64) -> Self {
        let named = circuit.output().loudspeaker;
        let reference = named.and_then(|id| match &circuit.part(id).kind {
            PartKind::Loudspeaker { driver, .. } => driver.sensitivity_db,
            _ => None,
        });
        // As loud beside the one that the file names as their sensitivities have it.
        let voicing = |driver: &Loudspeaker| {
            let louder = driver.sensitivity_db.zip(reference);
            let gain = louder.map_or(1.0, |(own, of_file)| ratio_from_decibels(own - of_file));
            Voicing::new(driver.acoustic.louder(gain), rate)
        };
        let across = |id: PartId| match &circuit.part(id).kind {
            PartKind::Loudspeaker { driver, between } => Some((driver, *between)),
            _ => None,
        };
        let heard = named.and_then(across).map(|(_, between)| between);
        let all = (0..circuit.parts().len()).map(|index| PartId(index as u16));
        let others = all.filter(|&id| Some(id) != named);
        let candidates = named.into_iter().chain(others).filter_map(|part| {
            let (driver, between) = across(part)?;
            let types = amp
                .adjustables()
                .iter()
                .find_map(|adjustable| match &adjustable.kind {
                    AdjustableKind::Choice { types } if adjustable.parts.contains(&part) => {
                        Some(types)
                    }
                    _ => None,
                });
            let of = |one: &PartType| match one {
                PartType::Loudspeaker(driver) => Some(voicing(driver)),
                _ => None,
            };
            let voicings = match types {
                Some(types) => types.iter().filter_map(of).collect(),
                None => vec![voicing(driver)],
            };
            (Some(between) == heard).then_some(Candidate { part, voicings })
        });
        Radiation {
            candidates: candidates.collect(),
        }
    }

    /// What is heard: of the first loudspeaker that is fitted, in its type. `state` tells of a
    /// part whether it is in the amp and which of its types it is.
    ///
    /// # Real-time
    /// Allocates nothing.
    fn voicing(&self, state: impl Fn(PartId) -> (bool, usize)) -> &Voicing {
        let heard = self
            .candidates
            .iter()
            .find_map(|Candidate { part, voicings }| {
                let (fitted, kind) = state(*part);
                fitted.then(|| voicings.get(kind)).flatten()
            });
        heard.unwrap_or(&Voicing::STRAIGHT)
    }
}

/// Time that a loudspeaker rings on after its swap, s: a little less than the silence lasts.
const RING_SECONDS: f64 = 0.025;

/// The loudspeakers of a circuit pair.
#[derive(Debug)]
pub struct Radiator {
    radiation: Radiation,
    sections: Sections<LANES>,
    hold: HoldBack,
    /// Samples that a loudspeaker rings on, and until when each side's does, by the circuit pair's
    /// clock.
    ring: u64,
    due: [Option<u64>; 2],
}

impl Radiator {
    /// Those of a circuit, for sound at a rate in hertz that is held back by so many samples.
    pub fn new(amp: &LiveAmp, circuit: &Circuit, rate: f64, held_back: usize) -> Self {
        Radiator {
            radiation: Radiation::new(amp, circuit, rate),
            sections: Sections::new([&Voicing::STRAIGHT; LANES]),
            hold: HoldBack::new(held_back),
            ring: (RING_SECONDS * rate) as u64,
            due: [None; 2],
        }
    }

    /// As at first, with the loudspeakers that the circuits have.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn settle(&mut self, sides: &[CircuitState; 2]) {
        self.due = [None; 2];
        (0..2).for_each(|side| self.set(side, &sides[side]));
        self.sections.reset();
        self.hold.clear();
    }

    fn set(&mut self, side: usize, state: &CircuitState) {
        let voicing = self.radiation.voicing(|part| state.loudspeaker(part));
        for lane in [2 * side, 2 * side + 1] {
            self.sections.set(lane, voicing);
        }
    }

    /// Types of a side were swapped in its silence: what still rings does so through the old
    /// loudspeaker for most of it.
    pub fn swapped(&mut self, side: usize, clock: u64) {
        self.due[side] = Some(clock + self.ring);
    }

    /// Takes on what is due.
    pub fn follow(&mut self, sides: &[CircuitState; 2], clock: u64) {
        for (side, state) in sides.iter().enumerate() {
            if self.due[side].is_some_and(|due| due <= clock) {
                self.due[side] = None;
                self.set(side, state);
            }
        }
    }

    /// Radiates a range of the samples of volts.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn process(&mut self, range: Range<usize>, volts: &Lines, radiated: &mut Lines) {
        for (radiated, volts) in radiated.iter_mut().zip(volts) {
            radiated[range.clone()].copy_from_slice(&volts[range.clone()]);
        }
        let mut lines = radiated.each_mut().map(|line| &mut line[range.clone()]);
        self.sections.process(&mut lines);
    }

    /// Holds back what was radiated.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn hold_back(&mut self, radiated: &mut Lines, count: usize) {
        self.hold.process_all(radiated, count);
    }
}
