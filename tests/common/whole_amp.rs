//! A whole amp on the bench: its voltages and watts at rest, its response, and a sine through it
//! until it clips, into a resistor in place of the loudspeaker.
#![allow(dead_code)]

use engine::circuit::{
    BuiltInCircuit, BuiltInProposal, Circuit, Diagnostic, PartKind, built_in_circuit,
    built_in_circuits, read, read_proposal,
};
use engine::device::Catalogue;
use engine::network::assemble::port_volts;
use engine::network::{Network, Values};
use engine::solve::{OperatingPoint, SmallSignal, Transient, operating_point};
use engine::units::decibels_from_ratio;
use std::f64::consts::TAU;
use std::sync::Arc;

/// Steps a second of the bench transient: 192 for each period of a 1 kHz sine.
pub const RATE: f64 = 192_000.0;

/// A circuit with everything that a solve needs.
pub struct Amp {
    pub circuit: Circuit,
    pub network: Network,
    pub values: Values,
    pub point: OperatingPoint,
}

/// One valve section at rest; volts referred to the cathode except the cathode's own. Screen
/// figures of triodes are 0.
#[derive(Clone, Debug)]
pub struct Section {
    pub designator: String,
    pub anode_volts: f64,
    pub screen_volts: f64,
    pub grid_volts: f64,
    pub cathode_volts: f64,
    pub anode_amps: f64,
    pub screen_amps: f64,
    pub anode_watts: f64,
    pub screen_watts: f64,
    /// From the first set of ratings; infinite where none is stated.
    pub anode_limit_watts: f64,
    pub anode_limit_volts: f64,
    pub screen_limit_watts: f64,
    pub screen_limit_volts: f64,
}

/// What a sine at 1 kHz does.
#[derive(Clone, Copy, Debug)]
pub struct Sine {
    /// Peak at the jack, V.
    pub input: f64,
    /// Into the dummy load, W.
    pub watts: f64,
    /// Harmonics 2 to 10 relative to the first.
    pub distortion: f64,
    /// R.m.s. of the fundamental heard, V.
    pub fundamental: f64,
}

/// The loudspeakers replaced by resistors of their rated impedance, as on a test bench.
pub fn dummy_loads() -> Catalogue {
    let mut catalogue = Catalogue::built_in();
    for driver in &mut catalogue.loudspeakers {
        let mut dummy = (**driver).clone();
        dummy.coil_ohms = dummy.rated_ohms;
        dummy.coil_henries = 1e-9;
        dummy.lossy_henries = 1e-9;
        // A thousandth of the coil's resistance remains as the motional part.
        (dummy.mechanical_q, dummy.electrical_q) = (1.0, 1e3);
        *driver = Arc::new(dummy);
    }
    catalogue
}

/// Faults in one text, for a failing test to show.
pub fn told(faults: &[Diagnostic]) -> String {
    faults.iter().map(|f| format!("{f}\n")).collect()
}

/// Reads a circuit or fails with all its faults.
pub fn circuit(text: &str, catalogue: &Catalogue) -> Circuit {
    read(text, catalogue).unwrap_or_else(|faults| panic!("{}", told(&faults)))
}

/// A built-in amp as found.
pub fn amp(key: &str) -> Amp {
    let built_in = built_in_circuit(key).expect("a built-in amp");
    Amp::new(circuit(built_in.text, &Catalogue::built_in()))
}

/// On the test bench, with a resistor for a loudspeaker.
pub fn bench(key: &str) -> Amp {
    let built_in = built_in_circuit(key).expect("a built-in amp");
    Amp::new(circuit(built_in.text, &dummy_loads()))
}

/// An amp with one of its proposals done.
pub fn proposed(found: &Amp, file: &BuiltInProposal) -> Amp {
    let proposal = read_proposal(file.text).unwrap_or_else(|f| panic!("{}", told(&f)));
    let applied = proposal.apply(&found.circuit, &Catalogue::built_in());
    Amp::new(applied.unwrap_or_else(|f| panic!("{}", told(&f))))
}

/// Fails unless a value lies in a range.
#[track_caller]
pub fn within(what: &str, value: f64, least: f64, greatest: f64) {
    assert!(
        (least..=greatest).contains(&value),
        "{what} is {value:.4}, not {least} to {greatest}"
    );
}

/// Every built-in amp.
pub fn each(test: impl Fn(&BuiltInCircuit)) {
    assert_eq!(built_in_circuits().len(), 4);
    built_in_circuits().iter().for_each(test);
}

impl Amp {
    pub fn new(circuit: Circuit) -> Self {
        let network = Network::new(&circuit);
        let values = network.values(&circuit);
        let point = operating_point(&network, &values).unwrap_or_else(|e| panic!("{e}"));
        Amp {
            circuit,
            network,
            values,
            point,
        }
    }

    pub fn position(&self, node: &str) -> usize {
        let id = self
            .circuit
            .find_node(node)
            .unwrap_or_else(|| panic!("node {node}"));
        self.network.position(id)
    }

    pub fn volts(&self, node: &str) -> f64 {
        self.point.solution[self.position(node)]
    }

    pub fn sections(&self) -> Vec<Section> {
        let ports = port_volts(&self.network, &self.point.solution);
        let devices = self.network.devices();
        let at = |position: u16| self.point.solution[position as usize];
        let mut rows = Vec::new();
        for (index, site) in devices.triodes.iter().enumerate() {
            let [va, vg, _] = ports[index];
            let i = self.values.devices.triodes[index].law.currents(va, vg);
            rows.push((site.part, va, 0.0, vg, at(site.at[2]), i.anode, 0.0));
        }
        for (index, site) in devices.pentodes.iter().enumerate() {
            let [va, vs, vg] = ports[devices.triodes.len() + index];
            let i = self.values.devices.pentodes[index].law.currents(va, vs, vg);
            rows.push((site.part, va, vs, vg, at(site.at[3]), i.anode, i.screen));
        }
        rows.into_iter()
            .map(|(part, va, vs, vg, vk, ia, is)| {
                let part = self.circuit.part(part);
                let (PartKind::Triode { valve, .. } | PartKind::Pentode { valve, .. }) = &part.kind
                else {
                    unreachable!("a valve stands there")
                };
                let ratings = valve.ratings.first().cloned().unwrap_or_default();
                let or = |limit: Option<f64>| limit.unwrap_or(f64::INFINITY);
                Section {
                    designator: part.designator.clone(),
                    anode_volts: va,
                    screen_volts: vs,
                    grid_volts: vg,
                    cathode_volts: vk,
                    anode_amps: ia,
                    screen_amps: is,
                    anode_watts: va * ia,
                    screen_watts: vs * is,
                    anode_limit_watts: or(ratings.anode_watts),
                    anode_limit_volts: or(ratings.anode_volts),
                    screen_limit_watts: or(ratings.screen_watts),
                    screen_limit_volts: or(ratings.screen_volts),
                }
            })
            .collect()
    }

    pub fn section(&self, designator: &str) -> Section {
        let found = self
            .sections()
            .into_iter()
            .find(|s| s.designator == designator);
        found.unwrap_or_else(|| panic!("valve {designator}"))
    }

    /// Gain from jack to loudspeaker, dB.
    pub fn gain_db(&self, hz: f64) -> f64 {
        decibels_from_ratio(
            SmallSignal::new(&self.network, &self.values, &self.point)
                .gain(hz)
                .norm(),
        )
    }

    /// Gain from jack to a node.
    pub fn gain_to(&self, node: &str, hz: f64) -> num_complex::Complex64 {
        SmallSignal::new(&self.network, &self.values, &self.point).at(hz)[self.position(node)]
    }

    /// Rated resistance of the loudspeaker, Ω.
    pub fn load_ohms(&self) -> f64 {
        let id = self
            .circuit
            .output()
            .loudspeaker
            .expect("heard through a loudspeaker");
        match &self.circuit.part(id).kind {
            PartKind::Loudspeaker { driver, .. } => driver.rated_ohms,
            _ => unreachable!("a loudspeaker"),
        }
    }

    /// The last 20 ms of a 1 kHz sine of `input` volts peak after `settle` seconds of it: what is
    /// heard and the voltages at `nodes`.
    pub fn play(&self, input: f64, settle: f64, nodes: &[&str]) -> (Vec<f64>, Vec<Vec<f64>>) {
        let mut transient = Transient::new(&self.network, &self.values, &self.point, 1.0 / RATE);
        let kept = (0.02 * RATE) as usize;
        let skipped = (settle * RATE) as usize;
        let positions: Vec<usize> = nodes.iter().map(|n| self.position(n)).collect();
        let (mut heard, mut traces) = (Vec::new(), vec![Vec::new(); nodes.len()]);
        for n in 1..=skipped + kept {
            let t = n as f64 / RATE;
            let out = transient
                .step(input * (TAU * 1000.0 * t).sin())
                .expect("the oracle converges");
            if n > skipped {
                heard.push(out);
                for (trace, &at) in traces.iter_mut().zip(&positions) {
                    trace.push(transient.solution()[at]);
                }
            }
        }
        (heard, traces)
    }

    /// Power and distortion at one level, settled for 80 ms: longer than coupling capacitors take.
    pub fn sine(&self, input: f64) -> Sine {
        let (heard, _) = self.play(input, 0.08, &[]);
        let amplitudes = harmonics(&heard, 1000.0);
        let over: f64 = amplitudes[1..].iter().map(|a| a * a).sum();
        let power: f64 =
            heard.iter().map(|v| v * v).sum::<f64>() / heard.len() as f64 / self.load_ohms();
        Sine {
            input,
            watts: power,
            distortion: over.sqrt() / amplitudes[0],
            fundamental: amplitudes[0] / 2f64.sqrt(),
        }
    }

    /// The highest level, within 4 %, at which distortion stays below `share`.
    pub fn clean_limit(&self, share: f64) -> Sine {
        let (mut low, mut high) = (self.sine(0.02), 0.04);
        assert!(low.distortion < share, "20 mV distort already: {low:?}");
        loop {
            let sine = self.sine(high);
            if sine.distortion >= share {
                break;
            }
            low = sine;
            high *= 2.0;
            assert!(high < 100.0, "it never distorts");
        }
        while high / low.input > 1.04 {
            let middle = self.sine((low.input * high).sqrt());
            if middle.distortion < share {
                low = middle;
            } else {
                high = middle.input;
            }
        }
        low
    }
}

/// Amplitudes of the first ten harmonics of `hz` in a whole number of periods at [`RATE`].
pub fn harmonics(samples: &[f64], hz: f64) -> Vec<f64> {
    (1..=10)
        .map(|k| {
            let (mut re, mut im) = (0.0, 0.0);
            for (n, v) in samples.iter().enumerate() {
                let phase = TAU * hz * k as f64 * n as f64 / RATE;
                re += v * phase.cos();
                im += v * phase.sin();
            }
            2.0 / samples.len() as f64 * (re * re + im * im).sqrt()
        })
        .collect()
}
