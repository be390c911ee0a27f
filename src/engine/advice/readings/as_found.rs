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
use crate::text::list::listed;
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

/// A supply, the readings that tell its voltage, and the factor on it that brings them right.
struct Measured {
    supply: PartId,
    readings: Vec<usize>,
    factor: f64,
}

/// Makes them. `amp` is the one with the parts that were measured.
pub fn as_found(amp: &SolvedAmp, readings: &Readings) -> AsFound {
    let put_in = &amp.as_found.circuit;
    let mut notes = Vec::new();
    let mut supplies = measured_supplies(put_in, readings, &mut notes);
    fit_supplies(amp, readings, &mut supplies);
    let mut changes = readings.parts.clone();
    for supply in &supplies {
        changes.extend(change(put_in, readings, supply, &mut notes));
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

/// The supplies that readings tell of; a note on those that cannot be set.
fn measured_supplies(
    circuit: &Circuit,
    readings: &Readings,
    notes: &mut Vec<String>,
) -> Vec<Measured> {
    let mut supplies = Vec::new();
    for (i, part) in circuit.parts().iter().enumerate() {
        let (node, rectified) = match part.kind {
            PartKind::Supply { node, .. } | PartKind::BiasSupply { node, .. } => (node, false),
            PartKind::Rectifier { to, .. } => (to, true),
            _ => continue,
        };
        let of_supply = of_supply(circuit, node, readings);
        match (of_supply.is_empty(), rectified) {
            (true, _) => {}
            (false, true) => notes.push(format!(
                "{}: its winding voltage stands in the circuit file and was left alone.",
                part.designator
            )),
            (false, false) => supplies.push(Measured {
                supply: PartId(i as u16),
                readings: of_supply,
                factor: 1.0,
            }),
        }
    }
    supplies
}

/// Sets every factor such that the readings come out right on the average, one supply after the
/// other, several rounds: each also moves the readings of the others a little.
fn fit_supplies(amp: &SolvedAmp, readings: &Readings, supplies: &mut [Measured]) {
    let model = Model::new(&amp.network, &amp.as_found, readings);
    let mut solver = OperatingPointSolver::new(&amp.network);
    let mut values = amp.as_found.values.clone();
    for _ in 0..ROUNDS {
        for index in 0..supplies.len() {
            // How far the readings are off on the average, as a share, for a factor on this supply.
            let off = |factor: f64| {
                values.clone_from(&amp.as_found.values);
                for (i, other) in supplies.iter().enumerate() {
                    let factor = if i == index { factor } else { other.factor };
                    drive(&amp.network, other.supply, factor, &mut values);
                }
                let read = model.read(&values, &mut solver)?;
                let measured = &supplies[index].readings;
                let shares = measured
                    .iter()
                    .map(|&i| read[i] / readings.volts[i].volts - 1.0);
                Some(shares.sum::<f64>() / measured.len() as f64)
            };
            if let Some(factor) = zero_near(supplies[index].factor, off) {
                supplies[index].factor = factor;
            }
        }
    }
}

/// Where a function of a factor is zero, by the secant method from `start`; none where it has no
/// value.
fn zero_near(start: f64, mut function: impl FnMut(f64) -> Option<f64>) -> Option<f64> {
    let (mut a, mut b) = (start, start * 1.01);
    let (mut at_a, mut at_b) = (function(a), function(b));
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
        at_b = function(b);
    }
    at_b.map(|_| b)
}

/// The change of a supply, if it is one, and a note on what became of it.
fn change(
    circuit: &Circuit,
    readings: &Readings,
    Measured {
        supply,
        readings: measured,
        factor,
    }: &Measured,
    notes: &mut Vec<String>,
) -> Option<Change> {
    let part = circuit.part(*supply);
    let (volts, quantity) = match part.kind {
        PartKind::Supply { volts, .. } => (volts, Quantity::SupplyVoltage),
        PartKind::BiasSupply { volts, .. } => (volts, Quantity::BiasVoltage),
        _ => return None,
    };
    let at = |factor: f64| (PLACES * volts * factor).round() / PLACES;
    let points = measured.iter().map(|&i| readings.volts[i].point.as_str());
    let named = listed(&points.collect::<Vec<_>>());
    let designator = &part.designator;
    let unlikely = *factor >= MOST * 0.999 || *factor <= 1.001 / MOST;
    if unlikely || quantity.check(at(*factor)).is_err() {
        notes.push(format!(
            "{designator}: left at {} V; no likely supply voltage brings {named} to what was read.",
            fixed(volts, 1)
        ));
        return None;
    }
    if at(*factor) == at(1.0) {
        notes.push(format!(
            "{designator}: {} V as it is, which brings {named} to what was read.",
            fixed(volts, 1)
        ));
        return None;
    }
    let (s, they) = match measured.len() {
        1 => ("s", "it"),
        _ => ("", "they"),
    };
    notes.push(format!(
        "{designator}: {} V in place of {} V, so that {named} read{s} as {they} did.",
        fixed(at(*factor), 1),
        fixed(volts, 1)
    ));
    Some(Change {
        parts: vec![*supply],
        value: PartValue::Quantity(at(*factor)),
    })
}

/// Readings that tell a supply's voltage: at its own node, or else at the supply nodes behind
/// resistors and chokes from there. A reading of nothing tells nothing.
fn of_supply(circuit: &Circuit, node: NodeId, readings: &Readings) -> Vec<usize> {
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
