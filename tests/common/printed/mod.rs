//! Shared by the tests against print: circuits as text, what a meter on the bench would read at
//! rest and under a steady sine, and a ledger of measured against printed figures.
#![allow(dead_code)]

pub mod ledger;
pub mod output_stage;
pub mod sine;

use crate::solved::Solved;
use engine::circuit::{self, PartId};
use engine::device::Catalogue;
use engine::network::Network;
use engine::solve::SmallSignal;

/// One resistance-coupled triode stage as lines of the file, its designators ending in `tag`.
#[derive(Clone, Copy)]
pub struct Coupled {
    pub tag: &'static str,
    pub valve: &'static str,
    /// Nodes of supply, grid and output.
    pub nodes: [&'static str; 3],
    pub anode_ohms: f64,
    pub cathode_ohms: f64,
    /// Grid leak of the next stage, Ω.
    pub next_ohms: f64,
    pub coupling_farads: f64,
}

impl Coupled {
    /// Cathode bypass, F: 50 µF is what the makers' sheets print where they print one.
    const BYPASS_FARADS: f64 = 50e-6;

    pub fn lines(&self) -> String {
        let Coupled {
            tag,
            valve,
            nodes: [supply, grid, out],
            ..
        } = self;
        [
            triode(
                &format!("V{tag}"),
                valve,
                &format!("a{tag}"),
                grid,
                &format!("k{tag}"),
            ),
            resistor(
                &format!("RA{tag}"),
                self.anode_ohms,
                &format!("a{tag}"),
                supply,
            ),
            resistor(
                &format!("RK{tag}"),
                self.cathode_ohms,
                &format!("k{tag}"),
                "gnd",
            ),
            capacitor(
                &format!("CK{tag}"),
                Self::BYPASS_FARADS,
                &format!("k{tag}"),
                "gnd",
            ),
            capacitor(
                &format!("CC{tag}"),
                self.coupling_farads,
                &format!("a{tag}"),
                out,
            ),
            resistor(&format!("RG{tag}"), self.next_ohms, out, "gnd"),
        ]
        .concat()
    }
}

pub fn resistor(name: &str, ohms: f64, a: &str, b: &str) -> String {
    format!("{name} = {{ resistor = {ohms:e}, between = [\"{a}\", \"{b}\"] }}\n")
}

pub fn capacitor(name: &str, farads: f64, a: &str, b: &str) -> String {
    format!("{name} = {{ capacitor = {farads:e}, between = [\"{a}\", \"{b}\"] }}\n")
}

/// A supply from ground whose own resistance is nothing beside any load.
pub fn supply(name: &str, volts: f64, node: &str) -> String {
    format!("{name} = {{ supply = \"{volts} V\", node = \"{node}\", resistance = \"0.01\" }}\n")
}

/// A source between two nodes, the first positive.
pub fn source(name: &str, volts: f64, a: &str, b: &str) -> String {
    format!(
        "{name} = {{ voltage_source = \"{volts} V\", between = [\"{a}\", \"{b}\"], resistance = \"0.01\" }}\n"
    )
}

pub fn triode(name: &str, valve: &str, anode: &str, grid: &str, cathode: &str) -> String {
    format!(
        "{name} = {{ triode = \"{valve}\", anode = \"{anode}\", grid = \"{grid}\", cathode = \"{cathode}\" }}\n"
    )
}

/// Reads a circuit's text and solves it at rest. `parts` are the lines below `[parts]`; the
/// input is the node "in".
pub fn solved(output: &str, parts: &str) -> Solved {
    solved_with(&Catalogue::built_in(), output, parts)
}

/// The same with other valves and loudspeakers.
pub fn solved_with(catalogue: &Catalogue, output: &str, parts: &str) -> Solved {
    let text = format!(
        "format = 1\n[amp]\nname = \"Test Solved\"\ninput = \"in\"\noutput = \"{output}\"\n[parts]\n{parts}"
    );
    let circuit = circuit::read(&text, catalogue).unwrap_or_else(|faults| {
        let faults: String = faults.iter().map(|f| format!("{f}\n")).collect();
        panic!("{faults}\n{text}")
    });
    Solved::new(circuit)
}

/// Position of a node in a solution.
pub fn position(bench: &Solved, node: &str) -> usize {
    let id = bench.circuit.find_node(node);
    bench
        .network
        .position(id.unwrap_or_else(|| panic!("node {node}")))
}

/// Volts of a node at rest.
pub fn volts(bench: &Solved, node: &str) -> f64 {
    bench.point.solution[position(bench, node)]
}

/// Amplitude ratio from the jack to a node at `hz`.
pub fn gain_at(bench: &Solved, node: &str, hz: f64) -> f64 {
    SmallSignal::new(&bench.network, &bench.values, &bench.point).at(hz)[position(bench, node)]
        .norm()
}

/// Currents into the electrodes of one valve, A.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct ValveAmps {
    pub anode: f64,
    /// 0 in a triode.
    pub screen: f64,
    pub grid: f64,
}

/// Which valve position a part is.
#[derive(Clone, Copy, Debug)]
pub enum Site {
    Triode(usize),
    Pentode(usize),
}

/// The valve position of a designator.
pub fn site(bench: &Solved, designator: &str) -> Site {
    let id: PartId = bench
        .circuit
        .find_part(designator)
        .unwrap_or_else(|| panic!("part {designator}"));
    let devices = bench.network.devices();
    if let Some(index) = devices.triodes.iter().position(|p| p.part == id) {
        return Site::Triode(index);
    }
    let index = devices.pentodes.iter().position(|p| p.part == id);
    Site::Pentode(index.unwrap_or_else(|| panic!("{designator} is no valve")))
}

/// Currents of a valve at given volts by position, from its law.
pub fn valve_amps(network: &Network, bench: &Solved, site: Site, solution: &[f64]) -> ValveAmps {
    let at = |position: u16| solution[position as usize];
    match site {
        Site::Triode(index) => {
            let [a, g, k] = network.devices().triodes[index].at.map(at);
            let i = bench.values.devices.triodes[index]
                .law
                .currents(a - k, g - k);
            ValveAmps {
                anode: i.anode,
                screen: 0.0,
                grid: i.grid,
            }
        }
        Site::Pentode(index) => {
            let [a, s, g, k] = network.devices().pentodes[index].at.map(at);
            let law = &bench.values.devices.pentodes[index].law;
            let i = law.currents(a - k, s - k, g - k);
            ValveAmps {
                anode: i.anode,
                screen: i.screen,
                grid: i.grid,
            }
        }
    }
}

/// Currents of a valve at rest.
pub fn idle(bench: &Solved, designator: &str) -> ValveAmps {
    let site = site(bench, designator);
    valve_amps(&bench.network, bench, site, &bench.point.solution)
}

/// Small-signal constants of a triode at its operating point.
#[derive(Clone, Copy, Debug)]
pub struct Constants {
    /// Amplification factor.
    pub mu: f64,
    /// Anode resistance, Ω.
    pub ra: f64,
}

/// Constants of a triode at rest, from the derivatives of its law.
pub fn constants(bench: &Solved, designator: &str) -> Constants {
    let Site::Triode(index) = site(bench, designator) else {
        panic!("{designator} is no triode")
    };
    let at = |position: u16| bench.point.solution[position as usize];
    let [a, g, k] = bench.network.devices().triodes[index].at.map(at);
    let law = &bench.values.devices.triodes[index].law;
    let i = law.currents(a - k, g - k);
    Constants {
        mu: i.anode_by_grid / i.anode_by_anode,
        ra: 1.0 / i.anode_by_anode,
    }
}
