//! Checked circuit to canonical text: reading it again gives the same circuit.
//!
//! What the loader assumed is left out, so that it stays an assumption.

use super::parts::TAPERS;
use super::text::quoted;
use super::transformer::equal_shares;
use super::written_value::contact_word;
use super::{Circuit, GROUND, NodeId, OutputTransformer, Part, PartId, PartKind};
use crate::units::Quantity;
use std::fmt::Write;

/// The circuit as a circuit-values file.
pub fn write(circuit: &Circuit) -> String {
    let mut text = String::from("format = 1\n\n[amp]\n");
    let output = circuit.output;
    let output = match output.loudspeaker {
        Some(id) => quoted(&circuit.part(id).designator),
        None if output.negative == GROUND => circuit.quoted_node(output.positive),
        None => circuit.quoted_nodes(&[output.positive, output.negative]),
    };
    let mut entries = vec![("name", quoted(&circuit.name))];
    if !circuit.about.is_empty() {
        entries.push(("about", quoted(&circuit.about)));
    }
    entries.push(("input", circuit.quoted_node(circuit.input)));
    entries.push(("output", output));
    for (key, value) in entries {
        let _ = writeln!(text, "{key} = {value}");
    }
    text.push_str("\n[parts]\n");
    for (index, part) in circuit.parts.iter().enumerate() {
        let entries = circuit.part_entries(PartId(index as u16), part);
        let _ = writeln!(text, "{} = {}", part.designator, braces(&entries));
    }
    text.extend(circuit.own_loudspeakers.iter().map(|own| own.written()));
    text
}

type Entries = Vec<(&'static str, String)>;

fn braces(entries: &Entries) -> String {
    let list: Vec<String> = entries.iter().map(|(k, v)| format!("{k} = {v}")).collect();
    format!("{{ {} }}", list.join(", "))
}

fn value(quantity: Quantity, value: f64) -> String {
    match quantity {
        Quantity::Share => quantity.format(value),
        _ => quoted(&quantity.format(value)),
    }
}

/// Value of a part's own key, as it stands in the file.
pub(crate) fn own_value(kind: &PartKind) -> Option<String> {
    if let Some((quantity, number)) = kind.single_value() {
        return Some(value(quantity, number));
    }
    match kind {
        PartKind::Switch { closed, .. } => Some(quoted(contact_word(*closed))),
        PartKind::Triode { valve, .. } | PartKind::Pentode { valve, .. } => {
            Some(quoted(&valve.name))
        }
        PartKind::Rectifier { rectifier, .. } => Some(quoted(&rectifier.name)),
        PartKind::Loudspeaker { driver, .. } => Some(quoted(&driver.name)),
        _ => None,
    }
}

impl Circuit {
    fn quoted_node(&self, node: NodeId) -> String {
        quoted(&self.nodes[node.0 as usize])
    }

    fn quoted_nodes(&self, nodes: &[NodeId]) -> String {
        let list: Vec<String> = nodes.iter().map(|&n| self.quoted_node(n)).collect();
        format!("[{}]", list.join(", "))
    }

    fn part_entries(&self, id: PartId, part: &Part) -> Entries {
        let mut entries = self.kind_entries(id, part);
        entries.retain(|(key, _)| !self.is_assumed(id, key));
        let about = &part.particulars;
        let ratings: Vec<String> = [
            about.rated_watts.map(|w| value(Quantity::RatedPower, w)),
            about.rated_volts.map(|v| value(Quantity::RatedVoltage, v)),
        ]
        .into_iter()
        .flatten()
        .collect();
        match &ratings[..] {
            [] => {}
            [one] => entries.push(("rated", one.clone())),
            _ => entries.push(("rated", format!("[{}]", ratings.join(", ")))),
        }
        if let Some(share) = about.tolerance {
            entries.push(("tolerance", value(Quantity::Tolerance, share)));
        }
        if !about.stage.is_empty() {
            entries.push(("stage", quoted(&about.stage)));
        }
        if !about.role.is_empty() {
            entries.push(("role", quoted(&about.role)));
        }
        if let Some(near) = &about.near {
            entries.push(("near", quoted(near)));
        }
        if !part.fitted {
            entries.push(("fitted", "false".into()));
        }
        entries
    }

    pub(crate) fn is_assumed(&self, id: PartId, key: &str) -> bool {
        self.assumed.iter().any(|a| a.part == id && a.key == key)
    }

    /// The part's own value, its terminals and the keys of its kind.
    fn kind_entries(&self, id: PartId, part: &Part) -> Entries {
        let own = match &part.kind {
            PartKind::OutputTransformer(t) => braces(&self.transformer_values(id, t)),
            kind => own_value(kind).expect("only a transformer has no single value"),
        };
        let mut entries = vec![(part.kind.kind().word(), own)];
        let winding = |ohms| value(Quantity::WindingResistance, ohms);
        let source = |ohms| value(Quantity::SourceResistance, ohms);
        match &part.kind {
            PartKind::Resistor { between, .. }
            | PartKind::Capacitor { between, .. }
            | PartKind::Loudspeaker { between, .. } => {
                entries.push(("between", self.quoted_nodes(between)));
            }
            PartKind::Inductor {
                winding_ohms,
                between,
                ..
            } => {
                entries.push(("winding_resistance", winding(*winding_ohms)));
                entries.push(("between", self.quoted_nodes(between)));
            }
            PartKind::Pot {
                taper,
                from,
                to,
                wiper,
                set,
                control,
                ..
            } => {
                let taper = TAPERS.iter().find(|(_, t)| t == taper);
                entries.push(("taper", quoted(taper.expect("every taper has a word").0)));
                entries.push(("from", self.quoted_node(*from)));
                entries.push(("to", self.quoted_node(*to)));
                entries.push(("wiper", self.quoted_node(*wiper)));
                entries.push(("control", quoted(control)));
                entries.push(("set", value(Quantity::Share, *set)));
            }
            PartKind::Switch {
                between, control, ..
            } => {
                entries.push(("between", self.quoted_nodes(between)));
                entries.push(("control", quoted(control)));
            }
            PartKind::Triode {
                anode,
                grid,
                cathode,
                ..
            } => {
                let ends = [("anode", anode), ("grid", grid), ("cathode", cathode)];
                entries.extend(ends.map(|(key, node)| (key, self.quoted_node(*node))));
            }
            PartKind::Pentode {
                anode,
                screen,
                grid,
                cathode,
                ..
            } => {
                let ends = [
                    ("anode", anode),
                    ("screen", screen),
                    ("grid", grid),
                    ("cathode", cathode),
                ];
                entries.extend(ends.map(|(key, node)| (key, self.quoted_node(*node))));
            }
            PartKind::Rectifier {
                winding_volts,
                winding_ohms,
                to,
                from,
                ..
            } => {
                entries.push(("winding", value(Quantity::WindingVoltage, *winding_volts)));
                entries.push(("winding_resistance", winding(*winding_ohms)));
                entries.push(("to", self.quoted_node(*to)));
                if *from != GROUND {
                    entries.push(("from", self.quoted_node(*from)));
                }
            }
            PartKind::OutputTransformer(t) => entries.extend(self.windings(t)),
            PartKind::Supply { ohms, node, .. } | PartKind::BiasSupply { ohms, node, .. } => {
                entries.push(("node", self.quoted_node(*node)));
                entries.push(("resistance", source(*ohms)));
            }
            PartKind::VoltageSource { ohms, between, .. } => {
                entries.push(("between", self.quoted_nodes(between)));
                entries.push(("resistance", source(*ohms)));
            }
        }
        entries
    }

    /// The taps of both windings, and their shares where they are not equal.
    fn windings(&self, t: &OutputTransformer) -> Entries {
        let mut entries = Vec::new();
        for (key, shares_key, winding) in [
            ("primary", "primary_shares", &t.primary),
            ("secondary", "secondary_shares", &t.secondary),
        ] {
            entries.push((key, self.quoted_nodes(&winding.taps)));
            if winding.shares != equal_shares(winding.taps.len()) {
                let shares: Vec<String> = winding
                    .shares
                    .iter()
                    .map(|&s| value(Quantity::Share, s))
                    .collect();
                entries.push((shares_key, format!("[{}]", shares.join(", "))));
            }
        }
        entries
    }

    fn transformer_values(&self, id: PartId, t: &OutputTransformer) -> Entries {
        let winding = |ohms| value(Quantity::WindingResistance, ohms);
        let both = format!(
            "[{}, {}]",
            winding(t.primary_resistance),
            winding(t.secondary_resistance)
        );
        let ohms = |ohms| value(Quantity::Resistance, ohms);
        let henries = |henries| value(Quantity::Inductance, henries);
        let mut entries = vec![
            ("primary", value(Quantity::Impedance, t.primary_ohms)),
            ("secondary", value(Quantity::Impedance, t.secondary_ohms)),
            ("inductance", henries(t.inductance)),
            (
                "full_power_from",
                value(Quantity::Frequency, t.full_power_hz),
            ),
            ("rated_power", value(Quantity::RatedPower, t.rated_watts)),
            ("direct_current", value(Quantity::Current, t.direct_amps)),
            ("leakage", henries(t.leakage)),
            ("leakage_damping", ohms(t.leakage_damping)),
            ("resistance", both),
            ("core_loss", ohms(t.core_loss)),
            (
                "winding_capacitance",
                value(Quantity::Capacitance, t.winding_farads),
            ),
        ];
        entries.retain(|(key, _)| !self.is_assumed(id, key));
        entries
    }
}
