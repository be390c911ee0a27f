//! The voltage chart: every node, and each valve's volts, currents and dissipation beside its
//! limits.

use crate::circuit::{Electrodes, NodeId, Part, PartId, PartKind, electrodes};
use crate::device::{RatingSystem, ValveLaw};
use crate::network::Network;
use crate::solve::solved::SolvedCircuit;
use serde::{Serialize, Serializer};

/// Things by name, in the order of the file; a map in JSON.
#[derive(Clone, Debug, PartialEq)]
pub struct ByName<T>(pub Vec<(String, T)>);

impl<T: Serialize> Serialize for ByName<T> {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_map(self.0.iter().map(|(name, value)| (name, value)))
    }
}

impl<T> ByName<T> {
    /// The thing of this name.
    pub fn get(&self, name: &str) -> Option<&T> {
        self.0.iter().find(|(n, _)| n == name).map(|(_, t)| t)
    }
}

/// One valve section at rest. Volts are to ground; the limits count from the cathode.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ValveReading {
    /// Type number.
    pub valve: String,
    /// Whether it is in its socket.
    pub fitted: bool,
    /// Anode to ground, V.
    pub anode_volts: f64,
    /// Screen to ground, V; none for a triode.
    pub screen_volts: Option<f64>,
    /// Control grid to ground, V.
    pub grid_volts: f64,
    /// Cathode to ground, V.
    pub cathode_volts: f64,
    /// Anode current, mA.
    pub anode_milliamps: f64,
    /// Screen current, mA; none for a triode.
    pub screen_milliamps: Option<f64>,
    /// Anode dissipation, W.
    pub anode_watts: f64,
    /// Its limit, W; none where no rating is known.
    pub anode_limit_watts: Option<f64>,
    /// The one as a share of the other, per cent.
    pub anode_percent: Option<f64>,
    /// Screen dissipation, W; none for a triode.
    pub screen_watts: Option<f64>,
    /// Its limit without signal, W.
    pub screen_limit_watts: Option<f64>,
    /// The one as a share of the other, per cent.
    pub screen_percent: Option<f64>,
    /// Rating system of the limits, such as "design-centre".
    #[serde(serialize_with = "RatingSystem::serialize_known")]
    pub rating_system: Option<RatingSystem>,
}

/// Voltages of one circuit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VoltageChart {
    /// Volts to ground.
    pub nodes: ByName<f64>,
    /// Valve sections by designator.
    pub valves: ByName<ValveReading>,
}

/// What a reader of expected voltages must know. The spread is what makers allow in new valves:
/// anode currents of power valves at the test point within about ±30 % (maker's current-production
/// sheets, seen as secondary copies).
pub const NOTES: [&str; 3] = [
    "Expected readings come from a model of average valves. Real valves draw up to 30 % more or less.",
    "Volts are to ground, without signal. The load of a meter is not included.",
    "Dissipation is without signal. The limits are the maker's, in the rating system named.",
];

/// The voltages of one circuit.
pub fn chart(network: &Network, side: &SolvedCircuit) -> VoltageChart {
    let volts = |node: NodeId| side.point.solution[network.position(node)];
    let names = side.circuit.nodes().iter().enumerate().skip(1);
    let nodes = names.map(|(i, name)| (name.clone(), volts(NodeId(i as u16))));
    let valves = side.circuit.parts().iter().filter_map(|part| {
        let reading = reading(part, &volts)?;
        Some((part.designator.clone(), reading))
    });
    VoltageChart {
        nodes: ByName(nodes.collect()),
        valves: ByName(valves.collect()),
    }
}

/// Parts that are valve sections, with their place.
pub fn valve_parts(side: &SolvedCircuit) -> impl Iterator<Item = (PartId, &Part)> {
    let parts = side.circuit.parts().iter().enumerate();
    parts
        .filter(|(_, p)| matches!(p.kind, PartKind::Triode { .. } | PartKind::Pentode { .. }))
        .map(|(i, p)| (PartId(i as u16), p))
}

/// One valve section, given the voltage of every node; none for other parts.
pub fn reading(part: &Part, volts: &impl Fn(NodeId) -> f64) -> Option<ValveReading> {
    let Electrodes {
        valve,
        anode,
        screen,
        grid,
        cathode,
    } = electrodes(part)?;
    let (va, vs, vg, vk) = (volts(anode), screen.map(volts), volts(grid), volts(cathode));
    let (anode_amps, screen_amps) = match (&valve.law, vs) {
        _ if !part.fitted => (0.0, vs.map(|_| 0.0)),
        (ValveLaw::Triode(law), _) => (law.currents(va - vk, vg - vk).anode, None),
        (ValveLaw::Pentode(law), Some(vs)) => {
            let i = law.currents(va - vk, vs - vk, vg - vk);
            (i.anode, Some(i.screen))
        }
        (ValveLaw::Pentode(_), None) => return None,
    };
    let anode_watts = anode_amps * (va - vk);
    let screen_watts = screen_amps.zip(vs).map(|(i, vs)| i * (vs - vk));
    let ratings = valve.ratings.first();
    let anode_limit_watts = ratings.and_then(|r| r.anode_watts);
    let screen_limit_watts = ratings
        .and_then(|r| r.screen_watts)
        .filter(|_| vs.is_some());
    Some(ValveReading {
        valve: valve.name.clone(),
        fitted: part.fitted,
        anode_volts: va,
        screen_volts: vs,
        grid_volts: vg,
        cathode_volts: vk,
        anode_milliamps: 1e3 * anode_amps,
        screen_milliamps: screen_amps.map(|i| 1e3 * i),
        anode_watts,
        anode_limit_watts,
        anode_percent: anode_limit_watts.map(|limit| 100.0 * anode_watts / limit),
        screen_watts,
        screen_limit_watts,
        screen_percent: screen_watts
            .zip(screen_limit_watts)
            .map(|(w, limit)| 100.0 * w / limit),
        rating_system: ratings.map(|r| r.system),
    })
}
