//! The ways of connecting loudspeakers that are worked out, each as a circuit.

use super::no_loads::NoLoads;
use crate::circuit::{Circuit, Join, NodeId, NominalLoad, PartId, PartKind};
use crate::device::Catalogue;
use serde::Serialize;
use std::fmt;

/// A way of connecting loudspeakers.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// As the amp is.
    AsItIs,
    /// Another one in place of the one that is heard; its name.
    Instead(String),
    /// One that is not connected, connected; its designator and name.
    PutIn(String, String),
    /// A second of this name across the same socket.
    Parallel(String),
    /// A second of this name in series.
    Series(String),
    /// Nothing at all, which must not be.
    Nothing,
}

impl fmt::Display for Way {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Way::AsItIs => f.write_str("As it is"),
            Way::Instead(name) => write!(f, "{name} instead"),
            Way::PutIn(designator, name) => write!(f, "{designator} ({name}) as well"),
            Way::Parallel(name) => write!(f, "A second {name} in parallel"),
            Way::Series(name) => write!(f, "A second {name} in series"),
            Way::Nothing => f.write_str("Nothing connected"),
        }
    }
}

/// How the transformer that feeds what is heard is loaded; none without one.
pub fn nominal(circuit: &Circuit) -> Option<NominalLoad> {
    let loads = circuit.nominal_loads();
    let output = circuit.output();
    let fed = |load: &&NominalLoad| match &circuit.part(load.transformer).kind {
        PartKind::OutputTransformer(t) => {
            let taps = &t.secondary.taps;
            taps.contains(&output.positive) || taps.contains(&output.negative)
        }
        _ => false,
    };
    // A loudspeaker in series may touch no tap itself.
    loads.iter().find(fed).or(loads.first()).copied()
}

/// How the transformer behind the loudspeaker that is heard is loaded.
///
/// # Errors
/// [`NoLoads::NoLoudspeaker`], where there is nothing to report of.
pub fn loaded(circuit: &Circuit) -> Result<NominalLoad, NoLoads> {
    let heard = circuit.output().loudspeaker;
    let nominal = heard.and_then(|_| nominal(circuit));
    nominal.ok_or(NoLoads::NoLoudspeaker)
}

/// All ways with their circuits, as it is first; none where no loudspeaker is heard.
pub fn ways(circuit: &Circuit, catalogue: &Catalogue) -> Vec<(Way, Circuit)> {
    let Some(heard) = circuit.output().loudspeaker else {
        return Vec::new();
    };
    let PartKind::Loudspeaker { driver, between } = &circuit.part(heard).kind else {
        return Vec::new();
    };
    let mut ways = vec![(Way::AsItIs, circuit.clone())];
    let known = circuit.known_loudspeakers(catalogue);
    let others = known.all().filter(|l| l.name != driver.name);
    for other in others.filter(|_| circuit.part(heard).fitted) {
        let mut part = circuit.part(heard).clone();
        part.kind = PartKind::Loudspeaker {
            driver: other.clone(),
            between: *between,
        };
        let changed = circuit.with_parts(&[(heard, part)]);
        ways.push((Way::Instead(other.name.clone()), changed));
    }
    let unplugged = circuit.loudspeakers().into_iter();
    for id in unplugged.filter(|&id: &PartId| !circuit.part(id).fitted) {
        let mut part = circuit.part(id).clone();
        part.fitted = true;
        if let PartKind::Loudspeaker { driver, .. } = &part.kind {
            let way = Way::PutIn(part.designator.clone(), driver.name.clone());
            ways.push((way, circuit.with_parts(&[(id, part)])));
        }
    }
    for (join, way) in [
        (Join::Parallel, Way::Parallel(driver.name.clone())),
        (Join::Series, Way::Series(driver.name.clone())),
    ] {
        // What an extension socket stands for need not be listed twice.
        let listed = ways.iter().any(|(way, changed)| {
            matches!(way, Way::PutIn(_, name) if *name == driver.name)
                && join == Join::Parallel
                && in_parallel(changed, *between)
        });
        let fitted = circuit.part(heard).fitted && !listed;
        let more = circuit.with_another_loudspeaker(heard, driver.clone(), join);
        ways.extend(more.filter(|_| fitted).map(|more| (way, more)));
    }
    ways.push((Way::Nothing, circuit.without_loudspeakers()));
    ways
}

/// Whether all fitted loudspeakers stand across these nodes.
fn in_parallel(circuit: &Circuit, nodes: [NodeId; 2]) -> bool {
    let loudspeakers = circuit.loudspeakers().into_iter();
    let mut fitted = loudspeakers.map(|id| circuit.part(id)).filter(|p| p.fitted);
    fitted
        .all(|part| matches!(part.kind, PartKind::Loudspeaker { between, .. } if between == nodes))
}
