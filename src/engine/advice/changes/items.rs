//! What a proposal changes, taken apart: one item for what one would change at once.

use crate::advice::prices::Ware;
use crate::analysis::parts_list::in_words;
use crate::analysis::valves_playing::supply_nodes;
use crate::circuit::topology::Role;
use crate::circuit::{
    Change, Circuit, Diagnostic, GROUND, Kind, Part, PartId, PartKind, Proposal, Setting,
};
use serde::Serialize;

/// One part of a change, in words.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChangedPart {
    /// Designator; of a valve with two sections that of the valve.
    pub designator: String,
    /// What it does there; the kind where the file does not say.
    pub role: String,
    /// Value or type as found; "out" if not fitted.
    pub as_found: String,
    /// As proposed.
    pub proposed: String,
}

/// What kind of doing a change is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Doing {
    /// A control is turned or a switch is thrown: no iron, no cost.
    Turn,
    /// Something is plugged or screwed in outside the chassis: a valve, a loudspeaker.
    Swap,
    /// The chassis is opened and something soldered.
    Solder,
}

/// What a part does that is not computed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Caveat {
    /// A loudspeaker has a sound of its own, which its file tells, and is louder or quieter than
    /// another, which it does not tell.
    OwnSound,
    /// A capacitor across a supply keeps hum down.
    Hum,
    /// A stopper keeps a stage from oscillating.
    Oscillation,
}

impl Caveat {
    /// A sentence.
    pub fn in_words(self) -> &'static str {
        match self {
            Caveat::OwnSound => {
                "Counted is what its impedance does to the amp, and its own sound as its file has \
                 it; how loud it is beside another is not."
            }
            Caveat::Hum => "What it does against hum is not counted.",
            Caveat::Oscillation => "What it does against oscillation is not counted.",
        }
    }
}

/// One change.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// The parts as proposed that have to be bought, one entry a valve or other part.
    pub bought: Vec<Part>,
    /// What is worked on, one entry a valve or other part.
    pub worked_on: Vec<Kind>,
    /// In words.
    pub parts: Vec<ChangedPart>,
    /// How it is done.
    pub doing: Doing,
    /// Whether it can be undone without a trace.
    pub reversible: bool,
    /// What such a part does that no figure here counts.
    pub caveat: Option<Caveat>,
    changes: Vec<Change>,
    settings: Vec<Setting>,
    /// What makes two changes of single parts twins.
    twin: Option<(Kind, String, String, String, String)>,
}

/// The items of a proposal that change anything, in its order: parts that must agree (the halves of
/// a valve) and twins (parts of one kind and role in one stage that move alike, such as the two
/// sides of a push-pull stage) are one; all controls are one, at the end.
///
/// # Errors
/// Every fault of the proposal.
pub fn items(as_found: &Circuit, proposal: &Proposal) -> Result<Vec<Item>, Vec<Diagnostic>> {
    proposal.apply(as_found)?;
    let mut groups: Vec<(Vec<PartId>, Vec<Change>)> = Vec::new();
    for change in &proposal.changes {
        let ids = parts_moved(as_found, change);
        let mut merged = (ids, vec![change.clone()]);
        // What touches a part that an earlier change touches goes with it, after it.
        groups.retain(|(other, changes)| {
            let apart = other.iter().all(|id| !merged.0.contains(id));
            if !apart {
                let later = std::mem::take(&mut merged.1);
                merged.1 = changes.iter().cloned().chain(later).collect();
                merged.0.extend(
                    other
                        .iter()
                        .filter(|id| !merged.0.contains(id))
                        .copied()
                        .collect::<Vec<_>>(),
                );
            }
            apart
        });
        groups.push(merged);
    }
    let mut items: Vec<Item> = Vec::new();
    for (ids, changes) in groups {
        let Some(item) = soldered(as_found, ids, changes)? else {
            continue;
        };
        match items
            .iter_mut()
            .find(|i| i.twin.is_some() && i.twin == item.twin)
        {
            Some(twin) => twin.join(item),
            None => items.push(item),
        }
    }
    items.extend(turned(as_found, &proposal.settings)?);
    Ok(items)
}

/// The parts that a change moves, with what must agree with them.
fn parts_moved(circuit: &Circuit, change: &Change) -> Vec<PartId> {
    let ids = change.parts.clone();
    let envelope = |id: &PartId| {
        let part = circuit.part(*id);
        let name = part
            .designator
            .strip_suffix(|c: char| c.is_ascii_lowercase())?;
        let halves = circuit.parts_named(name);
        (Ware::of(part.kind.kind()) == Some(Ware::Valve) && halves.contains(id)).then_some(halves)
    };
    match &ids[..] {
        [one] => envelope(one).unwrap_or(ids),
        _ => ids,
    }
}

/// A change of parts; none if nothing differs afterwards.
fn soldered(
    as_found: &Circuit,
    ids: Vec<PartId>,
    changes: Vec<Change>,
) -> Result<Option<Item>, Vec<Diagnostic>> {
    let changed = as_found.with_changes(&changes)?;
    let moved: Vec<PartId> = ids
        .into_iter()
        .filter(|&id| {
            as_found.part(id).kind != changed.part(id).kind
                || as_found.part(id).fitted != changed.part(id).fitted
        })
        .collect();
    let Some(&first) = moved.first() else {
        return Ok(None);
    };
    let (before, after) = (as_found.part(first), changed.part(first));
    let kind = after.kind.kind();
    // The halves of a valve are one part to the owner.
    let designator = match moved.len() {
        1 => after.designator.clone(),
        _ => after
            .designator
            .trim_end_matches(|c: char| c.is_ascii_lowercase())
            .into(),
    };
    let role = match (moved.len(), after.particulars.role()) {
        (1, role) if !role.is_empty() => role.into(),
        (1, _) => kind.in_words(),
        _ => "valve".into(),
    };
    let part = ChangedPart {
        designator,
        role,
        as_found: in_words(before),
        proposed: in_words(after),
    };
    let stage = after.particulars.stage();
    let twin = (moved.len() == 1 && !after.particulars.role().is_empty()).then(|| {
        let (was, is) = (part.as_found.clone(), part.proposed.clone());
        (kind, stage.to_string(), part.role.clone(), was, is)
    });
    Ok(Some(Item {
        bought: after.fitted.then(|| after.clone()).into_iter().collect(),
        worked_on: vec![kind],
        doing: doing(before, after),
        reversible: reversible(before, after),
        caveat: caveat(as_found, first, after),
        parts: vec![part],
        changes,
        settings: Vec::new(),
        twin,
    }))
}

/// The controls as one change; none if they stand so already.
fn turned(as_found: &Circuit, settings: &[Setting]) -> Result<Option<Item>, Vec<Diagnostic>> {
    let changed = as_found.with_controls(settings)?;
    let mut parts: Vec<ChangedPart> = Vec::new();
    for (before, after) in as_found.parts().iter().zip(changed.parts()) {
        if before.kind == after.kind {
            continue;
        }
        let Some((name, position)) = position(after) else {
            continue;
        };
        if parts.iter().all(|p| p.designator != name) {
            parts.push(ChangedPart {
                designator: name,
                role: "control".into(),
                as_found: position_of(before),
                proposed: position,
            });
        }
    }
    Ok((!parts.is_empty()).then(|| Item {
        bought: Vec::new(),
        worked_on: Vec::new(),
        parts,
        doing: Doing::Turn,
        reversible: true,
        caveat: None,
        changes: Vec::new(),
        settings: settings.to_vec(),
        twin: None,
    }))
}

/// A control's name and where it stands.
fn position(part: &Part) -> Option<(String, String)> {
    match &part.kind {
        PartKind::Pot { control, set, .. } => Some((
            control.clone(),
            crate::units::Quantity::Share.in_words(*set),
        )),
        PartKind::Switch { control, .. } => Some((control.clone(), in_words(part))),
        _ => None,
    }
}

fn position_of(part: &Part) -> String {
    position(part)
        .map(|(_, position)| position)
        .unwrap_or_default()
}

fn doing(before: &Part, after: &Part) -> Doing {
    let silicon = |part: &Part| match &part.kind {
        // A plugged-in rectifier is a valve; diodes are soldered.
        PartKind::Rectifier { rectifier, .. } => rectifier.perveance.is_none(),
        _ => false,
    };
    match after.kind.kind() {
        Kind::Switch => Doing::Turn,
        Kind::Triode | Kind::Pentode | Kind::Loudspeaker => Doing::Swap,
        Kind::Rectifier if !silicon(before) && !silicon(after) => Doing::Swap,
        _ => Doing::Solder,
    }
}

/// A pot or a choke that was not there before needs holes in the metal; all else is soldered or
/// plugged, and the old part goes back in.
fn reversible(before: &Part, after: &Part) -> bool {
    let drilled = matches!(after.kind.kind(), Kind::Pot | Kind::Inductor);
    !(drilled && after.fitted && !before.fitted)
}

fn caveat(circuit: &Circuit, id: PartId, part: &Part) -> Option<Caveat> {
    match &part.kind {
        PartKind::Loudspeaker { .. } => Some(Caveat::OwnSound),
        PartKind::Capacitor { between, .. } => {
            let supplies = supply_nodes(circuit);
            let holds = between.contains(&GROUND) && between.iter().any(|n| supplies.contains(n));
            holds.then_some(Caveat::Hum)
        }
        PartKind::Resistor { .. } => {
            let role = circuit.topology().of(id).role;
            matches!(role, Role::GridStopper | Role::ScreenStopper).then_some(Caveat::Oscillation)
        }
        _ => None,
    }
}

impl Item {
    /// "R303 and R304": parts, or controls.
    pub fn name(&self) -> String {
        let names: Vec<&str> = self.parts.iter().map(|p| p.designator.as_str()).collect();
        crate::text::list::listed(&names)
    }

    /// The parts that it changes or turns.
    pub fn moved(&self) -> Vec<PartId> {
        let changed = self.changes.iter().flat_map(|change| &change.parts);
        let turned = self.settings.iter().flat_map(|setting| &setting.parts);
        changed.chain(turned).copied().collect()
    }

    /// Whether it is the controls.
    pub fn is_controls(&self) -> bool {
        !self.settings.is_empty()
    }

    fn join(&mut self, other: Item) {
        self.bought.extend(other.bought);
        self.worked_on.extend(other.worked_on);
        self.parts.extend(other.parts);
        self.changes.extend(other.changes);
        self.settings.extend(other.settings);
    }
}

/// The circuit with some of the items done.
///
/// # Errors
/// What does not go together without the others.
pub fn with_items(as_found: &Circuit, items: &[&Item]) -> Result<Circuit, Vec<Diagnostic>> {
    let some = Proposal {
        changes: items.iter().flat_map(|i| i.changes.clone()).collect(),
        settings: items.iter().flat_map(|i| i.settings.clone()).collect(),
        ..Proposal::default()
    };
    some.apply(as_found)
}
