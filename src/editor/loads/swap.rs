//! From a way of connecting loudspeakers to the numbers of the amp, and back: which way stands
//! there now.

use crate::analysis::load::Way;
use crate::circuit::PartKind;
use crate::editor::analyses::reports::Request;
use crate::editor::editing::Editing;
use crate::editor::history::Version;
use crate::live::{AdjustableKind, LiveAmp};
use std::sync::Arc;

/// The loudspeakers' adjustables: their types, and whether they are plugged in.
fn adjustables(amp: &LiveAmp) -> Vec<usize> {
    let is_one = |part| matches!(amp.circuit().part(part).kind, PartKind::Loudspeaker { .. });
    let adjustables = amp.adjustables().iter().enumerate();
    adjustables
        .filter(|(_, adjustable)| adjustable.parts.first().is_some_and(|&part| is_one(part)))
        .map(|(index, _)| index)
        .collect()
}

/// Adjustables and numbers that connect the loudspeakers this way, from where they stood at `then`;
/// none where the circuit file has no place for it.
pub fn numbers(then: &Request, way: &Way) -> Option<Vec<(usize, f64)>> {
    let amp = &then.amp;
    let adjustables = adjustables(amp);
    let mut numbers: Vec<(usize, f64)> = adjustables
        .iter()
        .map(|&adjustable| (adjustable, then.proposed[adjustable]))
        .collect();
    let mut put = |adjustable: usize, value: f64| {
        let place = numbers.iter_mut().find(|(other, _)| *other == adjustable)?;
        place.1 = value;
        Some(())
    };
    match way {
        Way::AsItIs => {}
        Way::Instead(name) => {
            let heard = amp.circuit().output().loudspeaker?;
            let of_heard =
                |&&adjustable: &&usize| amp.adjustables()[adjustable].parts.contains(&heard);
            let index = |&adjustable: &usize| match &amp.adjustables()[adjustable].kind {
                AdjustableKind::Choice { types } => {
                    Some((adjustable, types.iter().position(|t| t.name() == name)?))
                }
                _ => None,
            };
            let (adjustable, index) = adjustables.iter().filter(of_heard).find_map(index)?;
            put(adjustable, index as f64)?;
        }
        Way::PutIn(designator, _) => {
            let socket = |&&adjustable: &&usize| {
                let adjustable = &amp.adjustables()[adjustable];
                adjustable.kind == AdjustableKind::Fitted && adjustable.designator == *designator
            };
            put(*adjustables.iter().find(socket)?, 1.0)?;
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
    let same = |adjustable: usize, value: f64| {
        now.amp.adjustables()[adjustable].same(value, now.proposed[adjustable])
    };
    let own = adjustables(&now.amp);
    let mut others = (0..now.proposed.len()).filter(|adjustable| !own.contains(adjustable));
    if !others.all(|adjustable| same(adjustable, then.proposed[adjustable])) {
        return None;
    }
    let stands = |way: &&&Way| {
        let numbers = numbers(then, way);
        numbers.is_some_and(|numbers| {
            numbers
                .iter()
                .all(|&(adjustable, value)| same(adjustable, value))
        })
    };
    ways.iter().find(stands).copied()
}

/// Proposes a way: one step of the history.
pub fn propose(then: &Request, way: &Way, editing: &mut Editing) {
    let numbers = numbers(then, way).unwrap_or_default();
    let changes: Vec<(usize, Version, f64)> = numbers
        .into_iter()
        .map(|(adjustable, value)| (adjustable, Version::Proposed, value))
        .collect();
    editing.set_many(&changes);
}
