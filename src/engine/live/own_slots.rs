//! The parameters of the class for one's own file, its slots: which adjustable of a loaded amp each
//! moves.

use super::adjustable::{Adjustable, AdjustableKind};

/// Slots for parts; those for controls follow.
pub const OWN_PARTS: usize = 64;
/// Slots for controls.
pub const OWN_CONTROLS: usize = 12;

/// What a host parameter moves.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Binding {
    /// The adjustable.
    pub adjustable: usize,
    /// The adjustable that says whether the same part is fitted, when one parameter moves both: its
    /// lowest positions then mean "out".
    pub fitted: Option<usize>,
}

/// What each slot moves: the adjustables with these ids where they stand, and whatever else the amp
/// has in the slots that are left, in the order of its file.
pub fn bindings(adjustables: &[Adjustable], ids: &[Option<String>]) -> Vec<Option<Binding>> {
    let (parts, controls) = candidates(adjustables);
    let (part_ids, control_ids) = ids.split_at(ids.len().min(OWN_PARTS));
    let mut all = placed(adjustables, parts, part_ids, OWN_PARTS);
    all.extend(placed(adjustables, controls, control_ids, OWN_CONTROLS));
    all
}

/// Bindings in so many slots.
fn placed(
    adjustables: &[Adjustable],
    mut bindings: Vec<Binding>,
    ids: &[Option<String>],
    count: usize,
) -> Vec<Option<Binding>> {
    let mut slots = vec![None; count];
    for (slot, id) in slots.iter_mut().zip(ids) {
        let named = |one: &Binding| Some(&adjustables[one.adjustable].id) == id.as_ref();
        if let Some(at) = bindings.iter().position(named) {
            *slot = Some(bindings.remove(at));
        }
    }
    let free = slots.iter_mut().filter(|slot| slot.is_none());
    for (slot, binding) in free.zip(bindings) {
        *slot = Some(binding);
    }
    slots
}

/// What a slot may move: parts and controls. A part with a value and "fitted" has one slot.
fn candidates(adjustables: &[Adjustable]) -> (Vec<Binding>, Vec<Binding>) {
    let (mut parts, mut controls) = (Vec::new(), Vec::new());
    for (index, adjustable) in adjustables.iter().enumerate() {
        let same = |other: &&Adjustable| other.designator == adjustable.designator;
        let fitted = adjustables
            .iter()
            .position(|other| same(&other) && other.kind == AdjustableKind::Fitted);
        let alone = || {
            let parts = adjustables.iter().filter(|other| !other.is_control());
            parts.filter(same).count() == 1
        };
        let binding = |fitted| Binding {
            adjustable: index,
            fitted,
        };
        match adjustable.kind {
            AdjustableKind::Turn | AdjustableKind::Switch => controls.push(binding(None)),
            AdjustableKind::Fitted if !alone() => {}
            AdjustableKind::Fitted => parts.push(binding(None)),
            _ => parts.push(binding(fitted)),
        }
    }
    (parts, controls)
}
