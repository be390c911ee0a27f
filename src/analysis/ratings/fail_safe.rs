//! What happens to the output valves when one part of the bias path comes loose (common practice
//! in servicing, no source: a bias supply should fail towards more bias, not towards none).

use super::super::at_rest::Side;
use super::bias_method::{electrodes, output_sections};
use super::bias_path::{IdleSolver, limits, path};
use super::finding::listed;
use crate::circuit::{NodeId, PartId, PartKind};
use crate::network::Network;
use crate::solve::operating_point;
use serde::Serialize;

/// Parts that do the same when one of them comes loose.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Loose {
    /// Designators; of a pot it is the wiper that lifts.
    pub parts: Vec<String>,
    /// The output valves that it drives over their limit, or runs colder.
    pub valves: Vec<String>,
    /// Whether those valves lose their bias.
    pub loses_bias: bool,
    /// Anode dissipation of the hottest of them in the model, per cent of its limit.
    pub percent: f64,
    /// A sentence.
    pub in_words: String,
}

/// A valve counts as cooled or heated from this change of its dissipation on.
const MOVED_SHARE: f64 = 0.05;

/// What each single part of the bias path does when it comes loose, dangerous ones first. Parts
/// that do nothing are left out; so is everything where an output valve has no printed limit.
pub fn loose_parts(network: &Network, side: &Side) -> Vec<Loose> {
    let output = output_sections(side);
    let Some(limits) = limits(side, &output).filter(|l| !l.is_empty()) else {
        return Vec::new();
    };
    let mut from: Vec<NodeId> = Vec::new();
    for &id in &output {
        if let Some(valve) = electrodes(side.circuit.part(id)) {
            from.extend([valve.grid, valve.cathode]);
        }
    }
    let mut solver = IdleSolver::new(network, side, output.clone());
    let Some(rest) = solver.idle(&side.values) else {
        return Vec::new();
    };
    let mut found: Vec<Loose> = Vec::new();
    for id in path(&side.circuit, &from) {
        let Some(watts) = watts_without(&mut solver, side, id) else {
            continue;
        };
        let share = |i: usize| watts[i] / limits[i];
        let heated = |&i: &usize| share(i) > 1.0 && watts[i] > rest.watts[i] * (1.0 + MOVED_SHARE);
        let cooled = |&i: &usize| watts[i] < rest.watts[i] * (1.0 - MOVED_SHARE);
        let all = 0..watts.len();
        let hot: Vec<usize> = all.clone().filter(heated).collect();
        let cold: Vec<usize> = all.filter(cooled).collect();
        let loses_bias = !hot.is_empty();
        let moved = if loses_bias { hot } else { cold };
        if moved.is_empty() {
            continue;
        }
        let percent = moved.iter().map(|&i| 100.0 * share(i)).fold(0.0, f64::max);
        let name = |&i: &usize| side.circuit.part(output[i]).designator.clone();
        let valves: Vec<String> = moved.iter().map(name).collect();
        let part = side.circuit.part(id);
        let designator = match part.kind {
            PartKind::Pot { .. } => format!("the wiper of {}", part.designator),
            _ => part.designator.clone(),
        };
        let alike = |l: &&mut Loose| l.valves == valves && l.loses_bias == loses_bias;
        match found.iter_mut().find(alike) {
            Some(loose) => {
                loose.parts.push(designator);
                loose.percent = loose.percent.max(percent);
            }
            None => found.push(Loose {
                parts: vec![designator],
                valves,
                loses_bias,
                percent,
                in_words: String::new(),
            }),
        }
    }
    for loose in &mut found {
        loose.in_words = sentence(loose);
    }
    found.sort_by_key(|loose| !loose.loses_bias);
    found
}

fn sentence(loose: &Loose) -> String {
    let names = |list: &[String]| listed(&list.iter().map(String::as_str).collect::<Vec<_>>());
    let valves = names(&loose.valves);
    let (lose, run, them) = match loose.valves.len() {
        1 => ("loses its", "runs", "its anode goes"),
        _ => ("lose their", "run", "their anodes go"),
    };
    let when = match loose.parts.as_slice() {
        [one] => format!("If {one} comes loose"),
        [rest @ .., last] => format!("If {} or {last} comes loose", rest.join(", ")),
        [] => String::new(),
    };
    if loose.loses_bias {
        let far = if loose.percent > 150.0 { "far " } else { "" };
        format!(
            "{when}, {valves} {lose} bias and {them} {far}over the limit: check that joint well."
        )
    } else {
        format!("{when}, {valves} {run} colder or not at all: that is the safe way to fail.")
    }
}

/// Watts of the output valves with one part open; of a pot, its wiper.
fn watts_without(solver: &mut IdleSolver<'_>, side: &Side, id: PartId) -> Option<Vec<f64>> {
    let part = side.circuit.part(id);
    if !matches!(part.kind, PartKind::Pot { .. }) {
        let mut open = part.clone();
        open.fitted = false;
        let values = solver.with_part(&side.values, id, &open);
        return Some(solver.idle(&values)?.watts);
    }
    // The track stays, from end to end; the wiper's node hangs in the air.
    let circuit = side.circuit.with_wiper_lifted(id);
    let network_without = Network::new(&circuit);
    debug_assert_eq!(circuit.nodes().len(), side.circuit.nodes().len());
    let values = network_without.values(&circuit);
    let point = operating_point(&network_without, &values).ok()?;
    let lifted = Side {
        circuit,
        values,
        point,
    };
    let output = solver.output().to_vec();
    let mut solver = IdleSolver::new(&network_without, &lifted, output);
    Some(solver.idle(&lifted.values)?.watts)
}
