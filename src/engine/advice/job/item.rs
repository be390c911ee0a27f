//! One change as a job: what comes out, and what goes in.

use super::marking::{ELECTROLYTIC_FARADS, Marking, marking};
use super::purchase::{Met, Purchase, purchase, tolerance};
use crate::advice::prices::{Prices, Ware};
use crate::analysis::parts_list::in_words;
use crate::circuit::{Circuit, Kind, NodeId, Part, PartId, PartKind};
use crate::solve::solved::SolvedAmp;
use serde::{Serialize, Serializer};

/// What is done to a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Action {
    /// One comes out, another goes in.
    Replace,
    /// One goes in where none was.
    Fit,
    /// One comes out for good.
    Remove,
    /// A contact is set otherwise.
    Set,
    /// A supply is made otherwise, which is no matter of one part.
    Supply,
}

/// One change.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Item {
    /// Designator; "V1" for both halves of a valve.
    pub designator: String,
    /// Its kind; in a report in the trade's words: "resistor".
    #[serde(serialize_with = "kind_in_words")]
    pub kind: Kind,
    /// What it does there; may be empty.
    pub role: String,
    /// Its stage; may be empty.
    pub stage: String,
    /// Where it sits; empty where the file does not say.
    pub near: String,
    /// The nodes that it joins.
    pub nodes: Vec<String>,
    /// What is done.
    pub action: Action,
    /// Value or type as found; "out" if there is none.
    pub as_found: String,
    /// As proposed.
    pub proposed: String,
    /// How the part that comes out is marked.
    pub old_marking: Marking,
    /// Where its positive end goes, a node; for electrolytics.
    pub positive: Option<String>,
    /// What to buy; none where nothing is bought.
    pub buy: Option<Purchase>,
}

impl Item {
    /// What it is in a shop; none for what is not bought as one part.
    pub fn ware(&self) -> Option<Ware> {
        Ware::of(self.kind)
    }
}

fn kind_in_words<S: Serializer>(kind: &Kind, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&kind.in_words())
}

/// The changes, halves of a valve together, in the order of the file, each with the part's place.
/// `met` says what the part of a designator meets.
pub fn items(
    amp: &SolvedAmp,
    met: &dyn Fn(&str) -> Met,
    price_file: Option<&Prices>,
) -> Vec<(PartId, Item)> {
    let (found, proposed) = (&amp.as_found.circuit, &amp.asked_for().circuit);
    let mut out: Vec<(PartId, Item)> = Vec::new();
    for (i, (before, after)) in found.parts().iter().zip(proposed.parts()).enumerate() {
        let id = PartId(i as u16);
        if in_words(before) == in_words(after) && same_value(before, after) {
            continue;
        }
        let name = envelope(found, id);
        if out.iter().all(|(_, item)| item.designator != name) {
            let met = met(&before.designator);
            out.push((id, item(amp, id, name, met, price_file)));
        }
    }
    out
}

/// Exactly the same value: words have four digits only.
fn same_value(before: &Part, after: &Part) -> bool {
    let value = |part: &Part| match part.kind {
        PartKind::Resistor { ohms, .. } | PartKind::Pot { ohms, .. } => Some(ohms),
        PartKind::Capacitor { farads, .. } => Some(farads),
        PartKind::Inductor { henries, .. } => Some(henries),
        PartKind::Supply { volts, .. } | PartKind::BiasSupply { volts, .. } => Some(volts),
        _ => None,
    };
    value(before) == value(after)
}

/// "V1" for a half "V1a" of it, else the designator.
fn envelope(circuit: &Circuit, id: PartId) -> String {
    let name = &circuit.part(id).designator;
    let short = name.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    match circuit.find_part(short).is_none() && circuit.parts_named(short).contains(&id) {
        true => short.into(),
        false => name.clone(),
    }
}

fn item(
    amp: &SolvedAmp,
    id: PartId,
    designator: String,
    met: Met,
    price_file: Option<&Prices>,
) -> Item {
    let (found, proposed) = (&amp.as_found.circuit, &amp.asked_for().circuit);
    let (before, after) = (found.part(id), proposed.part(id));
    let action = match (before.kind.kind(), before.fitted, after.fitted) {
        (Kind::Switch, ..) => Action::Set,
        (Kind::Supply | Kind::BiasSupply | Kind::VoltageSource, ..) => Action::Supply,
        (_, true, false) => Action::Remove,
        (_, false, true) => Action::Fit,
        _ => Action::Replace,
    };
    let goes_in = matches!(action, Action::Replace | Action::Fit);
    let about = &before.particulars;
    let node = |node: &NodeId| found.nodes()[node.0 as usize].clone();
    let old = match before.fitted {
        true => marking(before, tolerance(before).0, about.rated_volts),
        false => Marking::default(),
    };
    Item {
        designator,
        kind: before.kind.kind(),
        role: about.role.clone(),
        stage: about.stage.clone(),
        near: about.near.clone().unwrap_or_default(),
        nodes: ends(before).iter().map(node).collect(),
        action,
        as_found: in_words(before),
        proposed: in_words(after),
        old_marking: old,
        positive: positive(amp, after).filter(|_| goes_in).map(|n| node(&n)),
        buy: goes_in.then(|| purchase(after, met, price_file)),
    }
}

/// The two nodes that a part with two ends joins.
fn ends(part: &Part) -> Vec<NodeId> {
    match &part.kind {
        PartKind::Resistor { between, .. }
        | PartKind::Capacitor { between, .. }
        | PartKind::Inductor { between, .. }
        | PartKind::Switch { between, .. }
        | PartKind::Loudspeaker { between, .. } => between.to_vec(),
        PartKind::Pot {
            from, wiper, to, ..
        } => vec![*from, *wiper, *to],
        _ => Vec::new(),
    }
}

/// The node of an electrolytic's positive end.
fn positive(amp: &SolvedAmp, part: &Part) -> Option<NodeId> {
    let PartKind::Capacitor { farads, between } = part.kind else {
        return None;
    };
    let side = amp.asked_for();
    let volts = between.map(|n| side.point.solution[amp.network.position(n)]);
    let higher = usize::from(volts[1] > volts[0]);
    (farads >= ELECTROLYTIC_FARADS && volts[0] != volts[1]).then(|| between[higher])
}
