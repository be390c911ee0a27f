//! What happens to the output valves when one part of the bias path comes loose (common practice
//! in servicing, no source: a bias supply should fail towards more bias, not towards none).

use super::bias_path::{IdleSolver, limits, path};
use super::passive::{NO_PATH_OHMS, resistance};
use crate::circuit::{Circuit, GROUND, NodeId, PartId, PartKind, electrodes, output_sections};
use crate::network::{Network, Values};
use crate::solve::solved::SolvedCircuit;
use crate::text::list::listed;
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
    /// Anode dissipation of the hottest of them, per cent of its limit; none where a grid hangs in
    /// the air, which no model of ours can tell.
    pub percent: Option<f64>,
    /// A sentence.
    pub in_words: String,
}

/// A valve counts as cooled or heated from this change of its dissipation on.
const MOVED_SHARE: f64 = 0.05;

/// What each single part of the bias path does when it comes loose, dangerous ones first. Parts
/// that do nothing are left out; so is everything where an output valve has no printed limit.
pub fn loose_parts(network: &Network, side: &SolvedCircuit) -> Vec<Loose> {
    let output = output_sections(&side.circuit);
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
    let found_watts = solver.at_rest().watts;
    let mut found: Vec<Loose> = Vec::new();
    for id in path(&side.circuit, &from) {
        let Some(Without { watts, floating }) = without(&mut solver, network, side, id) else {
            continue;
        };
        let share = |i: usize| watts[i] / limits[i];
        let heated = |&i: &usize| share(i) > 1.0 && watts[i] > found_watts[i] * (1.0 + MOVED_SHARE);
        let cooled = |&i: &usize| watts[i] < found_watts[i] * (1.0 - MOVED_SHARE);
        let all = 0..watts.len();
        let hot: Vec<usize> = all.clone().filter(heated).collect();
        let cold: Vec<usize> = all.filter(cooled).collect();
        let hangs = !floating.is_empty();
        let loses_bias = hangs || !hot.is_empty();
        let moved = match (hangs, loses_bias) {
            (true, _) => floating,
            (_, true) => hot,
            _ => cold,
        };
        if moved.is_empty() {
            continue;
        }
        let percent = moved.iter().map(|&i| 100.0 * share(i)).fold(0.0, f64::max);
        let percent = (!hangs).then_some(percent);
        let name = |&i: &usize| side.circuit.part(output[i]).designator.clone();
        let valves: Vec<String> = moved.iter().map(name).collect();
        let part = side.circuit.part(id);
        let designator = match part.kind {
            PartKind::Pot { .. } => format!("the wiper of {}", part.designator),
            _ => part.designator.clone(),
        };
        let alike = |l: &&mut Loose| {
            l.valves == valves
                && l.loses_bias == loses_bias
                && l.percent.is_none() == percent.is_none()
        };
        match found.iter_mut().find(alike) {
            Some(loose) => {
                loose.parts.push(designator);
                loose.percent = loose.percent.zip(percent).map(|(a, b)| a.max(b));
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
    let one = loose.valves.len() == 1;
    let say = |one_word, many| if one { one_word } else { many };
    let when = match loose.parts.as_slice() {
        [one] => format!("If {one} comes loose"),
        [rest @ .., last] => format!("If {} or {last} comes loose", rest.join(", ")),
        [] => String::new(),
    };
    let far = match loose.percent {
        Some(percent) if percent <= 150.0 => "",
        _ => "far ",
    };
    match (loose.loses_bias, loose.percent) {
        (true, Some(_)) => format!(
            "{when}, {valves} {} bias and {} {far}over the limit: check that joint well.",
            say("loses its", "lose their"),
            say("its anode goes", "their anodes go"),
        ),
        (true, None) => format!(
            "{when}, the {} of {valves} {} in the air: no bias holds, and the {} can go {far}over \
             the limit. Check that joint well.",
            say("grid", "grids"),
            say("hangs", "hang"),
            say("anode", "anodes"),
        ),
        (false, _) => format!(
            "{when}, {valves} {} colder or not at all: that is the safe way to fail.",
            say("runs", "run"),
        ),
    }
}

/// The output valves with one part loose.
struct Without {
    /// Anode watts of each.
    watts: Vec<f64>,
    /// Those whose grid has no path left to ground.
    floating: Vec<usize>,
}

/// The output valves with one part open; of a pot, its wiper.
fn without(
    solver: &mut IdleSolver<'_>,
    network: &Network,
    side: &SolvedCircuit,
    id: PartId,
) -> Option<Without> {
    let part = side.circuit.part(id);
    let output = solver.output().to_vec();
    let floating = |network: &Network, circuit: &Circuit, values: &Values| -> Vec<usize> {
        let hangs = |i: &usize| {
            electrodes(circuit.part(output[*i])).is_some_and(|valve| {
                let ends = [valve.grid, GROUND].map(|node| network.position(node));
                resistance(network, circuit, values, ends) > NO_PATH_OHMS
            })
        };
        (0..output.len()).filter(hangs).collect()
    };
    if !matches!(part.kind, PartKind::Pot { .. }) {
        let mut open = part.clone();
        open.fitted = false;
        let values = solver.with_part(&side.values, id, &open);
        return Some(Without {
            watts: solver.idle(&values)?.watts,
            floating: floating(network, &side.circuit, &values),
        });
    }
    // The track stays, from end to end; the wiper's node hangs in the air.
    let circuit = side.circuit.with_wiper_lifted(id);
    let network = Network::new(&circuit);
    let lifted = SolvedCircuit::new(&network, circuit).ok()?;
    let floating = floating(&network, &lifted.circuit, &lifted.values);
    let solver = IdleSolver::new(&network, &lifted, output);
    Some(Without {
        watts: solver.at_rest().watts,
        floating,
    })
}
