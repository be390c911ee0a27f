//! What a meter should read: at every pin of every valve and at every node of the supply, as found
//! and as proposed.

use super::bases::{pin, rectifier_cathode};
use crate::advice::spread::{SideSpread, SpreadReport};
use crate::circuit::{Circuit, GROUND, NodeId, PartKind, electrodes};
use crate::device::Electrode;
use crate::network::Network;
use crate::solve::solved::{Both, SolvedAmp, SolvedCircuit};
use serde::Serialize;

/// A reservoir or decoupling capacitor has at least so much, F; cathodes have such capacitors too
/// and are told apart (common practice, no source).
const LEAST_RESERVOIR_FARADS: f64 = 1e-6;
/// A node of a supply stands at least so far from ground, V.
const LEAST_SUPPLY_VOLTS: f64 = 5.0;

/// One expected reading, without signal.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Expected {
    /// Designator of the valve, or of the part that makes the supply or holds it.
    pub at: String,
    /// Type of the valve, or what the capacitor does there; may be empty.
    pub what: String,
    /// Electrode; none for a supply node.
    pub electrode: Option<Electrode>,
    /// Number of the pin, where the base is known.
    pub pin: Option<&'static str>,
    /// Node of the circuit file.
    pub node: String,
    /// Expected volts to ground.
    pub volts: Both<f64>,
    /// What nine in ten amps of this model read, lowest and highest, V; none where the spread was
    /// not computed, and for ground.
    pub range: Option<Both<[f64; 2]>>,
    /// Whether the proposal moves it by more than a meter's last digit.
    pub moves: bool,
}

/// A reading that moves by more than this share and by more than 0.05 V is worth a look.
const MOVES_SHARE: f64 = 0.005;
const MOVES_VOLTS: f64 = 0.05;

/// Reads both sides.
struct Meter<'a> {
    amp: &'a SolvedAmp,
    spread: Option<&'a SpreadReport>,
}

impl Meter<'_> {
    fn volts(&self, node: NodeId) -> Both<f64> {
        let network: &Network = &self.amp.network;
        let at = |side: &SolvedCircuit| side.point.solution[network.position(node)];
        Both {
            as_found: at(&self.amp.as_found),
            proposed: at(self.amp.asked_for()),
        }
    }

    fn expected(&self, node: NodeId) -> Expected {
        let volts = self.volts(node);
        let name = &self.amp.as_found.circuit.nodes()[node.0 as usize];
        let band = |side: &SideSpread| {
            let band = side.nodes.get(name)?;
            Some([band.p5, band.p95])
        };
        let range = self.spread.and_then(|spread| {
            Some(Both {
                as_found: band(&spread.as_found)?,
                proposed: band(spread.proposed.as_ref().unwrap_or(&spread.as_found))?,
            })
        });
        let by = (volts.proposed - volts.as_found).abs();
        Expected {
            at: String::new(),
            what: String::new(),
            electrode: None,
            pin: None,
            node: name.clone(),
            volts,
            range,
            moves: by > MOVES_VOLTS && by > MOVES_SHARE * volts.as_found.abs(),
        }
    }
}

/// Every electrode of every valve, in the order of the file; a rectifier's cathode among them.
pub fn pins(amp: &SolvedAmp, spread: Option<&SpreadReport>) -> Vec<Expected> {
    let meter = Meter { amp, spread };
    let mut out = Vec::new();
    for part in amp.asked_for().circuit.parts() {
        let mut add = |what: &str, electrode, pin, node| {
            out.push(Expected {
                at: part.designator.clone(),
                what: match part.fitted {
                    true => what.into(),
                    false => format!("{what}, out"),
                },
                electrode: Some(electrode),
                pin,
                ..meter.expected(node)
            });
        };
        if let PartKind::Rectifier { rectifier, to, .. } = &part.kind {
            let pin = rectifier_cathode(&rectifier.name);
            add(&rectifier.name, Electrode::Cathode, pin, *to);
        }
        let Some(section) = electrodes(part) else {
            continue;
        };
        let all = [
            (Electrode::Anode, Some(section.anode)),
            (Electrode::Screen, section.screen),
            (Electrode::Grid, Some(section.grid)),
            (Electrode::Cathode, Some(section.cathode)),
        ];
        let valve = section.valve;
        for (electrode, node) in all {
            if let Some(node) = node {
                add(&valve.name, electrode, pin(&valve.socket, electrode), node);
            }
        }
    }
    out
}

/// Every node that a supply makes or a reservoir holds, in the order of the file.
pub fn supply_nodes(amp: &SolvedAmp, spread: Option<&SpreadReport>) -> Vec<Expected> {
    let meter = Meter { amp, spread };
    let circuit = &amp.as_found.circuit;
    let cathodes = cathodes(circuit);
    let mut out: Vec<(NodeId, Expected)> = Vec::new();
    for part in circuit.parts() {
        let node = match &part.kind {
            PartKind::Supply { node, .. } | PartKind::BiasSupply { node, .. } => *node,
            PartKind::Rectifier { to, .. } => *to,
            PartKind::Capacitor { farads, between } if *farads >= LEAST_RESERVOIR_FARADS => {
                match *between {
                    [node, GROUND] | [GROUND, node] if !cathodes.contains(&node) => node,
                    _ => continue,
                }
            }
            _ => continue,
        };
        let expected = meter.expected(node);
        let far = |volts: f64| volts.abs() >= LEAST_SUPPLY_VOLTS;
        let capacitor = matches!(part.kind, PartKind::Capacitor { .. });
        if capacitor && !far(expected.volts.as_found) && !far(expected.volts.proposed) {
            continue;
        }
        match out.iter_mut().find(|(n, _)| *n == node) {
            // The capacitor is where the clip goes.
            Some((_, there)) if capacitor && there.at != part.designator => {
                there.at = format!("{}, {}", there.at, part.designator);
            }
            Some(_) => {}
            None => out.push((
                node,
                Expected {
                    at: part.designator.clone(),
                    what: part.particulars.role().to_string(),
                    ..expected
                },
            )),
        }
    }
    out.into_iter().map(|(_, expected)| expected).collect()
}

fn cathodes(circuit: &Circuit) -> Vec<NodeId> {
    let parts = circuit.parts().iter();
    let cathode = parts.filter_map(|part| match &part.kind {
        PartKind::Triode { cathode, .. } | PartKind::Pentode { cathode, .. } => Some(*cathode),
        _ => None,
    });
    cathode.filter(|node| *node != GROUND).collect()
}
