//! The loudspeaker that a side is heard through, as types and what is fitted change.

use super::amp::LiveAmp;
use super::slots::SlotKind;
use crate::circuit::{Circuit, PartId, PartKind};
use crate::device::Loudspeaker;
use crate::realtime::cabinet::Voicing;

/// A loudspeaker that can be the one that is heard.
#[derive(Clone, Debug)]
struct Candidate {
    part: PartId,
    /// What it radiates, by type.
    voicings: Vec<Voicing>,
}

/// The loudspeakers across the output, the one that the file names first.
#[derive(Clone, Debug)]
pub struct Radiation {
    candidates: Vec<Candidate>,
}

impl Radiation {
    /// Those of a circuit, for sound at a rate in hertz; none where a node is heard.
    pub fn new(amp: &LiveAmp, circuit: &Circuit, rate: f64) -> Self {
        let voicing = |driver: &Loudspeaker| Voicing::new(driver.acoustic.analog(), rate);
        let across = |id: PartId| match &circuit.part(id).kind {
            PartKind::Loudspeaker { driver, between } => Some((driver, *between)),
            _ => None,
        };
        let named = circuit.output().loudspeaker;
        let heard = named.and_then(across).map(|(_, between)| between);
        let all = (0..circuit.parts().len()).map(|index| PartId(index as u16));
        let others = all.filter(|&id| Some(id) != named);
        let candidates = named.into_iter().chain(others).filter_map(|part| {
            let (driver, between) = across(part)?;
            let types = amp.slots().iter().find_map(|slot| match &slot.kind {
                SlotKind::Choice { names } if slot.parts.contains(&part) => Some(names),
                _ => None,
            });
            let of = |name: &String| amp.catalogue().loudspeaker(name).map(|d| voicing(d));
            let voicings = match types {
                Some(names) => names.iter().filter_map(of).collect(),
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
    pub fn voicing(&self, state: impl Fn(PartId) -> (bool, usize)) -> &Voicing {
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
