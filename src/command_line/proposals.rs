//! Proposals one after another.

use crate::circuit::WrittenProposal;

/// What was put in first, then what was found; of one part or control the last word counts.
pub fn after(first: &[&WrittenProposal], found: &WrittenProposal) -> WrittenProposal {
    let mut whole = WrittenProposal {
        changes: Vec::new(),
        settings: Vec::new(),
        ..found.clone()
    };
    for list in first.iter().copied().chain([found]) {
        for change in &list.changes {
            let name = &change.designator;
            whole
                .changes
                .retain(|old| !old.designator.eq_ignore_ascii_case(name));
            whole.changes.push(change.clone());
        }
        for setting in &list.settings {
            let name = &setting.control;
            whole
                .settings
                .retain(|old| !old.control.eq_ignore_ascii_case(name));
            whole.settings.push(setting.clone());
        }
    }
    whole
}
