//! What stands beside a valve: its anode's dissipation against the limit, in numbers.

use crate::analysis::voltages::ValveReading;
use crate::circuit::topology::Role;
use crate::circuit::{Circuit, PartId};
use crate::editor::analyses::reports::Quick;
use crate::text::digits::{printed, significant};
use std::collections::BTreeMap;

/// By part a line beside it, and whether the proposal changes it.
pub fn notes(
    circuit: &Circuit,
    quick: &Quick,
) -> impl Fn(PartId) -> Option<(String, bool)> + use<> {
    let topology = circuit.topology();
    let mut lines = BTreeMap::new();
    for section in topology
        .sections
        .iter()
        .filter(|s| s.role == Role::OutputValve)
    {
        let name = &circuit.part(section.part).designator;
        let [found, proposed] = [&quick.charts.as_found, &quick.charts.proposed]
            .map(|chart| chart.valves.get(name).and_then(watts));
        let (Some(found), Some((limit, proposed))) = (found, proposed) else {
            continue;
        };
        let (before, after) = (significant(found.1, 2), significant(proposed, 2));
        let over = if proposed > limit { ", over" } else { "" };
        let text = if before == after {
            format!("{after} of {} W{over}", printed(limit))
        } else {
            format!("{before} → {after} of {} W{over}", printed(limit))
        };
        lines.insert(section.part, (text, before != after));
    }
    move |part| lines.get(&part).cloned()
}

/// Limit and dissipation of an anode, W.
fn watts(reading: &ValveReading) -> Option<(f64, f64)> {
    reading
        .anode_limit_watts
        .filter(|_| reading.fitted)
        .map(|limit| (limit, reading.anode_watts))
}
