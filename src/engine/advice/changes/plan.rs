//! Which circuits the report needs, each once: as found, as proposed, each change alone, each taken
//! back.

use super::items::{Item, items, with_items};
use crate::circuit::{Circuit, Diagnostic, Proposal};

/// The changes of a proposal and the circuits that tell what each does.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Name of the proposal.
    pub proposal: String,
    /// The changes, in the order of the proposal.
    pub items: Vec<Item>,
    /// The circuits, as found first, none twice.
    pub circuits: Vec<Circuit>,
    /// Place of the circuit with everything done.
    pub proposed: usize,
    /// Place of the circuit with one change alone, one a change; none where the change does not go
    /// without the others.
    pub alone: Vec<Option<usize>>,
    /// Place of the circuit with all but one change.
    pub without: Vec<Option<usize>>,
}

impl Plan {
    /// Takes a proposal apart.
    ///
    /// # Errors
    /// Every fault of the proposal.
    pub fn new(as_found: &Circuit, proposal: &Proposal) -> Result<Plan, Vec<Diagnostic>> {
        let items = items(as_found, proposal)?;
        let mut circuits = vec![as_found.clone()];
        let mut place = |circuit: Circuit| {
            let known = circuits.iter().position(|c| c.same_but_for_lines(&circuit));
            known.unwrap_or_else(|| {
                circuits.push(circuit);
                circuits.len() - 1
            })
        };
        let all: Vec<&Item> = items.iter().collect();
        let proposed = place(with_items(as_found, &all)?);
        let mut with = |some: &[&Item]| with_items(as_found, some).ok().map(&mut place);
        let alone = all.iter().map(|item| with(&[item])).collect();
        let without = (0..all.len())
            .map(|left_out| {
                let mut others = all.clone();
                others.remove(left_out);
                with(&others)
            })
            .collect();
        Ok(Plan {
            proposal: proposal.name.clone(),
            items,
            circuits,
            proposed,
            alone,
            without,
        })
    }
}
