//! The plain solves against ngspice, another program with another formulation: operating point,
//! small-signal response and transient of small circuits and of the built-in amps.
//!
//! The netlist is made of the circuit's parts (see `common/netlist.rs`), never of our equations.
//! The two transients take different steps, so that an error that goes with the step shows.

use engine::circuit::{self, Circuit, NamedGuitar, NodeId};
use engine::device::Catalogue;
use engine::network::{Network, Values};
use engine::solve::{OperatingPoint, SmallSignal, Transient, operating_point};
use num_complex::Complex64;
use std::f64::consts::TAU;
use std::path::{Path, PathBuf};

/// Operating point: share of a node's voltage.
const POINT_SHARE: f64 = 1e-4;
/// A node that rests nearer to zero is held to that share of this, V.
const POINT_FLOOR: f64 = 1e-3;
/// Response, dB.
const RESPONSE_DB: f64 = 0.01;
/// Response, degrees: what 0.01 dB are as an angle.
const RESPONSE_DEGREES: f64 = 0.066;
/// Transient: energy of the difference in that of the signal, dB.
const TRANSIENT_DB: f64 = -80.0;
/// Length of the burst, s.
const SECONDS: f64 = 0.012;
/// Our step as a share of theirs.
const STEP_SHARE: f64 = 0.5;
/// Least compression of a drive that is to clip, dB.
const CLIPPED_DB: f64 = 1.0;

/// Two tones under a raised cosine, `volts` at most, as a number and as ngspice reads it.
#[derive(Clone, Copy)]
struct Burst {
    volts: f64,
    /// ngspice's step, s.
    step: f64,
}

impl Burst {
    fn small(volts: f64) -> Self {
        Burst { volts, step: 1e-6 }
    }

    /// Takes shorter steps, for the sake of the corners.
    fn clipping(volts: f64) -> Self {
        let step = 0.5e-6;
        Burst { volts, step }
    }

    fn at(&self, t: f64) -> f64 {
        let rise = 0.5 - 0.5 * (TAU * t / SECONDS).cos();
        0.5 * self.volts * rise * ((TAU * 440.0 * t).sin() + (TAU * 1000.0 * t).sin())
    }

    fn text(&self) -> String {
        let [rise, low, high] = [1.0 / SECONDS, 440.0, 1000.0].map(|hz| TAU * hz);
        let half = 0.5 * self.volts;
        format!("{half:e}*(0.5-0.5*cos({rise:e}*time))*(sin({low:e}*time)+sin({high:e}*time))")
    }
}

/// A circuit as our solves see it.
struct Ours {
    circuit: Circuit,
    network: Network,
    values: Values,
    point: OperatingPoint,
}

impl Ours {
    fn new(circuit: Circuit) -> Self {
        let network = Network::new(&circuit);
        let values = network.values(&circuit);
        let point = operating_point(&network, &values)
            .unwrap_or_else(|e| panic!("{}: {e}", circuit.name()));
        Ours {
            circuit,
            network,
            values,
            point,
        }
    }

    fn ask(&self, burst: Burst, at_rest: bool) -> crate::ngspice::Found {
        let request = crate::ngspice::Request {
            input: &burst.text(),
            seconds: SECONDS,
            step: burst.step,
            at_rest,
        };
        crate::ngspice::ask(&self.circuit, &request)
            .unwrap_or_else(|e| panic!("{}: {e}", self.circuit.name()))
    }

    /// Largest difference of a node's voltage as a share of it, and the node.
    fn point_difference(&self, theirs: &[f64]) -> (f64, &str) {
        assert_eq!(theirs.len(), self.circuit.nodes().len());
        let mut worst = (0.0, "gnd");
        for (index, theirs) in theirs.iter().enumerate() {
            assert!(theirs.is_finite());
            let ours = self.point.solution[self.network.position(NodeId(index as u16))];
            let share = (ours - theirs).abs() / theirs.abs().max(POINT_FLOOR);
            if share > worst.0 {
                worst = (share, &self.circuit.nodes()[index]);
            }
        }
        worst
    }

    /// Largest differences of the response, dB and degrees.
    fn response_difference(&self, theirs: &[(f64, [f64; 2])]) -> (f64, f64) {
        assert_eq!(theirs.len(), 61, "20 frequencies a decade, 20 Hz to 20 kHz");
        let small = SmallSignal::new(&self.network, &self.values, &self.point);
        let (mut db, mut degrees): (f64, f64) = (0.0, 0.0);
        for &(hz, [re, im]) in theirs {
            let ratio = small.gain(hz) / Complex64::new(re, im);
            assert!(ratio.is_finite());
            db = db.max((20.0 * ratio.norm().log10()).abs());
            degrees = degrees.max(ratio.arg().to_degrees().abs());
        }
        (db, degrees)
    }

    /// Energy of the difference of the waveforms in that of the signal, dB, and that of the signal,
    /// dB of V²s. Ours is read between its steps through the cubic of four.
    fn transient_difference(&self, burst: Burst, theirs: &[(f64, f64)]) -> (f64, f64) {
        let step = STEP_SHARE * burst.step;
        let mut transient = Transient::new(&self.network, &self.values, &self.point, step);
        let rest = transient.output();
        let mut wave = vec![rest];
        for n in 1..=(SECONDS / step) as usize + 3 {
            let volts = transient.step(burst.at(n as f64 * step));
            wave.push(volts.expect("the oracle converges"));
        }
        let (mut difference, mut signal) = (0.0, 0.0);
        for pair in theirs.windows(2) {
            let (t, volts) = pair[1];
            // Their steps are even but for the first few.
            let seconds = t - pair[0].0;
            let place = t / step;
            let n = (place as usize).clamp(1, wave.len() - 3);
            let x = place - n as f64;
            let [a, b, c, d] = [wave[n - 1], wave[n], wave[n + 1], wave[n + 2]];
            let bend = 2.0 * a - 5.0 * b + 4.0 * c - d + x * (3.0 * (b - c) + d - a);
            let ours = b + 0.5 * x * (c - a + x * bend);
            difference += seconds * (volts - ours) * (volts - ours);
            signal += seconds * (volts - rest) * (volts - rest);
        }
        let db = |energy: f64| 10.0 * energy.log10();
        (db(difference / signal), db(signal))
    }
}

fn parse(text: &str) -> Circuit {
    circuit::read(text, &Catalogue::built_in()).unwrap_or_else(|faults| {
        let lines: Vec<String> = faults.iter().map(|f| f.to_string()).collect();
        panic!("{}", lines.join("\n"))
    })
}

/// Holds a circuit against ngspice, the transient at a small drive and at one that clips, if it
/// can; prints what is left.
fn hold(path: &Path, small: f64, clipping: Option<f64>) {
    let text = std::fs::read_to_string(path).expect("a circuit file");
    let name = path.file_stem().expect("a file").to_string_lossy();
    hold_circuit(&name, parse(&text), small, clipping);
}

fn hold_circuit(name: &str, circuit: Circuit, small: f64, clipping: Option<f64>) {
    let ours = Ours::new(circuit);
    let mut line = format!("{name:22}");
    let mut faults = Vec::new();
    let mut judge = |what: String, within: bool| {
        line += &format!("  {what}");
        if !within {
            faults.push(format!("{name}: {what}"));
        }
    };
    let burst = Burst::small(small);
    let found = ours.ask(burst, true);
    let (share, node) = ours.point_difference(&found.point);
    let percent = 100.0 * share;
    judge(
        format!("point {percent:.1e} % ({node})"),
        share <= POINT_SHARE,
    );
    let (db, degrees) = ours.response_difference(&found.gain);
    let within = db <= RESPONSE_DB && degrees <= RESPONSE_DEGREES;
    judge(format!("response {db:.1e} dB {degrees:.1e}°"), within);
    let (db, quiet) = ours.transient_difference(burst, &found.waveform);
    judge(format!("at {small} V {db:.1} dB"), db <= TRANSIENT_DB);
    if let Some(volts) = clipping {
        let burst = Burst::clipping(volts);
        let found = ours.ask(burst, false);
        let (db, loud) = ours.transient_difference(burst, &found.waveform);
        let lost = 20.0 * (volts / small).log10() - (loud - quiet);
        let what = format!("at {volts} V {db:.1} dB, compressed {lost:.1} dB");
        judge(what, db <= TRANSIENT_DB && lost >= CLIPPED_DB);
    }
    println!("{line}");
    assert!(faults.is_empty(), "{}", faults.join("\n"));
}

/// A circuit's file, its small drive and, if there is one, its clipping drive, V.
type Case = (PathBuf, f64, Option<f64>);

fn hold_all(cases: &[Case]) {
    std::thread::scope(|scope| {
        for (path, small, clipping) in cases {
            scope.spawn(move || hold(path, *small, *clipping));
        }
    });
}

fn small_circuits(list: &[(&str, f64, Option<f64>)]) {
    let folder = crate::top::top().join("tests/circuits");
    let case = |&(name, small, clipping): &(&str, f64, Option<f64>)| {
        (folder.join(name).with_extension("toml"), small, clipping)
    };
    hold_all(&list.iter().map(case).collect::<Vec<Case>>());
}

#[test]
fn passive_networks() {
    small_circuits(&[
        ("spice/divider", 1.0, None),
        ("spice/inductor", 1.0, None),
        ("spice/tone_network", 1.0, None),
    ]);
}

#[test]
fn stages() {
    // The larger drive takes every stage into cut-off and grid current.
    small_circuits(&[
        ("one_triode", 0.01, Some(5.0)),
        ("spice/triode_unbypassed", 0.01, Some(10.0)),
        ("two_stages", 0.01, Some(5.0)),
        ("spice/cathode_follower", 0.01, Some(5.0)),
        ("spice/cathodyne", 0.01, Some(150.0)),
        ("spice/long_tailed_pair", 0.01, Some(20.0)),
    ]);
}

#[test]
fn output_stages() {
    small_circuits(&[
        ("spice/pentode_single_ended", 0.01, Some(30.0)),
        ("spice/pentode_as_triode", 0.01, Some(30.0)),
        ("push_pull", 1.0, Some(10.0)),
        ("spice/rectifier", 0.1, None),
    ]);
}

#[test]
fn built_in_amps() {
    let folder = crate::top::top().join("presets/circuits");
    let mut cases: Vec<Case> = std::fs::read_dir(folder)
        .expect("the built-in amps")
        .map(|entry| entry.expect("a file").path())
        .filter(|path| path.extension().is_some_and(|e| e == "toml"))
        .map(|path| (path, 0.01, Some(0.3)))
        .collect();
    cases.sort_by(|a, b| a.0.cmp(&b.0));
    assert!(cases.len() >= 4, "there are four amps");
    hold_all(&cases);
}

/// The first grid is driven into its current through the guitar's impedance.
#[test]
fn a_guitar_before_a_stage_and_before_an_amp() {
    let folder = crate::top::top();
    for (file, guitar, clipping) in [
        (
            "tests/circuits/one_triode.toml",
            NamedGuitar::SingleCoil,
            10.0,
        ),
        ("presets/circuits/bradawl.toml", NamedGuitar::Humbucker, 0.3),
    ] {
        let text = std::fs::read_to_string(folder.join(file)).expect("a circuit file");
        let mut guitar = guitar.guitar();
        guitar.volume.set = 0.8;
        guitar.interface_farads = 150e-12;
        let circuit = parse(&text).with_guitar(Some(guitar.into()));
        hold_circuit(file, circuit, 0.01, Some(clipping));
    }
}

/// The comparison can fail: an anode resistor off by a tenth of a per cent or a cathode capacitor
/// by two hundredths is beyond the bars.
#[test]
fn a_part_that_is_slightly_off_is_seen() {
    let text = include_str!("../circuits/one_triode.toml");
    let burst = Burst::small(1.0);
    let found = Ours::new(parse(text)).ask(burst, true);
    let changed = |from: &str, to: &str| {
        assert!(text.contains(from));
        Ours::new(parse(&text.replace(from, to)))
    };
    let anode = changed("resistor = \"100k\"", "resistor = \"100.1k\"");
    assert!(anode.point_difference(&found.point).0 > POINT_SHARE);
    assert!(anode.transient_difference(burst, &found.waveform).0 > TRANSIENT_DB);
    let bypass = changed("capacitor = \"25u\"", "capacitor = \"24.5u\"");
    assert!(bypass.response_difference(&found.gain).0 > RESPONSE_DB);
}

#[test]
fn a_missing_program_is_named_with_its_package() {
    let message = crate::ngspice::run(
        "presolder-no-such-program",
        &crate::ngspice::Folder::new().unwrap(),
        "",
    );
    assert!(message.unwrap_err().contains("apt-get install -y ngspice"));
}
