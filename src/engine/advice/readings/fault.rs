//! What may be wrong in an amp, each with one number that says how wrong, and the values of the
//! circuit with that fault in it.

use crate::circuit::{Circuit, PartId, PartKind};
use crate::network::{BranchValue, Network, Values};

/// A kind of fault, in one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Fault {
    /// A resistor's or a pot's value is another; the number multiplies it.
    Ohms(PartId),
    /// A capacitor lets direct current through; the number is its leak in ohms.
    Leak(PartId),
    /// A valve section draws more or less; the number multiplies its current.
    Emission(PartId),
    /// A supply's voltage is another; the number multiplies it.
    Source(PartId),
    /// All supplies are off alike; the number multiplies them.
    Mains,
    /// A section of a transformer's primary is open, by its branch.
    Open(PartId, usize),
}

/// Numbers that are tried first. They rise.
const OHMS: &[f64] = &[
    1e-3, 0.1, 0.3, 0.5, 0.6, 0.7, 0.8, 0.9, 1.1, 1.2, 1.35, 1.5, 1.75, 2.0, 3.0, 5.0, 10.0, 100.0,
    1e6,
];
const LEAK: &[f64] = &[
    10.0, 1e3, 1e4, 3e4, 1e5, 2e5, 3e5, 5e5, 1e6, 2e6, 3e6, 5e6, 1e7, 3e7,
];
const EMISSION: &[f64] = &[
    1e-3, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.1, 1.2, 1.4, 1.7, 2.0,
];
const SOURCE: &[f64] = &[
    1e-3, 0.3, 0.5, 0.7, 0.8, 0.85, 0.9, 0.95, 1.05, 1.1, 1.15, 1.2, 1.3, 1.5,
];
const OPEN: &[f64] = &[1.0];
/// Resistance of an open winding, Ω.
const OPEN_OHMS: f64 = 1e12;

/// Everything that may be wrong in a circuit, parts that are not fitted left out.
pub fn faults(network: &Network, circuit: &Circuit) -> Vec<Fault> {
    let mut out = vec![Fault::Mains];
    for (i, part) in circuit.parts().iter().enumerate() {
        let id = PartId(i as u16);
        if !part.fitted {
            continue;
        }
        match &part.kind {
            PartKind::Resistor { .. } | PartKind::Pot { .. } => out.push(Fault::Ohms(id)),
            PartKind::Capacitor { .. } => out.push(Fault::Leak(id)),
            PartKind::Triode { .. } | PartKind::Pentode { .. } => out.push(Fault::Emission(id)),
            PartKind::Supply { .. }
            | PartKind::BiasSupply { .. }
            | PartKind::VoltageSource { .. }
            | PartKind::Rectifier { .. } => out.push(Fault::Source(id)),
            PartKind::OutputTransformer(t) => {
                let sections = network.branches_of(id).take(t.primary.taps.len() - 1);
                out.extend(sections.map(|branch| Fault::Open(id, branch)));
            }
            _ => {}
        }
    }
    out
}

impl Fault {
    /// The part; none for the mains.
    pub fn part(self) -> Option<PartId> {
        match self {
            Fault::Ohms(id)
            | Fault::Leak(id)
            | Fault::Emission(id)
            | Fault::Source(id)
            | Fault::Open(id, _) => Some(id),
            Fault::Mains => None,
        }
    }

    /// Numbers to try first, rising.
    pub fn numbers(self) -> &'static [f64] {
        match self {
            Fault::Ohms(_) => OHMS,
            Fault::Leak(_) => LEAK,
            Fault::Emission(_) => EMISSION,
            Fault::Source(_) | Fault::Mains => SOURCE,
            Fault::Open(..) => OPEN,
        }
    }

    /// How much less than others this fault is expected, in units of the squared distance that it
    /// must make up for (own choice): old resistors drift upwards, capacitors leak, valves tire;
    /// a valve that is better than new and a resistor that has fallen are rare, shorts and opens in
    /// between.
    pub fn burden(self, number: f64) -> f64 {
        match self {
            Fault::Ohms(_) if number < 1.0 => 3.0,
            Fault::Ohms(_) => 1.0,
            Fault::Leak(_) => 1.0,
            Fault::Emission(_) if number > 1.3 => 6.0,
            Fault::Emission(_) => 0.0,
            Fault::Source(_) => 2.0,
            Fault::Mains => 0.0,
            Fault::Open(..) => 3.0,
        }
    }

    /// The values with this fault in them; `into` has the shape of `nominal` and is overwritten.
    pub fn put(
        self,
        network: &Network,
        circuit: &Circuit,
        nominal: &Values,
        number: f64,
        into: &mut Values,
    ) {
        into.clone_from(nominal);
        match self {
            Fault::Ohms(id) => {
                for branch in network.branches_of(id) {
                    into.branches[branch] = nominal.branches[branch].scaled(1.0 / number);
                }
            }
            Fault::Leak(id) => {
                for branch in network.branches_of(id) {
                    into.branches[branch] = BranchValue::resistor(number);
                }
            }
            Fault::Emission(id) => {
                let devices = network.devices();
                for (site, valve) in devices.triodes.iter().zip(&mut into.devices.triodes) {
                    if site.part == id {
                        valve.law.perveance *= number;
                    }
                }
                for (site, valve) in devices.pentodes.iter().zip(&mut into.devices.pentodes) {
                    if site.part == id {
                        valve.law.perveance *= number;
                    }
                }
            }
            Fault::Source(id) => drive(network, id, number, into),
            Fault::Mains => {
                for (i, part) in circuit.parts().iter().enumerate() {
                    if matches!(
                        part.kind,
                        PartKind::Supply { .. }
                            | PartKind::BiasSupply { .. }
                            | PartKind::Rectifier { .. }
                    ) {
                        drive(network, PartId(i as u16), number, into);
                    }
                }
            }
            Fault::Open(_, branch) => {
                into.branches[branch] = BranchValue::coil(OPEN_OHMS, 0.0, f64::INFINITY);
            }
        }
    }
}

/// Multiplies one source.
pub fn drive(network: &Network, id: PartId, factor: f64, values: &mut Values) {
    for branch in network.branches_of(id) {
        values.branches[branch] = values.branches[branch].driven(factor);
    }
    let sites = network.devices().rectifiers.iter();
    for (site, rectifier) in sites.zip(&mut values.devices.rectifiers) {
        if site.part == id {
            rectifier.law.peak *= factor;
        }
    }
}
