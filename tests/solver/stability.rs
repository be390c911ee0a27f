//! Whether an amp stays at rest: oscillators against ngspice, the built-in amps with their feedback
//! both ways round against the oracle's transient.

use crate::ngspice::{Request, ask};
use crate::solved::Solved;
use engine::circuit::{built_in_circuits, read};
use engine::device::Catalogue;
use engine::solve::stability::{growing, growing_at, marginal};
use engine::solve::{Remedy, Stability, Transient, stability};
use std::f64::consts::TAU;

/// One valve and three RC sections.
pub const PHASE_SHIFT: &str = include_str!("../circuits/phase_shift.toml");

/// A transformer from anode to grid whose winding is tuned (own drawing and values); without the
/// capacitor it is a blocking oscillator, whose voltages run to one side first.
const TRANSFORMER: &str = r#"
format = 1
[amp]
name = "Transformer"
about = "One valve and a transformer."
input = "in"
output = "a"
[parts]
HT = { supply = "200 V", node = "ht", resistance = "1k" }
T1 = { output_transformer = { primary = "20k", secondary = "180", inductance = "3 H" }, primary = ["ht", "a"], secondary = ["w", "gnd"] }
V1 = { triode = "ECC82", anode = "a", grid = "g", cathode = "k" }
R2 = { resistor = "2k2", between = ["k", "gnd"] }
C1 = { capacitor = "47u", between = ["k", "gnd"] }
C2 = { capacitor = "100n", between = ["w", "g"] }
R3 = { resistor = "220k", between = ["g", "gnd"] }
R4 = { resistor = "22k", between = ["w", "gnd"] }
C3 = { capacitor = "10u", between = ["w", "gnd"] }
R6 = { resistor = "22M", between = ["in", "g"] }
R7 = { resistor = "1M", between = ["in", "gnd"] }
"#;

fn solved(text: &str) -> Solved {
    let circuit = read(text, &Catalogue::built_in());
    Solved::new(circuit.unwrap_or_else(|faults| panic!("{faults:?}")))
}

/// Frequency (Hz) and growth (1/s) of a waveform about its rest from `from` to `to` volts of peaks.
fn grown(waveform: &[(f64, f64)], from: f64, to: f64) -> Option<(f64, f64)> {
    let rest = waveform[0].1;
    let mut crossings = Vec::new();
    let mut peaks: Vec<(f64, f64)> = Vec::new();
    let mut peak = (0.0, 0.0_f64);
    for w in waveform.windows(2) {
        let [(t0, v0), (t1, v1)] = [w[0], w[1]].map(|(t, v)| (t, v - rest));
        if v1 > peak.1 {
            peak = (t1, v1);
        }
        if v0 < 0.0 && v1 >= 0.0 {
            crossings.push(t0 + (t1 - t0) * v0 / (v0 - v1));
            peaks.push(peak);
            peak = (0.0, 0.0);
        }
    }
    let kept: Vec<usize> = (1..peaks.len())
        .filter(|&i| (from..to).contains(&peaks[i].1))
        .collect();
    let (&first, &last) = (kept.first()?, kept.last()?);
    if last < first + 3 {
        return None;
    }
    let periods = (last - first) as f64;
    let hz = periods / (crossings[last] - crossings[first]);
    let growth = (peaks[last].1 / peaks[first].1).ln() / (peaks[last].0 - peaks[first].0);
    Some((hz, growth))
}

#[test]
fn oscillators_grow_as_ngspice_has_them_grow() {
    for (text, seconds, step) in [(PHASE_SHIFT, 0.3, 5e-6), (TRANSFORMER, 0.1, 2e-6)] {
        let bench = solved(text);
        let name = bench.circuit.name().to_owned();
        let poles = growing_at(&bench.network, &bench.values, &bench.point).expect("a count");
        println!("{name}: {poles:?} rad/s");
        let pole = poles[0];
        assert!(pole.im > 0.0, "{name}");
        let found = ask(
            &bench.circuit,
            &Request {
                input: "1e-3*exp(-((time-1e-3)/1e-4)*((time-1e-3)/1e-4))",
                seconds,
                step,
                at_rest: false,
            },
        )
        .unwrap_or_else(|e| panic!("{name}: {e}"));
        let (hz, growth) = grown(&found.waveform, 1e-4, 0.3).expect("some periods");
        let ours = pole.im / TAU;
        println!(
            "{name}: ours {ours} Hz {} 1/s, ngspice {hz} Hz {growth} 1/s",
            pole.re
        );
        assert!((hz / ours - 1.0).abs() < 0.01, "{name}");
        assert!((growth / pole.re - 1.0).abs() < 0.03, "{name}");
        let said = stability(&bench.circuit, &bench.network, &bench.values, &bench.point);
        let Stability::Unstable(howl) = said else {
            panic!("{name}: {said:?}");
        };
        println!("{name} {howl}");
        assert_eq!(howl.valves, ["V1"]);
    }
}

#[test]
fn a_blocking_oscillator_runs_to_one_side() {
    let line = "C3 = { capacitor = \"10u\", between = [\"w\", \"gnd\"] }";
    assert!(TRANSFORMER.contains(line));
    let bench = solved(&TRANSFORMER.replace(line, ""));
    let said = stability(&bench.circuit, &bench.network, &bench.values, &bench.point);
    let Stability::Unstable(howl) = said else {
        panic!("{said:?}");
    };
    println!("{howl} {howl:?}");
    assert_eq!(howl.hertz, None);
    assert_eq!(howl.valves, ["V1"]);
    let remedy = Remedy::SwapSecondary {
        transformer: "T1".into(),
    };
    assert_eq!(howl.remedy, Some(remedy));
    // How fast: the oracle's steps are short beside it, its pulse small.
    let growth = howl.growth.expect("a natural frequency");
    let step = 0.02 / growth;
    let mut transient = Transient::new(&bench.network, &bench.values, &bench.point, step);
    let rest = transient.output();
    let mut at = Vec::new();
    for n in 0..3000 {
        let volts = transient
            .step(if n < 10 { 1e-3 } else { 0.0 })
            .expect("a step");
        let moved = (volts - rest).abs();
        if moved > 0.2 {
            break;
        }
        if moved > 1e-3 {
            at.push((n as f64 * step, moved));
        }
    }
    let (first, last) = (at[0], at[at.len() - 1]);
    let theirs = (last.1 / first.1).ln() / (last.0 - first.0);
    println!("growth {growth} 1/s, the oracle's {theirs} 1/s");
    assert!((theirs / growth - 1.0).abs() < 0.03);
}

/// Whether the oracle's voltages grow after a small pulse at the jack. The trapezoidal rule takes the
/// left half-plane to the unit disc, whatever its step: what grows in time grows in steps.
fn grows(bench: &Solved, step: f64, steps: usize) -> bool {
    let mut transient = Transient::new(&bench.network, &bench.values, &bench.point, step);
    let rest = bench.point.solution.clone();
    let mut early: f64 = 0.0;
    let mut late: f64 = 0.0;
    for n in 0..steps {
        let input = if n < 10 { 1e-6 } else { 0.0 };
        transient.step(input).expect("the oracle converges");
        let moved = transient.solution().iter().zip(&rest);
        let moved = moved.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        if n < 20 {
            early = early.max(moved);
        } else if n >= 3 * steps / 4 {
            late = late.max(moved);
        }
    }
    println!(
        "   {} step {step}: early {early:e} V, late {late:e} V",
        bench.circuit.name()
    );
    late > early
}

/// The phase-shift oscillator with less gain: its cathode resistor without a capacitor and larger.
/// Where it is near, the factor of transconductance that makes it grow is the margin.
#[test]
fn a_margin_is_what_starts_it() {
    // Sections of a larger share let more through; with this one it stays at rest, but not by far.
    let text = |ohms: &str| {
        let text = PHASE_SHIFT.replace(
            "R1 = { resistor = \"100k\"",
            &format!("R1 = {{ resistor = \"{ohms}\""),
        );
        assert!(text.contains(ohms));
        solved(&text)
    };
    let mut seen = [false; 3];
    for ohms in [
        "10k", "15k", "22k", "27k", "33k", "39k", "47k", "68k", "100k",
    ] {
        let bench = text(ohms);
        let grows = growing(&bench.network, &bench.values, &bench.point).expect("a count") > 0;
        let near = marginal(&bench.circuit, &bench.network, &bench.values, &bench.point);
        println!("{ohms}: grows {grows}, near {near:?}");
        if grows {
            assert!(near.is_empty(), "{ohms}");
            seen[2] = true;
        } else if let [near] = near.as_slice() {
            assert_eq!(near.valves, ["V1"]);
            assert!(
                near.decibels.is_some_and(|db| db > 0.0 && db <= 3.0) || near.degrees.is_some()
            );
            seen[1] = true;
        } else {
            seen[0] = true;
        }
    }
    // Far from it, near to it, and over it, in this order of loads.
    assert_eq!(seen, [true; 3]);
}

#[test]
fn built_in_amps_stay_at_rest_and_howl_where_the_oracle_does_with_feedback_reversed() {
    for amp in built_in_circuits() {
        let bench = Solved::built_in(amp.key);
        let begun = std::time::Instant::now();
        let inside = growing(&bench.network, &bench.values, &bench.point);
        let spent = begun.elapsed();
        let begun = std::time::Instant::now();
        let near = marginal(&bench.circuit, &bench.network, &bench.values, &bench.point);
        println!("{}: near {near:?}, {:?}", amp.key, begun.elapsed());
        assert!(near.is_empty(), "{}", amp.key);
        println!(
            "{}: {inside:?}, {spent:?}, {} unknowns",
            amp.key,
            bench.network.unknowns()
        );
        assert_eq!(inside, Some(0), "{}", amp.key);
        assert!(bench.circuit.signal_reaches_output(), "{}", amp.key);
        let line = amp.text.lines().find(|l| l.starts_with("T1 ")).expect("T1");
        let at = line
            .find("secondary = [\"")
            .expect("a secondary winding's taps")
            + 13;
        let end = at + line[at..].find(']').unwrap();
        let mut taps: Vec<&str> = line[at..end].split(',').map(str::trim).collect();
        taps.reverse();
        let swapped = format!("{}{}{}", &line[..at], taps.join(", "), &line[end..]);
        let reversed = solved(&amp.text.replace(line, &swapped));
        let said = stability(
            &reversed.circuit,
            &reversed.network,
            &reversed.values,
            &reversed.point,
        );
        let oracle = grows(&reversed, 2e-5, 4000) || grows(&reversed, 1e-6, 4000);
        match &said {
            Stability::Unstable(howl) => {
                println!("{}, reversed: {howl} {howl:?}", amp.key);
                let remedy = Remedy::SwapSecondary {
                    transformer: "T1".into(),
                };
                assert_eq!(howl.remedy, Some(remedy), "{}", amp.key);
            }
            other => println!("{}, reversed: {other:?}", amp.key),
        }
        assert_eq!(
            matches!(said, Stability::Unstable(_)),
            oracle,
            "{}",
            amp.key
        );
    }
}
