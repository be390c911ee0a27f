//! Which slot of the class for one's own file moves which part. A file that is loaded gets the parts
//! that matter most into its slots; a part that has a slot keeps it, in a project and when its file
//! is read again, because a host's automation knows slots alone.

use crate::analysis::response::{Path, axis};
use crate::analysis::sensitivity::of_parts;
use crate::live::parameter_map::{OWN_PARTS, ParameterMap};
use crate::live::{Adjustable, AdjustableKind, LiveAmp};

/// Slots for an amp: parts stay where `before` has them, the others follow in the slots that are
/// free, those first that matter most.
pub fn slots(amp: &LiveAmp, before: &[Option<String>]) -> Vec<Option<String>> {
    let there = |id: &Option<String>| id.clone().filter(|id| amp.find(id).is_some());
    let mut slots: Vec<Option<String>> = before.iter().map(there).collect();
    slots.resize(slots.len().max(OWN_PARTS), None);
    let mut ranked = by_effect(amp);
    ranked.retain(|id| !slots.contains(&Some(id.clone())));
    let mut free = slots[..OWN_PARTS].iter_mut().filter(|slot| slot.is_none());
    for id in ranked {
        let Some(slot) = free.next() else { break };
        *slot = Some(id);
    }
    slots
}

/// Ids of what slots for parts may move. Valves, rectifiers and loudspeakers come first, since
/// another type, or none, changes all; then the values, by how much the level of what is heard moves
/// when a value doubles, as a root mean square over frequency. It is the sound at rest that counts: a
/// reservoir, which moves only what sags, comes late.
fn by_effect(amp: &LiveAmp) -> Vec<String> {
    let moved: Vec<&Adjustable> = amp
        .adjustables()
        .iter()
        .filter(|one| has(amp, one))
        .collect();
    let parts: Vec<_> = moved.iter().map(|one| one.parts[0]).collect();
    let path = Path {
        from: None,
        to: None,
    };
    let slopes = match amp.solved_as_found() {
        Ok(solved) => of_parts(&solved.network, &solved.as_found, path, &axis(), &parts),
        // It was solved when it was loaded; without slopes the order of the file stays.
        Err(_) => vec![Vec::new(); parts.len()],
    };
    let effect = |slopes: &Vec<f64>| {
        let known = slopes.iter().filter(|slope| slope.is_finite());
        known.map(|slope| slope * slope).sum::<f64>()
    };
    let has_value = |one: &Adjustable| matches!(one.kind, AdjustableKind::Value { .. });
    let mut ranked: Vec<_> = moved.iter().zip(slopes.iter().map(effect)).collect();
    ranked.sort_by(|(a, x), (b, y)| has_value(a).cmp(&has_value(b)).then(y.total_cmp(x)));
    ranked.into_iter().map(|(one, _)| one.id.clone()).collect()
}

/// Whether a slot for parts may move it: "fitted" goes with the value, where there is one.
fn has(amp: &LiveAmp, adjustable: &Adjustable) -> bool {
    let other = |other: &Adjustable| {
        other.designator == adjustable.designator
            && !other.is_control()
            && other.kind != AdjustableKind::Fitted
    };
    match adjustable.kind {
        AdjustableKind::Fitted => !amp.adjustables().iter().any(other),
        _ => !adjustable.is_control(),
    }
}

/// What no slot moves, in a sentence; nothing where everything has one.
pub fn without_slot(map: &ParameterMap) -> Option<String> {
    let adjustables = map.amp().adjustables();
    let mut names: Vec<&str> = map
        .unbound()
        .iter()
        .map(|&index| adjustables[index].designator.as_str())
        .collect();
    names.dedup();
    let there = map.slots().iter().flatten().count();
    (!names.is_empty()).then(|| {
        format!(
            "A host can automate {there} parts and controls of this amp, those that matter most. \
             These can be changed in this window only: {}.",
            names.join(", ")
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::built_in_circuit;
    use crate::device::Catalogue;
    use std::sync::Arc;

    /// An amp with so many more parts, which do next to nothing: across the jack.
    fn amp(more: usize) -> LiveAmp {
        let text = built_in_circuit("bradawl").unwrap().text;
        let (head, tail) = text.split_once("\nR101 = ").unwrap();
        let extra: String = (0..more)
            .map(|n| {
                format!(
                    "\nR{} = {{ resistor = \"10M\", between = [\"in\", \"gnd\"] }}",
                    900 + n
                )
            })
            .collect();
        let text = format!("{head}{extra}\nR101 = {tail}");
        LiveAmp::read(text.as_bytes(), None, Arc::new(Catalogue::built_in())).unwrap()
    }

    #[test]
    fn what_matters_most_has_a_slot_and_what_has_none_is_named() {
        let large = amp(40);
        let ids = slots(&large, &[]);
        let map = ParameterMap::for_slots(large, &ids);
        let place = |id: &str| {
            map.slots()
                .iter()
                .position(|one| one.as_deref() == Some(id))
        };
        for id in ["V1", "V3 fitted", "R103", "C102", "R501"] {
            assert!(place(id).is_some_and(|at| at < OWN_PARTS), "{id}");
        }
        assert!(place("R103") < place("R900") || place("R900").is_none());
        let note = without_slot(&map).unwrap();
        let unbound: Vec<&str> = map
            .unbound()
            .iter()
            .map(|&index| map.amp().adjustables()[index].designator.as_str())
            .collect();
        let mut parts = unbound.clone();
        parts.dedup();
        let (extra, other): (Vec<&str>, Vec<&str>) =
            parts.iter().partition(|name| name.starts_with("R9"));
        // Reservoirs move nothing of a quiet note.
        assert!(extra.len() >= 15, "{parts:?}");
        assert!(
            other.iter().all(|name| name.starts_with("C50")),
            "{parts:?}"
        );
        assert!(note.ends_with(&format!("{}.", parts.join(", "))), "{note}");
        let whole = amp(0);
        let ids = slots(&whole, &[]);
        assert_eq!(without_slot(&ParameterMap::for_slots(whole, &ids)), None);
    }

    #[test]
    fn parts_keep_their_slots_when_a_file_is_read_again() {
        let before = amp(5);
        let ids = slots(&before, &[]);
        let before = ParameterMap::for_slots(before, &ids).slots();
        let after = amp(2);
        let ids = slots(&after, &before);
        let after = ParameterMap::for_slots(after, &ids).slots();
        for (slot, id) in before.iter().enumerate() {
            let gone = ["R902", "R903", "R904"].contains(&id.as_deref().unwrap_or(""));
            if !gone {
                assert_eq!(after[slot], *id, "slot {slot}");
            }
        }
        let count = |slots: &[Option<String>]| slots.iter().flatten().count();
        assert_eq!(count(&after), count(&before) - 3);
    }

    #[test]
    fn a_default_means_what_the_file_says() {
        let amp = amp(0);
        let ids = slots(&amp, &[]);
        let map = ParameterMap::for_slots(amp, &ids);
        for parameter in 0..map.slots().len() {
            let Some(binding) = map.binding(parameter) else {
                continue;
            };
            // Whatever was there before.
            map.remember(parameter, f64::INFINITY);
            for place in [map.default_position(parameter), 0.51020306] {
                let (value, fitted) = map.value_at(parameter, place).unwrap();
                let filed = |index: usize| map.amp().adjustables()[index].filed;
                assert_eq!(value, filed(binding.adjustable), "{parameter}");
                assert_eq!(fitted, binding.fitted.map(|index| filed(index) > 0.5));
            }
        }
    }
}
