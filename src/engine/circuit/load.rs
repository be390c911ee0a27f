//! What an output transformer is loaded with: rated impedances and turns, no frequencies. And
//! loudspeakers that are put in besides.

use super::diagnostics::Diagnostic;
use super::{Circuit, GROUND, NodeId, OutputTransformer, Part, PartId, PartKind};
use crate::device::Loudspeaker;
use crate::units::Quantity;
use std::sync::Arc;

/// Resistors up to this many ohms beside a loudspeaker count as load: dummy loads and attenuators
/// do, feedback and bleeder resistors do not (own choice).
const LOAD_OHMS: f64 = 100.0;
/// Conductance of a closed contact against loads of some ohms, S.
const CONTACT_SIEMENS: f64 = 1e4;
/// What holds a node that nothing else holds, S.
const STRAY_SIEMENS: f64 = 1e-9;
/// A load within this of what it is meant to be counts as right, either way: rated impedances are
/// round numbers (own choice).
pub const RIGHT_RATIO: f64 = 1.25;
/// Less than this is no load, S: 100 kΩ.
const NO_LOAD_SIEMENS: f64 = 1e-5;

/// How the rated impedances load a transformer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct NominalLoad {
    /// The transformer.
    pub transformer: PartId,
    /// Rated impedance of all that is connected, at the taps that it is connected to, Ω; infinite
    /// without a load.
    pub ohms: f64,
    /// What those taps are meant for, Ω.
    pub meant_ohms: f64,
    /// What the whole primary then shows the valves, Ω.
    pub primary_ohms: f64,
    /// What the transformer is meant to show them, Ω.
    pub meant_primary_ohms: f64,
}

impl NominalLoad {
    /// Load over what it is meant to be: 2 for 16 Ω where 8 Ω belong.
    pub fn ratio(&self) -> f64 {
        self.ohms / self.meant_ohms
    }
}

/// How a second loudspeaker is connected to the first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Join {
    /// Both across the same socket.
    Parallel,
    /// One after the other.
    Series,
}

/// How open contacts are taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Contacts {
    AsTheyStand,
    Closed,
}

/// Two nodes and what conducts between them, S.
type Edge = ([NodeId; 2], f64);

/// What of the parts may load a secondary.
fn edges(parts: &[Part], contacts: Contacts, all_in: bool) -> Vec<Edge> {
    let fitted = parts.iter().filter(|part| part.fitted || all_in);
    fitted
        .filter_map(|part| match &part.kind {
            PartKind::Loudspeaker { driver, between } => Some((*between, 1.0 / driver.rated_ohms)),
            PartKind::Resistor { ohms, between } if *ohms <= LOAD_OHMS => {
                Some((*between, 1.0 / ohms))
            }
            PartKind::Switch {
                closed, between, ..
            } if *closed || contacts == Contacts::Closed => Some((*between, CONTACT_SIEMENS)),
            _ => None,
        })
        .collect()
}

/// Conductance that the edges show the whole secondary, S, and the share of its turns that they
/// hang on.
fn conductance(transformer: &OutputTransformer, edges: &[Edge]) -> (f64, f64) {
    let taps = &transformer.secondary;
    // Nodes that hang on the taps by edges; ground is no way round, since everything hangs on it.
    let mut reached: Vec<NodeId> = taps.taps.clone();
    loop {
        let unsolved = |n: &NodeId| reached.contains(n) && (*n != GROUND || taps.taps.contains(n));
        let next = edges
            .iter()
            .flat_map(|([a, b], _)| match (unsolved(a), unsolved(b)) {
                (true, false) if *b != GROUND => Some(*b),
                (false, true) if *a != GROUND => Some(*a),
                _ => None,
            });
        match next.into_iter().find(|n| !reached.contains(n)) {
            Some(node) => reached.push(node),
            None => break,
        }
    }
    let place = |node: NodeId| reached.iter().position(|&n| n == node);
    let inside: Vec<([usize; 2], f64)> = edges
        .iter()
        .filter_map(|&([a, b], siemens)| Some(([place(a)?, place(b)?], siemens)))
        .collect();
    let volts = node_volts(&taps.shares, reached.len(), &inside);
    let watts = |&([a, b], siemens): &([usize; 2], f64)| siemens * (volts[a] - volts[b]).powi(2);
    let amps = |&([a, b], siemens): &([usize; 2], f64)| siemens * (volts[a] - volts[b]).abs();
    let used: Vec<f64> = inside
        .iter()
        .filter(|edge| amps(edge) > NO_LOAD_SIEMENS)
        .flat_map(|(ends, _)| ends.iter().filter_map(|&end| taps.shares.get(end).copied()))
        .collect();
    let most = used.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let least = used.iter().copied().fold(f64::INFINITY, f64::min);
    let share = if most > least { most - least } else { 1.0 };
    (inside.iter().map(watts).sum(), share)
}

/// Volts of the nodes with one volt across the secondary: the first ones are held by its taps, the
/// others found by elimination.
fn node_volts(unsolved: &[f64], count: usize, edges: &[([usize; 2], f64)]) -> Vec<f64> {
    let first = unsolved.len();
    let free = count - first;
    let mut rows = vec![vec![0.0; free + 1]; free];
    for (index, row) in rows.iter_mut().enumerate() {
        row[index] = STRAY_SIEMENS;
    }
    for &([a, b], siemens) in edges {
        for (node, other) in [(a, b), (b, a)] {
            if node < first {
                continue;
            }
            rows[node - first][node - first] += siemens;
            match other < first {
                true => rows[node - first][free] += siemens * unsolved[other],
                false => rows[node - first][other - first] -= siemens,
            }
        }
    }
    // Diagonally dominant: no pivoting.
    for pivot in 0..free {
        let (done, below) = rows.split_at_mut(pivot + 1);
        let from = &done[pivot];
        for row in below {
            let factor = row[pivot] / from[pivot];
            for (entry, above) in row.iter_mut().zip(from).skip(pivot) {
                *entry -= factor * above;
            }
        }
    }
    let mut volts = unsolved.to_vec();
    volts.resize(count, 0.0);
    for row in (0..free).rev() {
        let behind: f64 = (row + 1..free)
            .map(|c| rows[row][c] * volts[first + c])
            .sum();
        volts[first + row] = (rows[row][free] - behind) / rows[row][row];
    }
    volts
}

/// The first transformer that had a load with every part in its place and every contact closed, and
/// has none as the parts are fitted.
pub(crate) fn unloaded(parts: &[Part]) -> Option<&Part> {
    let loaded = |t: &OutputTransformer, all_in| {
        conductance(t, &edges(parts, Contacts::Closed, all_in)).0 > NO_LOAD_SIEMENS
    };
    parts.iter().find(|part| match &part.kind {
        PartKind::OutputTransformer(t) => loaded(t, true) && !loaded(t, false),
        _ => false,
    })
}

/// Warnings where loudspeakers do not fit the taps that they are connected to.
pub(crate) fn mismatches(circuit: &Circuit) -> Vec<Diagnostic> {
    let loads = circuit.nominal_loads().into_iter();
    let warning = |load: NominalLoad| {
        let part = circuit.part(load.transformer);
        let ohms = |ohms: f64| Quantity::Impedance.in_words((10.0 * ohms).round() / 10.0);
        let (message, remedy) = if load.ohms.is_infinite() {
            // Without any loudspeaker in the file there is nothing to plug in.
            (!circuit.loudspeakers().is_empty()).then_some(())?;
            (
                "has no load as the switches stand".to_string(),
                "close the switch to the loudspeaker before the amp is driven",
            )
        } else if (1.0 / RIGHT_RATIO..=RIGHT_RATIO).contains(&load.ratio()) {
            return None;
        } else {
            (
                format!(
                    "is loaded with {} at taps that are meant for {}",
                    ohms(load.ohms),
                    ohms(load.meant_ohms)
                ),
                "use the tap that fits the loudspeakers, or see with check --load what it does",
            )
        };
        let warning = Diagnostic::warning(message, remedy);
        Some(warning.part(&part.designator).line(part.line))
    };
    loads.filter_map(warning).collect()
}

impl Circuit {
    /// Its loudspeakers, in the order of the file.
    pub fn loudspeakers(&self) -> Vec<PartId> {
        let parts = self.parts.iter().enumerate();
        let found = parts.filter(|(_, p)| matches!(p.kind, PartKind::Loudspeaker { .. }));
        found.map(|(index, _)| PartId(index as u16)).collect()
    }

    /// How the loudspeakers load each output transformer, as parts are fitted and switches stand.
    pub fn nominal_loads(&self) -> Vec<NominalLoad> {
        let edges = edges(&self.parts, Contacts::AsTheyStand, false);
        let parts = self.parts.iter().enumerate();
        let load = |(index, part): (usize, &Part)| {
            let PartKind::OutputTransformer(t) = &part.kind else {
                return None;
            };
            let (siemens, share) = conductance(t, &edges);
            let whole_ohms = match siemens > NO_LOAD_SIEMENS {
                true => 1.0 / siemens,
                false => f64::INFINITY,
            };
            Some(NominalLoad {
                transformer: PartId(index as u16),
                ohms: whole_ohms * share * share,
                meant_ohms: t.secondary_ohms * share * share,
                primary_ohms: whole_ohms * t.primary_ohms / t.secondary_ohms,
                meant_primary_ohms: t.primary_ohms,
            })
        };
        parts.filter_map(load).collect()
    }

    /// The same circuit with one more loudspeaker beside or behind one that it has: another
    /// topology. None if the part is no loudspeaker, or no designator is left for it.
    pub fn with_another_loudspeaker(
        &self,
        id: PartId,
        driver: Arc<Loudspeaker>,
        join: Join,
    ) -> Option<Circuit> {
        let mut circuit = self.clone();
        let first = circuit.parts[id.0 as usize].clone();
        let PartKind::Loudspeaker {
            driver: own,
            between,
        } = first.kind
        else {
            return None;
        };
        let free = (2..100).map(|n| format!("LS{n}"));
        let designator = free.into_iter().find(|d| self.find_part(d).is_none())?;
        let between = match join {
            Join::Parallel => between,
            Join::Series => {
                let middle = NodeId(circuit.nodes.len() as u16);
                let names = (1..).map(|n| format!("between loudspeakers {n}"));
                let name = names.into_iter().find(|n| self.find_node(n).is_none())?;
                circuit.nodes.push(name);
                circuit.parts[id.0 as usize].kind = PartKind::Loudspeaker {
                    driver: own,
                    between: [between[0], middle],
                };
                if circuit.output.loudspeaker == Some(id) {
                    circuit.output.negative = middle;
                }
                [middle, between[1]]
            }
        };
        circuit.parts.push(Part {
            designator,
            kind: PartKind::Loudspeaker { driver, between },
            fitted: true,
            ..first
        });
        Some(circuit)
    }

    /// The same circuit with every loudspeaker and dummy load disconnected, to see what must never
    /// be done.
    pub(crate) fn without_loudspeakers(&self) -> Circuit {
        let mut circuit = self.clone();
        for part in &mut circuit.parts {
            if let PartKind::Loudspeaker { .. } = part.kind {
                part.fitted = false;
            }
        }
        circuit
    }
}
