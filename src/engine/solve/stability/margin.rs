//! How near an amp that stays at rest is to oscillation.
//!
//! A stage's valves (those that share a cathode, or a transformer's primary) are given more or less
//! transconductance, or one turned by an angle, and the natural frequencies are counted again: that
//! is what gain and phase margin of a loop mean, whatever other loops there are. Half the stage would
//! show more margin than the stage has.

use super::count::{inside_of_complex, walk};
use super::gm::Gm;
use super::pencil::Pencil;
use crate::circuit::{Circuit, NodeId, PartId, PartKind};
use num_complex::Complex64;
use serde::Serialize;

/// Least gain margin, dB, and phase margin, degrees.
const LEAST_DB: f64 = 3.0;
const LEAST_DEGREES: f64 = 15.0;
/// Halvings on the way to the margin.
const HALVINGS: usize = 4;

/// A stage whose loop is near to oscillation.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Marginal {
    /// Designators of its valves.
    pub valves: Vec<String>,
    /// Gain margin, dB, where it is under 3 dB.
    pub decibels: Option<f64>,
    /// Phase margin, degrees, where it is under 15°.
    pub degrees: Option<f64>,
}

/// All such stages; none for an amp that does not stay at rest as it is.
pub(super) fn stages_near(circuit: &Circuit, pencil: &Pencil, valves: &[Gm]) -> Vec<Marginal> {
    if walk(pencil).inside != Some(0) {
        return Vec::new();
    }
    let near = stages(circuit, valves).into_iter().filter_map(|stage| {
        let by_gain = |db: f64| {
            [db, -db].into_iter().all(|db| {
                let factor = 10f64.powf(db / 20.0);
                walk(&pencil.stronger(&stage, factor.into())).inside == Some(0)
            })
        };
        let by_angle = |degrees: f64| {
            let factor = Complex64::from_polar(1.0, degrees.to_radians());
            let [one, other] = [factor, factor.conj()].map(|f| pencil.stronger(&stage, f));
            inside_of_complex(&one, &other) == Some(0)
        };
        let decibels = margin(LEAST_DB, &by_gain);
        let degrees = margin(LEAST_DEGREES, &by_angle);
        let name = |gm: &&Gm| circuit.part(gm.part).designator.clone();
        (decibels.is_some() || degrees.is_some()).then(|| Marginal {
            valves: stage.iter().map(name).collect(),
            decibels,
            degrees,
        })
    });
    near.collect()
}

/// The margin, if it is under `least`; `stays` answers for a change of a size.
fn margin(least: f64, stays: &dyn Fn(f64) -> bool) -> Option<f64> {
    if stays(least) {
        return None;
    }
    let (mut low, mut high) = (0.0, least);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if stays(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(high)
}

/// Valves of one stage together.
fn stages<'a>(circuit: &Circuit, valves: &'a [Gm]) -> Vec<Vec<&'a Gm>> {
    let mut out: Vec<(Vec<NodeId>, Vec<&Gm>)> = Vec::new();
    for gm in valves.iter().filter(|gm| gm.siemens > 0.0) {
        let key = shared(circuit, gm.part);
        let known = |(keys, _): &(Vec<NodeId>, _)| key.iter().any(|node| keys.contains(node));
        match out.iter_mut().find(|stage| known(stage)) {
            Some((keys, stage)) => {
                keys.extend(key);
                stage.push(gm);
            }
            None => out.push((key, vec![gm])),
        }
    }
    out.into_iter().map(|(_, stage)| stage).collect()
}

/// Nodes by which a valve belongs to its stage: its cathode unless that is ground, and all taps of a
/// primary that its anode is at.
fn shared(circuit: &Circuit, part: PartId) -> Vec<NodeId> {
    let (PartKind::Triode { anode, cathode, .. } | PartKind::Pentode { anode, cathode, .. }) =
        &circuit.part(part).kind
    else {
        return Vec::new();
    };
    let mut nodes = Vec::new();
    if *cathode != crate::circuit::GROUND {
        nodes.push(*cathode);
    }
    for other in circuit.parts() {
        if let PartKind::OutputTransformer(t) = &other.kind
            && t.primary.taps.contains(anode)
        {
            nodes.extend(&t.primary.taps);
        }
    }
    nodes
}
