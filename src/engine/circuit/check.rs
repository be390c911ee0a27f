//! Checks that take more than one part: wiring, sources, shared controls, halves of one valve.

use super::diagnostics::{Diagnostic, nearest, shorten};
use super::kinds::Kind;
use super::load::{mismatches, unloaded};
use super::wiring::{Wired, Wiring};

use super::{Circuit, GROUND, NodeId, Output, Part, PartKind};
use std::collections::HashMap;

/// Faults of the wiring, whatever is fitted and however the switches stand.
pub(crate) fn wiring(
    parts: &[Wired],
    nodes: &[String],
    input: NodeId,
    output: Output,
) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    shorted_parts(parts, nodes, &mut faults);
    let dangling = used_once(parts, nodes, input, output, &mut faults);
    let all: Vec<&Wiring> = parts.iter().map(|p| &p.wiring).collect();
    for island in islands(&all, nodes.len(), input) {
        if !island.iter().all(|n| dangling[n.0 as usize]) {
            faults.push(no_direct_current(&island, parts, nodes));
        }
    }
    source_loops(parts, nodes, input, &mut faults);
    faults
}

/// Ends on one node: the part does nothing, so it is surely a slip. A transformer's taps must all
/// differ; of a pot or a valve some ends may be joined, but not all.
fn shorted_parts(parts: &[Wired], nodes: &[String], faults: &mut Vec<Diagnostic>) {
    for part in parts {
        let wiring = &part.wiring;
        let groups = match wiring.conducting[..] {
            [] => std::slice::from_ref(&wiring.terminals),
            ref groups => groups,
        };
        for ends in groups {
            let mut distinct = ends.clone();
            distinct.sort();
            distinct.dedup();
            let least = match part.kind {
                Kind::OutputTransformer => ends.len(),
                _ => 2,
            };
            if distinct.len() < least {
                let repeated = ends
                    .iter()
                    .find(|e| ends.iter().filter(|o| o == e).count() > 1);
                let node = name(nodes, *repeated.unwrap_or(&ends[0]));
                let message = if ends.len() == 2 {
                    format!("both ends are on node {node}")
                } else {
                    format!("several ends are on node {node}")
                };
                faults.push(
                    Diagnostic::error(message, "name the node of the other end")
                        .part(&part.designator)
                        .line(part.line),
                );
            }
        }
    }
}

/// Faults for nodes with a single connection; gives which nodes those are.
fn used_once(
    parts: &[Wired],
    nodes: &[String],
    input: NodeId,
    output: Output,
    faults: &mut Vec<Diagnostic>,
) -> Vec<bool> {
    let mut uses = vec![0usize; nodes.len()];
    let ends = [input, output.positive, output.negative];
    let terminals = parts.iter().flat_map(|p| p.wiring.terminals.iter());
    for node in terminals.chain(&ends) {
        uses[node.0 as usize] += 1;
    }
    let dangling: Vec<bool> = uses.iter().map(|&n| n < 2).collect();
    for part in parts {
        for &node in &part.wiring.terminals {
            if node == GROUND || !dangling[node.0 as usize] {
                continue;
            }
            let others = nodes
                .iter()
                .map(String::as_str)
                .filter(|&n| n != name(nodes, node));
            let remedy = match nearest(name(nodes, node), others) {
                Some(near) => format!("did you mean {near}?"),
                None => "join another part to it, or leave this one out".into(),
            };
            faults.push(
                Diagnostic::error(
                    format!("node {} is used only here", name(nodes, node)),
                    remedy,
                )
                .part(&part.designator)
                .line(part.line)
                .value(name(nodes, node)),
            );
        }
    }
    dangling
}

/// Groups of nodes without a path for direct current to ground. The input counts as grounded:
/// the guitar holds it.
fn islands(parts: &[&Wiring], count: usize, input: NodeId) -> Vec<Vec<NodeId>> {
    let mut groups = Groups::new(count);
    groups.join(input, GROUND);
    for group in parts.iter().flat_map(|p| &p.conducting) {
        for pair in group.windows(2) {
            groups.join(pair[0], pair[1]);
        }
    }
    let mut islands: HashMap<u16, Vec<NodeId>> = HashMap::new();
    let ground = groups.root(GROUND.0);
    for node in (0..count as u16).map(NodeId) {
        let root = groups.root(node.0);
        if root != ground {
            islands.entry(root).or_default().push(node);
        }
    }
    let mut islands: Vec<Vec<NodeId>> = islands.into_values().collect();
    islands.sort();
    islands
}

fn no_direct_current(island: &[NodeId], parts: &[Wired], nodes: &[String]) -> Diagnostic {
    let first = parts
        .iter()
        .find(|p| p.wiring.terminals.iter().any(|t| island.contains(t)));
    let fault = Diagnostic::error(
        format!(
            "{} no path for direct current to ground",
            has(island, nodes)
        ),
        "capacitors and grids let none through: add the leak resistor or the missing joint",
    );
    match first {
        Some(part) => fault.part(&part.designator).line(part.line),
        None => fault,
    }
}

/// "node a has" or "nodes a, b have", the first few by name.
fn has(island: &[NodeId], nodes: &[String]) -> String {
    const SHOWN: usize = 4;
    let names: Vec<&str> = island.iter().take(SHOWN).map(|&n| name(nodes, n)).collect();
    match (island.len(), island.len() - names.len()) {
        (1, _) => format!("node {} has", names[0]),
        (_, 0) => format!("nodes {} have", names.join(", ")),
        (_, more) => format!("nodes {} and {more} more have", names.join(", ")),
    }
}

/// Sources without resistance that hold the same voltage between them.
fn source_loops(parts: &[Wired], nodes: &[String], input: NodeId, faults: &mut Vec<Diagnostic>) {
    let mut groups = Groups::new(nodes.len());
    groups.join(input, GROUND);
    for part in parts {
        let Some(ends) = part.wiring.ideal_source else {
            continue;
        };
        if !groups.join(ends[0], ends[1]) {
            faults.push(
                Diagnostic::error(
                    format!(
                        "closes a loop of sources without resistance at node {}",
                        name(nodes, ends[0])
                    ),
                    "state its resistance, or remove one of the sources (the input counts as one)",
                )
                .part(&part.designator)
                .line(part.line),
            );
        }
    }
}

/// Faults between parts that must agree.
pub(crate) fn agreement(parts: &[Part]) -> Vec<Diagnostic> {
    let mut faults = Vec::new();
    let mut controls: HashMap<String, &Part> = HashMap::new();
    let mut bottles: HashMap<String, &Part> = HashMap::new();
    for part in parts {
        let at = |message: String, remedy: &str| {
            Diagnostic::error(message, remedy)
                .part(&part.designator)
                .line(part.line)
        };
        if let Some(control) = part.kind.control() {
            let first = *controls.entry(control.to_lowercase()).or_insert(part);
            if let Some(message) = control_conflict(control, &first.kind, &part.kind) {
                let message = format!("{message} at {}", first.designator);
                faults.push(at(message, "name another control, or set both alike"));
            }
        }
        if let Some((envelope, valve)) = envelope(part) {
            let first = *bottles.entry(envelope.clone()).or_insert(part);
            if let Some((_, other)) = super::check::envelope(first)
                && other.name != valve.name
            {
                faults.push(at(
                    format!(
                        "is {} but {} is {}: they are halves of one valve",
                        valve.name, first.designator, other.name
                    ),
                    "give both halves the same type",
                ));
            }
        }
    }
    if let Some(transformer) = unloaded(parts) {
        faults.push(
            Diagnostic::error(
                "has no loudspeaker left: an amp that is driven without one can break down its output transformer and its valves",
                "leave one loudspeaker in, or fit another one first",
            )
            .part(&transformer.designator)
            .line(transformer.line),
        );
    }
    faults
}

fn control_conflict(control: &str, first: &PartKind, second: &PartKind) -> Option<String> {
    let control = shorten(control);
    match (first, second) {
        (PartKind::Pot { set: a, .. }, PartKind::Pot { set: b, .. }) => {
            (a != b).then(|| format!("control {control} is set differently"))
        }
        (PartKind::Switch { closed: a, .. }, PartKind::Switch { closed: b, .. }) => {
            (a != b).then(|| format!("control {control} is set differently"))
        }
        _ => Some(format!("control {control} is of another kind")),
    }
}

/// "V1" and the type, when the part is half "V1a" or "V1b".
pub(crate) fn envelope(part: &Part) -> Option<(String, &crate::device::Valve)> {
    let (PartKind::Triode { valve, .. } | PartKind::Pentode { valve, .. }) = &part.kind else {
        return None;
    };
    envelope_name(&part.designator).map(|name| (name.to_ascii_uppercase(), &**valve))
}

/// "V1" of "V1a".
pub(crate) fn envelope_name(designator: &str) -> Option<&str> {
    let last = designator.len().checked_sub(1)?;
    let (head, half) = designator.split_at_checked(last)?;
    let letter = half.starts_with(|c: char| c.is_ascii_alphabetic());
    (letter && head.ends_with(|c: char| c.is_ascii_digit())).then_some(head)
}

impl Circuit {
    /// What may be used but deserves a look: nodes that float as the parts are fitted and the
    /// switches stand, nodes that differ in capitals only, designators whose letter says another
    /// kind, loudspeakers that do not fit the transformer's taps.
    pub fn warnings(&self) -> Vec<Diagnostic> {
        let mut warnings = Vec::new();
        for part in &self.parts {
            let letters: String = part
                .designator
                .chars()
                .take_while(char::is_ascii_alphabetic)
                .collect();
            let said = match letters.to_ascii_uppercase().as_str() {
                "R" => Kind::Resistor,
                "C" => Kind::Capacitor,
                "L" => Kind::Inductor,
                _ => continue,
            };
            let is = part.kind.kind();
            if is != said {
                warnings.push(
                    Diagnostic::warning(
                        format!("is a {}, not a {}", is.in_words(), said.in_words()),
                        "check the kind, or choose a designator that fits",
                    )
                    .part(&part.designator)
                    .line(part.line),
                );
            }
        }
        for (index, node) in self.nodes.iter().enumerate() {
            let earlier = self.nodes[..index].iter();
            for other in earlier.filter(|o| o.eq_ignore_ascii_case(node)) {
                warnings.push(Diagnostic::warning(
                    format!("nodes {other} and {node} differ in capitals only"),
                    "write them alike if they are one",
                ));
            }
        }
        let live: Vec<Wiring> = self
            .parts
            .iter()
            .filter(|p| p.fitted && !matches!(p.kind, PartKind::Switch { closed: false, .. }))
            .map(|p| p.kind.wiring())
            .collect();
        let live: Vec<&Wiring> = live.iter().collect();
        for island in islands(&live, self.nodes.len(), self.input) {
            warnings.push(Diagnostic::warning(
                format!(
                    "{} no path for direct current to ground as it stands",
                    has(&island, &self.nodes)
                ),
                "check which parts are fitted and which switches are open",
            ));
        }
        warnings.extend(mismatches(self));
        warnings
    }
}

impl PartKind {
    /// Name of the control that moves the part.
    pub fn control(&self) -> Option<&str> {
        match self {
            PartKind::Pot { control, .. } | PartKind::Switch { control, .. } => Some(control),
            _ => None,
        }
    }
}

fn name(nodes: &[String], node: NodeId) -> &str {
    &nodes[node.0 as usize]
}

/// Disjoint sets of nodes.
struct Groups(Vec<u16>);

impl Groups {
    fn new(count: usize) -> Self {
        Groups((0..count as u16).collect())
    }

    fn root(&mut self, mut node: u16) -> u16 {
        while self.0[node as usize] != node {
            let parent = self.0[node as usize];
            self.0[node as usize] = self.0[parent as usize];
            node = parent;
        }
        node
    }

    /// Joins two groups; false if they were one already.
    fn join(&mut self, a: NodeId, b: NodeId) -> bool {
        let (a, b) = (self.root(a.0), self.root(b.0));
        // The lower name stays, so the result does not depend on the order of the parts.
        self.0[a.max(b) as usize] = a.min(b);
        a != b
    }
}
