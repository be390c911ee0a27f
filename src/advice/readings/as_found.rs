//! Readings become the values that the next round starts from: parts as they were measured, and
//! supplies such that the supply nodes that were measured come out right.

use super::fault::drive;
use super::model::Model;
use crate::analysis::valves_playing::supply_nodes;
use crate::circuit::{
    Change, Circuit, GROUND, NodeId, PartId, PartKind, PartValue, Proposal, Readings,
};
use crate::solve::OperatingPointSolver;
use crate::solve::solved::SolvedAmp;
use crate::text::digits::fixed;
use crate::units::Quantity;

/// Rounds over all supplies, and secant steps on each.
const ROUNDS: usize = 4;
const STEPS: usize = 6;
/// Supplies are written to a tenth of a volt.
const PLACES: f64 = 10.0;
/// A supply that would have to be off by more than this factor is not what is wrong.
const MOST: f64 = 1.5;

/// The values, in the shape of a proposal.
#[derive(Clone, Debug, PartialEq)]
pub struct AsFound {
    /// Changes to the circuit that the readings were compared with.
    pub proposal: Proposal,
    /// What was done and what could not be, a sentence each.
    pub notes: Vec<String>,
}

/// Makes them. `amp` is the one with the parts that were measured.
pub fn as_found(amp: &SolvedAmp, readings: &Readings) -> AsFound {
    let put_in = &amp.as_found.circuit;
    let model = Model::new(&amp.network, &amp.as_found, readings);
    let mut notes = Vec::new();
    let mut sources: Vec<(PartId, Vec<usize>, f64)> = Vec::new();
    for (i, part) in put_in.parts().iter().enumerate() {
        let (node, rectified) = match part.kind {
            PartKind::Supply { node, .. } | PartKind::BiasSupply { node, .. } => (node, false),
            PartKind::Rectifier { to, .. } => (to, true),
            _ => continue,
        };
        let measured = told_by(put_in, node, readings);
        match (measured.is_empty(), rectified) {
            (true, _) => {}
            (false, true) => notes.push(format!(
                "{}: its winding voltage stands in the circuit file and was left alone.",
                part.designator
            )),
            (false, false) => sources.push((PartId(i as u16), measured, 1.0)),
        }
    }
    let mut solver = OperatingPointSolver::new(&amp.network);
    let mut values = amp.as_found.values.clone();
    for _ in 0..ROUNDS {
        for index in 0..sources.len() {
            let (id, measured, start) = sources[index].clone();
            // How far the nodes are off on the average, as a share, for a factor on this supply.
            let mut off = |factor: f64| {
                values.clone_from(&amp.as_found.values);
                for (other, _, set) in &sources {
                    drive(
                        &amp.network,
                        *other,
                        if *other == id { factor } else { *set },
                        &mut values,
                    );
                }
                let read = model.read(&values, &mut solver)?;
                let shares = measured
                    .iter()
                    .map(|&i| read[i] / readings.volts[i].volts - 1.0);
                Some(shares.sum::<f64>() / measured.len() as f64)
            };
            let (mut a, mut b) = (start, start * 1.01);
            let (mut at_a, mut at_b) = (off(a), off(b));
            for _ in 0..STEPS {
                let (Some(fa), Some(fb)) = (at_a, at_b) else {
                    break;
                };
                let next = b - fb * (b - a) / (fb - fa);
                if !next.is_finite() || (next - b).abs() < 1e-6 {
                    break;
                }
                (a, at_a) = (b, at_b);
                b = next.clamp(1.0 / MOST, MOST);
                at_b = off(b);
            }
            if at_b.is_some() {
                sources[index].2 = b;
            }
        }
    }
    let mut changes = readings.parts.clone();
    for (id, measured, factor) in &sources {
        let part = put_in.part(*id);
        let (volts, quantity) = match part.kind {
            PartKind::Supply { volts, .. } => (volts, Quantity::SupplyVoltage),
            PartKind::BiasSupply { volts, .. } => (volts, Quantity::BiasVoltage),
            _ => continue,
        };
        let at = |factor: f64| (PLACES * volts * factor).round() / PLACES;
        let named: Vec<&str> = measured
            .iter()
            .map(|&i| readings.volts[i].point.as_str())
            .collect();
        let named = crate::text::list::listed(&named);
        if *factor >= MOST * 0.999
            || *factor <= 1.001 / MOST
            || quantity.check(at(*factor)).is_err()
        {
            notes.push(format!(
                "{}: left at {} V; no likely supply voltage brings {named} to what was read.",
                part.designator,
                fixed(volts, 1)
            ));
            continue;
        }
        if at(*factor) == at(1.0) {
            notes.push(format!(
                "{}: {} V as it is, which brings {named} to what was read.",
                part.designator,
                fixed(volts, 1)
            ));
            continue;
        }
        let (s, they) = if measured.len() == 1 {
            ("s", "it")
        } else {
            ("", "they")
        };
        notes.push(format!(
            "{}: {} V in place of {} V, so that {named} read{s} as {they} did.",
            part.designator,
            fixed(at(*factor), 1),
            fixed(volts, 1)
        ));
        changes.push(Change {
            parts: vec![*id],
            value: PartValue::Quantity(at(*factor)),
        });
    }
    AsFound {
        proposal: Proposal {
            name: "As found, measured".into(),
            about: readings.about.clone(),
            for_amp: put_in.name().into(),
            changes,
            settings: Vec::new(),
        },
        notes,
    }
}

/// Readings that tell a supply's voltage: at its own node, or else at the supply nodes behind
/// resistors and chokes from there. A reading of nothing tells nothing.
fn told_by(circuit: &Circuit, node: NodeId, readings: &Readings) -> Vec<usize> {
    let at = |wanted: &dyn Fn(NodeId) -> bool| -> Vec<usize> {
        let rows = readings.volts.iter().enumerate();
        rows.filter(|(_, r)| r.volts != 0.0 && wanted(r.node))
            .map(|(i, _)| i)
            .collect()
    };
    let own = at(&|n| n == node);
    if !own.is_empty() {
        return own;
    }
    let supplies = supply_nodes(circuit);
    let mut reached = vec![node];
    let mut next = 0;
    while let Some(&from) = reached.get(next) {
        next += 1;
        for part in circuit.parts().iter().filter(|p| p.fitted) {
            let (PartKind::Resistor { between, .. } | PartKind::Inductor { between, .. }) =
                part.kind
            else {
                continue;
            };
            for [a, b] in [between, [between[1], between[0]]] {
                if a == from && b != GROUND && supplies.contains(&b) && !reached.contains(&b) {
                    reached.push(b);
                }
            }
        }
    }
    at(&|n| reached.contains(&n))
}
