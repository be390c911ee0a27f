//! What stands on the sheet, both numbers of every adjustable: as a proposal's file, and carried
//! over onto the same amp from a newer circuit file.

use crate::circuit::{Proposal, write_proposal};
use crate::editor::edit::Edit;
use crate::live::{AdjustableKind, LiveAmp};

/// Both numbers of every adjustable.
pub type Standing = Vec<(f64, f64)>;

/// Both numbers as they stand now.
pub fn standing(edit: &dyn Edit, amp: &LiveAmp) -> Standing {
    (0..amp.adjustables().len())
        .map(|adjustable| (amp.as_found(adjustable), edit.proposed(adjustable)))
        .collect()
}

/// What is proposed, as a file; none if nothing is.
pub fn proposal_text(amp: &LiveAmp, stood: &Standing, name: &str) -> Option<String> {
    let (from, values): (Vec<f64>, Vec<f64>) = stood.iter().copied().unzip();
    let proposal = amp.proposal(&values, &from);
    if proposal.is_empty() {
        return None;
    }
    let name = match name.trim() {
        "" => "Untitled",
        name => name,
    };
    let proposal = Proposal {
        name: name.into(),
        ..proposal
    };
    Some(write_proposal(&proposal.written(amp.circuit())))
}

/// Brings what was typed onto the same amp from a newer file. Ids of what is no longer there.
pub fn carry_over(
    edit: &dyn Edit,
    before: &LiveAmp,
    stood: &Standing,
    after: &LiveAmp,
) -> Vec<String> {
    let mut lost = Vec::new();
    for (adjustable, &(as_found, proposed)) in before.adjustables().iter().zip(stood) {
        let typed = !adjustable.same(as_found, adjustable.filed);
        let tried = if adjustable.kind == AdjustableKind::Turn {
            !adjustable.same(proposed, adjustable.filed)
        } else {
            !adjustable.same(proposed, as_found)
        };
        if !typed && !tried {
            continue;
        }
        let same_kind = |index: &usize| {
            std::mem::discriminant(&after.adjustables()[*index].kind)
                == std::mem::discriminant(&adjustable.kind)
        };
        let Some(index) = after.find(&adjustable.id).filter(same_kind) else {
            lost.push(adjustable.id.clone());
            continue;
        };
        let new = &after.adjustables()[index];
        let is_type = matches!(adjustable.kind, AdjustableKind::Choice { .. });
        // A type keeps its name, whose index may have moved; one that is gone has no nearest.
        let value = |old: f64| match (&adjustable.kind, &new.kind) {
            (AdjustableKind::Choice { types: had }, AdjustableKind::Choice { types: has }) => {
                let name = had[adjustable.clamped(old) as usize].name();
                let index = has.iter().position(|one| one.name() == name);
                index.map(|index| index as f64)
            }
            _ => Some(new.clamped(old)),
        };
        let mut gone = |old: f64| {
            let name = format!("{} {}", adjustable.id, adjustable.text(old));
            if !lost.contains(&name) {
                lost.push(name);
            }
        };
        let same_file = match is_type {
            true => new.text(new.filed) == adjustable.text(adjustable.filed),
            false => new.same(new.filed, adjustable.filed),
        };
        let kept = typed && same_file;
        if kept {
            match value(as_found) {
                Some(value) => edit.set_as_found(index, value),
                None => gone(as_found),
            }
        }
        // What was typed as found and not changed since is proposed unchanged too.
        if tried || kept {
            let Some(value) = value(proposed) else {
                gone(proposed);
                continue;
            };
            edit.begin(index);
            edit.set(index, value);
            edit.end(index);
        }
    }
    lost
}
