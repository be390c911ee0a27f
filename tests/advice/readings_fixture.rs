//! Amps with a fault hidden in them, read by a meter that loads every point and is off itself.

use engine::advice::readings::{MeasuredReport, measured};
use engine::advice::spread::{Plan, draw};
use engine::circuit::{self, Circuit, Readings, read_readings};
use engine::device::Catalogue;
use engine::network::{BranchValue, Network, Values};
use engine::solve::OperatingPointSolver;
use engine::solve::solved::SolvedAmp;

/// A meter's input resistance, Ω, and how far this one is off.
const METER_OHMS: f64 = 10e6;
const METER_OFF: f64 = 1.004;

pub fn built_in(name: &str) -> Circuit {
    let amp = circuit::built_in_circuit(name).expect("a built-in amp");
    circuit::read(amp.text, &Catalogue::built_in()).expect("a sound file")
}

/// A fault to hide: what it does to the values of an amp.
pub type Hide<'a> = &'a dyn Fn(&Circuit, &Network, &mut Values);

pub fn ohms(designator: &'static str, factor: f64) -> impl Fn(&Circuit, &Network, &mut Values) {
    move |circuit, network, values| {
        let id = circuit.find_part(designator).expect("a part");
        for branch in network.branches_of(id) {
            values.branches[branch] = values.branches[branch].scaled(1.0 / factor);
        }
    }
}

pub fn leak(designator: &'static str, ohms: f64) -> impl Fn(&Circuit, &Network, &mut Values) {
    move |circuit, network, values| {
        let id = circuit.find_part(designator).expect("a part");
        for branch in network.branches_of(id) {
            values.branches[branch] = BranchValue::resistor(ohms);
        }
    }
}

pub fn tired(designator: &'static str, share: f64) -> impl Fn(&Circuit, &Network, &mut Values) {
    move |circuit, network, values| {
        let id = circuit.find_part(designator).expect("a part");
        let devices = network.devices();
        for (site, valve) in devices.triodes.iter().zip(&mut values.devices.triodes) {
            if site.part == id {
                valve.law.perveance *= share;
            }
        }
        for (site, valve) in devices.pentodes.iter().zip(&mut values.devices.pentodes) {
            if site.part == id {
                valve.law.perveance *= share;
            }
        }
    }
}

/// The points that somebody would read: every pin of every valve that is not at ground, and the
/// supply nodes.
pub fn points(circuit: &Circuit) -> Vec<String> {
    let mut nodes: Vec<usize> = Vec::new();
    let mut points = Vec::new();
    let supply = |name: &str| ["ht", "neg", "bias"].iter().any(|s| name.starts_with(s));
    for (i, name) in circuit.nodes().iter().enumerate().skip(1) {
        if supply(name) {
            nodes.push(i);
            points.push(name.clone());
        }
    }
    for part in circuit.parts() {
        for pin in ["anode", "screen", "grid", "cathode"] {
            let text = format!(
                "format = 1\n[readings]\n\"{} {pin}\" = 1\n",
                part.designator
            );
            let Ok(read) = read_readings(text.as_bytes(), circuit, &Catalogue::built_in()) else {
                continue;
            };
            let node = read.volts[0].node.0 as usize;
            if !nodes.contains(&node) {
                nodes.push(node);
                points.push(format!("{} {pin}", part.designator));
            }
        }
    }
    points
}

/// The readings of an amp with some luck and a fault, typed to three or four digits.
pub fn take(circuit: &Circuit, amp: usize, hide: Hide) -> String {
    let network = Network::new(circuit);
    let nominal = network.values(circuit);
    let mut values = nominal.clone();
    let luck = Plan::new(circuit, 0.03).luck(2026, amp);
    draw(&network, circuit, &nominal, &luck, &mut values);
    hide(circuit, &network, &mut values);
    let mut solver = OperatingPointSolver::new(&network);
    let mut text = String::from("format = 1\n[readings]\n");
    for point in points(circuit) {
        let one = format!("format = 1\n[readings]\n\"{point}\" = 1\n");
        let read = read_readings(one.as_bytes(), circuit, &Catalogue::built_in()).expect("a point");
        let position = network.position(read.volts[0].node);
        solver.set_load(Some((position, 1.0 / METER_OHMS)));
        let volts = solver.solve(&network, &values).expect("a solution")[position] * METER_OFF;
        let places = if volts.abs() >= 100.0 {
            0
        } else if volts.abs() >= 10.0 {
            1
        } else {
            2
        };
        text += &format!("\"{point}\" = {volts:.places$}\n");
    }
    text
}

pub fn judge(circuit: &Circuit, text: &str) -> (Readings, MeasuredReport) {
    let readings = read_readings(text.as_bytes(), circuit, &Catalogue::built_in())
        .unwrap_or_else(|faults| panic!("{faults:?}"));
    let put_in = circuit.with_changes(&readings.parts).expect("it fits");
    let amp = SolvedAmp::new(&put_in, None).expect("a solution");
    let report = measured(circuit, &readings, "as found", &amp, &mut |_| true)
        .expect("not given up")
        .expect("a solution");
    (readings, report)
}

pub fn place(report: &MeasuredReport, part: &str) -> Option<usize> {
    report.suspects.iter().position(|s| s.part == part)
}
