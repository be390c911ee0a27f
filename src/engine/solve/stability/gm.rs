//! How strongly each valve's grid moves its anode's current at rest.

use crate::circuit::PartId;
use crate::network::assemble::port_volts;
use crate::network::{Network, Values};
use crate::solve::OperatingPoint;

/// A valve's transconductance, S, with positions of anode, grid and cathode.
pub(super) struct Gm {
    pub part: PartId,
    pub siemens: f64,
    pub at: [usize; 3],
}

/// The transconductances of all valves at rest.
pub(super) fn transconductances(
    network: &Network,
    values: &Values,
    point: &OperatingPoint,
) -> Vec<Gm> {
    let devices = network.devices();
    let ports = port_volts(network, &point.solution);
    let triodes = devices.triodes.iter().zip(&values.devices.triodes);
    let triodes = triodes.zip(&ports).map(|((site, value), v)| Gm {
        part: site.part,
        siemens: value.law.currents(v[0], v[1]).anode_by_grid * value.present,
        at: site.at.map(usize::from),
    });
    let pentodes = devices.pentodes.iter().zip(&values.devices.pentodes);
    let pentodes = pentodes.zip(&ports[devices.triodes.len()..]);
    let pentodes = pentodes.map(|((site, value), v)| {
        let [a, _, g, k] = site.at.map(usize::from);
        Gm {
            part: site.part,
            siemens: value.law.currents(v[0], v[1], v[2]).anode_by_grid * value.present,
            at: [a, g, k],
        }
    });
    triodes.chain(pentodes).collect()
}
