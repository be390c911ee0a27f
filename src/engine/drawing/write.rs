//! What the texts of a drawing say: values as printed on a part, and what a proposal makes of them.

use super::sheet::{Anchor, Item, Placed, Says, Sheet, Symbol, Text};
use super::text_places::{SIZE, SMALL};
use crate::circuit::topology::Topology;
use crate::circuit::{Circuit, GROUND, NodeId, Part, PartId, PartKind, Taper};
use crate::text::digits::printed;
use crate::units::Quantity;
use std::collections::BTreeSet;

/// A line beside a part, and whether a proposal changes it.
pub type Notes<'a> = dyn Fn(PartId) -> Option<(String, bool)> + 'a;

/// What is written.
pub struct Lettering<'a> {
    /// As found.
    pub circuit: &'a Circuit,
    pub topology: &'a Topology,
    /// As proposed, with the same parts in the same order.
    pub proposed: Option<&'a Circuit>,
    /// Direct volts by node, as found and as proposed.
    pub volts: Option<[&'a [f64]; 2]>,
    /// Lines beside parts.
    pub notes: Option<&'a Notes<'a>>,
}

/// A line of text without its place.
fn line(says: Says, item: Item, text: String, changed: bool) -> Text {
    let small = matches!(says, Says::Volts | Says::Name | Says::Note);
    Text {
        says,
        of: Some(item),
        node: None,
        text,
        x: 0.0,
        y: 0.0,
        anchor: Anchor::Start,
        size: if small { SMALL } else { SIZE },
        changed,
    }
}

/// A part's value as one reads it off the part.
pub fn value_of(part: &Part) -> String {
    match &part.kind {
        PartKind::Resistor { ohms, .. } => Quantity::Resistance.format(*ohms),
        PartKind::Capacitor { farads, .. } => Quantity::Capacitance.format(*farads),
        PartKind::Inductor { henries, .. } => Quantity::Inductance.in_words(*henries),
        PartKind::Pot { ohms, taper, .. } => {
            let taper = match taper {
                Taper::Linear => "lin",
                Taper::Log => "log",
                Taper::Reverse => "rev. log",
            };
            format!("{} {taper}", Quantity::Resistance.format(*ohms))
        }
        PartKind::Switch { closed, .. } => if *closed { "closed" } else { "open" }.into(),
        PartKind::Triode { valve, .. } | PartKind::Pentode { valve, .. } => valve.name.clone(),
        PartKind::Rectifier {
            rectifier,
            winding_volts,
            ..
        } => {
            let volts = printed(*winding_volts);
            format!("{}, {volts}–0–{volts} V", rectifier.name)
        }
        PartKind::OutputTransformer(t) => {
            let primary = Quantity::Resistance.format(t.primary_ohms);
            format!(
                "{primary} : {}",
                Quantity::Resistance.in_words(t.secondary_ohms)
            )
        }
        PartKind::Loudspeaker { driver, .. } => driver.name.clone(),
        PartKind::Supply { volts, .. }
        | PartKind::BiasSupply { volts, .. }
        | PartKind::VoltageSource { volts, .. } => {
            format!("{} V", printed(*volts)).replace('-', "−")
        }
    }
}

/// The lines that belong to a symbol: designator, value, note.
pub(super) fn lines_of(lettering: &Lettering<'_>, placed: &Placed) -> Vec<Text> {
    let item = placed.item;
    let part = match item {
        Item::Part(part) => part,
        Item::Jack => return vec![line(Says::Name, item, "input".into(), false)],
        Item::Flag(node) => {
            return vec![line(Says::Name, item, lettering.name_of(node), false)];
        }
        Item::Ground => return Vec::new(),
    };
    let found = lettering.circuit.part(part);
    let proposed = lettering.proposed.map(|circuit| circuit.part(part));
    let changed = lettering.changes(part);
    let mut value = value_of(found);
    if let Some(proposed) = proposed.filter(|_| changed) {
        let after = value_of(proposed);
        value = match (found.fitted, proposed.fitted) {
            (false, true) => format!("→ {after}"),
            (true, false) => format!("{value} → out"),
            _ if after != value => format!("{value} → {after}"),
            _ => value,
        };
    }
    let mut lines = vec![
        line(Says::Designator, item, found.designator.clone(), changed),
        line(Says::Value, item, value, changed),
    ];
    match &found.kind {
        PartKind::Pot { control, .. } | PartKind::Switch { control, .. }
            if !control.is_empty() && *control != found.designator =>
        {
            lines.push(line(Says::Note, item, control.clone(), false));
        }
        _ => {}
    }
    if let Some((note, changed)) = lettering.notes.and_then(|notes| notes(part)) {
        lines.push(line(Says::Note, item, note, changed));
    }
    if !found.fitted && !proposed.is_some_and(|p| p.fitted) {
        lines.push(line(Says::Note, item, "not fitted".into(), false));
    }
    lines
}

impl Lettering<'_> {
    /// Whether a proposal makes another part of it.
    pub fn changes(&self, part: PartId) -> bool {
        let found = self.circuit.part(part);
        self.proposed.is_some_and(|proposed| {
            let proposed = proposed.part(part);
            proposed.kind != found.kind || proposed.fitted != found.fitted
        })
    }

    /// A node's name on paper: rails counted from the supply, others by what meets there.
    pub fn name_of(&self, node: NodeId) -> String {
        if let Some(rail) = self.topology.rail(node) {
            return format!("HT {}", rail + 1);
        }
        if let Some(bias) = self.topology.bias.iter().position(|n| *n == node) {
            return format!("bias {}", bias + 1);
        }
        self.circuit.nodes()[node.0 as usize].clone()
    }

    /// Lines beside nodes: names of rails, direct volts.
    pub(super) fn nodes(&self, sheet: &Sheet) -> Vec<(NodeId, Vec<Text>)> {
        let mut drawn: BTreeSet<NodeId> = BTreeSet::new();
        for placed in &sheet.placed {
            if !matches!(placed.symbol, Symbol::Flag | Symbol::Ground) {
                drawn.extend(placed.pins.iter().map(|pin| pin.node));
            }
        }
        drawn.remove(&GROUND);
        let mut lines = Vec::new();
        for node in drawn {
            let rail = self.topology.rail(node).is_some();
            let volts = self.volts_of(node);
            let text = match (rail, &volts) {
                (true, Some((volts, _))) => format!("{} {volts}", self.name_of(node)),
                (true, None) => self.name_of(node),
                (false, Some((volts, _))) => volts.clone(),
                (false, None) => continue,
            };
            let changed = volts.is_some_and(|(_, changed)| changed);
            let says = if rail { Says::Name } else { Says::Volts };
            lines.push((
                node,
                vec![Text {
                    node: Some(node),
                    of: None,
                    ..line(says, Item::Jack, text, changed)
                }],
            ));
        }
        lines
    }

    /// Direct volts at a node, and whether they change; none where there are none to speak of.
    fn volts_of(&self, node: NodeId) -> Option<(String, bool)> {
        let volts = self
            .volts?
            .map(|all| all.get(node.0 as usize).copied().unwrap_or(0.0));
        let [found, proposed] = volts.map(written);
        if found == proposed {
            return (volts[0].abs() >= 0.05).then_some((found, false));
        }
        Some((
            format!("{} → {proposed}", found.trim_end_matches(" V")),
            true,
        ))
    }
}

/// Volts with the digits that they deserve.
fn written(volts: f64) -> String {
    let text = if volts.abs() >= 99.95 {
        format!("{volts:.0} V")
    } else if volts.abs() >= 9.995 {
        format!("{volts:.1} V")
    } else {
        format!("{volts:.2} V")
    };
    text.replace('-', "−")
}
