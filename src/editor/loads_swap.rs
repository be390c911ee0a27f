//! From a way of connecting loudspeakers to the numbers of the bench, and back: which way stands
//! there now.

use super::hands::Hands;
use super::history::Side;
use super::work::Request;
use crate::analysis::load::Way;
use crate::circuit::PartKind;
use crate::live::{LiveAmp, SlotKind};
use std::sync::Arc;

/// The loudspeakers' slots: their types, and whether they are plugged in.
fn slots(amp: &LiveAmp) -> Vec<usize> {
    let is_one = |part| matches!(amp.circuit().part(part).kind, PartKind::Loudspeaker { .. });
    let slots = amp.slots().iter().enumerate();
    slots
        .filter(|(_, slot)| slot.parts.first().is_some_and(|&part| is_one(part)))
        .map(|(index, _)| index)
        .collect()
}

/// Slots and numbers that connect the loudspeakers this way, from where they stood at `then`; none
/// where the circuit file has no place for it.
pub fn numbers(then: &Request, way: &Way) -> Option<Vec<(usize, f64)>> {
    let amp = &then.amp;
    let slots = slots(amp);
    let mut numbers: Vec<(usize, f64)> = slots
        .iter()
        .map(|&slot| (slot, then.proposed[slot]))
        .collect();
    let mut put = |slot: usize, value: f64| {
        let place = numbers.iter_mut().find(|(other, _)| *other == slot)?;
        place.1 = value;
        Some(())
    };
    match way {
        Way::AsItIs => {}
        Way::Instead(name) => {
            let heard = amp.circuit().output().loudspeaker?;
            let of_heard = |&&slot: &&usize| amp.slots()[slot].parts.contains(&heard);
            let index = |&slot: &usize| match &amp.slots()[slot].kind {
                SlotKind::Choice { names } => Some((slot, names.iter().position(|n| n == name)?)),
                _ => None,
            };
            let (slot, index) = slots.iter().filter(of_heard).find_map(index)?;
            put(slot, index as f64)?;
        }
        Way::PutIn(designator, _) => {
            let socket = |&&slot: &&usize| {
                let slot = &amp.slots()[slot];
                slot.kind == SlotKind::Fitted && slot.designator == *designator
            };
            put(*slots.iter().find(socket)?, 1.0)?;
        }
        Way::Parallel(_) | Way::Series(_) | Way::Nothing => return None,
    }
    Some(numbers)
}

/// The way among `ways` that is proposed now, if nothing else has moved since `then`; none where
/// what was worked out then is of before.
pub fn stands<'a>(then: &Request, now: &Request, ways: &[&'a Way]) -> Option<&'a Way> {
    if !Arc::ptr_eq(&then.amp, &now.amp) {
        return None;
    }
    let same = |slot: usize, value: f64| now.amp.slots()[slot].same(value, now.proposed[slot]);
    let own = slots(&now.amp);
    let mut others = (0..now.proposed.len()).filter(|slot| !own.contains(slot));
    if !others.all(|slot| same(slot, then.proposed[slot])) {
        return None;
    }
    let stands = |way: &&&Way| {
        let numbers = numbers(then, way);
        numbers.is_some_and(|numbers| numbers.iter().all(|&(slot, value)| same(slot, value)))
    };
    ways.iter().find(stands).copied()
}

/// Proposes a way: one step of the history.
pub fn propose(then: &Request, way: &Way, hands: &mut Hands) {
    let numbers = numbers(then, way).unwrap_or_default();
    let changes: Vec<(usize, Side, f64)> = numbers
        .into_iter()
        .map(|(slot, value)| (slot, Side::Proposed, value))
        .collect();
    hands.set_many(&changes);
}
