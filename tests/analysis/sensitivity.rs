//! Sensitivities against central differences of the whole calculation, operating point included,
//! and against circuits worked by hand.

use engine::analysis::response::{Path, gains};
use engine::analysis::sensitivity::sensitivity;
use engine::circuit::{Circuit, PartId, PartKind, built_in_circuits, read};
use engine::device::Catalogue;
use engine::network::Network;
use engine::solve::operating_point;
use engine::solve::solved::{SolvedAmp, SolvedCircuit};

fn amp(text: &str) -> SolvedAmp {
    let circuit = read(text, &Catalogue::built_in()).expect("a sound file");
    SolvedAmp::new(&circuit, None).expect("an operating point")
}

/// Levels in dB with one part's value multiplied, everything solved anew.
fn levels(amp: &SolvedAmp, id: PartId, factor: f64, path: Path, hz: &[f64]) -> Vec<f64> {
    let network: &Network = &amp.network;
    let mut part = amp.as_found.circuit.part(id).clone();
    match &mut part.kind {
        PartKind::Resistor { ohms, .. } | PartKind::Pot { ohms, .. } => *ohms *= factor,
        PartKind::Capacitor { farads, .. } => *farads *= factor,
        PartKind::Inductor { henries, .. } => *henries *= factor,
        other => panic!("{other:?}"),
    }
    let mut values = amp.as_found.values.clone();
    network.update_part(&mut values, id, &part);
    let point = operating_point(network, &values).expect("an operating point");
    let side = SolvedCircuit {
        circuit: amp.as_found.circuit.clone(),
        values,
        point,
    };
    let gains = gains(network, &side, path, hz);
    gains.iter().map(|g| 20.0 * g.norm().log10()).collect()
}

/// Noise of a difference quotient over `STEP` octaves: voltages at rest are solved to 1e-10 of
/// themselves, gains go with a few times their share, 20·log₁₀ makes 8.7 dB of it.
const STEP: f64 = 1.0 / 32.0;
const NOISE: f64 = 8.7 * 10.0 * 1e-10 / STEP;

/// Every part with a value on one path: by how much the adjoint and the differences disagree.
fn compare(amp: &SolvedAmp, path: Path, what: &str) -> f64 {
    let hz = [20.0, 82.4, 440.0, 1500.0, 6000.0, 20_000.0];
    let found = sensitivity(&amp.network, &amp.as_found, path, &hz);
    let circuit: &Circuit = &amp.as_found.circuit;
    let mut worst: f64 = 0.0;
    for (name, curve) in &found.parts.0 {
        let id = circuit.find_part(name).unwrap();
        let quotient = |octaves: f64| -> Vec<f64> {
            let up = levels(amp, id, 2f64.powf(octaves), path, &hz);
            let down = levels(amp, id, 2f64.powf(-octaves), path, &hz);
            up.iter()
                .zip(&down)
                .map(|(u, d)| (u - d) / (2.0 * octaves))
                .collect()
        };
        let (wide, narrow) = (quotient(2.0 * STEP), quotient(STEP));
        for i in 0..hz.len() {
            // A central difference errs with the square of its step, so the narrow one by a third
            // of what separates the two; half of that again is left for the fourth power.
            let apart = (wide[i] - narrow[i]).abs();
            let difference = (curve[i] - narrow[i]).abs();
            worst = worst.max(difference);
            assert!(
                difference <= 0.5 * apart + NOISE,
                "{what}, {name} at {} Hz: {} by the adjoint, {} by differences ({apart:e} apart)",
                hz[i],
                curve[i],
                narrow[i]
            );
        }
    }
    let with_value = circuit.parts().iter().filter(|p| {
        p.fitted
            && matches!(
                p.kind,
                PartKind::Resistor { .. }
                    | PartKind::Capacitor { .. }
                    | PartKind::Inductor { .. }
                    | PartKind::Pot { .. }
            )
    });
    assert_eq!(found.parts.0.len(), with_value.count());
    worst
}

#[test]
fn every_part_of_every_amp_agrees_with_differences_of_the_whole_calculation() {
    for built_in in built_in_circuits() {
        let amp = amp(built_in.text);
        let worst = compare(&amp, Path::default(), built_in.key);
        println!("{}: {worst:.2e} dB an octave at most", built_in.key);
    }
}

#[test]
fn other_paths_agree_too() {
    let amp = amp(built_in_circuits()[0].text);
    let node = |name| amp.as_found.circuit.find_node(name);
    for (from, to) in [(None, "a2"), (Some("m1"), "g2"), (Some("g3"), "a5")] {
        let path = Path {
            from: from.and_then(node),
            to: node(to),
        };
        compare(&amp, path, to);
    }
}

/// `H = jωRC/(1 + jωRC)` has `d ln|H|/d ln R = 1/(1 + (ωRC)²)`: 3.01 dB an octave at the corner
/// and 6.02 far below it, the same for R and C.
#[test]
fn a_high_pass_worked_by_hand() {
    let amp = amp(r#"
format = 1
[amp]
name = "High-pass"
input = "in"
output = "out"
[parts]
C1 = { capacitor = "100n", between = ["in", "out"] }
R1 = { resistor = "10k", between = ["out", "gnd"] }
"#);
    let corner = 1.0 / (std::f64::consts::TAU * 1e4 * 1e-7);
    let hz = [corner / 1000.0, corner, 10.0 * corner];
    let found = sensitivity(&amp.network, &amp.as_found, Path::default(), &hz);
    let octave = 20.0 * 2f64.log10();
    for name in ["R1", "C1"] {
        let curve = found.parts.get(name).unwrap();
        for (&value, share) in curve.iter().zip([1.0, 0.5, 1.0 / 101.0]) {
            // The jack's ohm stands in series with 10 kΩ.
            assert!(
                (value - octave * share).abs() < octave * 3e-4,
                "{name}: {curve:?}"
            );
        }
    }
}

/// A divider of equal halves, and a pot half-way: doubling the upper takes `6.02·½` dB at that
/// rate, the lower adds as much, and the pot as a whole changes nothing.
#[test]
fn dividers_worked_by_hand() {
    let amp = amp(r#"
format = 1
[amp]
name = "Dividers"
input = "in"
output = "out"
[parts]
R1 = { resistor = "100k", between = ["in", "out"] }
R2 = { resistor = "100k", between = ["out", "gnd"] }
VR1 = { pot = "100M", taper = "linear", from = "in", to = "gnd", wiper = "p", control = "P", set = 0.5 }
C1 = { capacitor = "1p", between = ["p", "gnd"] }
"#
    .replace("100M", "10M")
    .as_str());
    let found = sensitivity(&amp.network, &amp.as_found, Path::default(), &[1000.0]);
    let at = |name: &str| found.parts.get(name).unwrap()[0];
    let half = 10.0 * 2f64.log10();
    // One ohm at the jack beside 200 kΩ.
    assert!((at("R1") + half).abs() < 1e-4, "{}", at("R1"));
    assert!((at("R2") - half).abs() < 1e-4, "{}", at("R2"));
    assert!(at("VR1").abs() < 1e-5, "{}", at("VR1"));
}

/// Parts that only carry direct current act through the valves' tangents alone: a decoupled
/// anode supply's feed at a frequency where its capacitor is a short.
#[test]
fn a_part_that_only_moves_the_operating_point_is_seen() {
    let amp = amp(built_in_circuits()[0].text);
    let found = sensitivity(&amp.network, &amp.as_found, Path::default(), &[1000.0]);
    let feed = found.parts.get("R503").unwrap()[0];
    let bias = found.parts.get("R505").unwrap()[0];
    println!("R503 {feed:.3} dB, R505 {bias:.3} dB an octave");
    // More feed resistance and more bias both cool valves, which lowers their gain.
    assert!(feed < -0.05 && bias < -0.05);
}
