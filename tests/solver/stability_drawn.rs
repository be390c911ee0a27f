//! A thousand drawn circuits: what grows by the count of natural frequencies grows in the oracle's
//! transient, and nothing else does.

use crate::solved::Solved;
use engine::circuit::read;
use engine::device::Catalogue;
use engine::network::Network;
use engine::solve::stability::growing;
use engine::solve::{Transient, operating_point};
use rand::rngs::StdRng;
use rand::{Rng, SeedableRng};
use std::fmt::Write;

const CIRCUITS: usize = 1000;
/// The oracle has decided when its voltages, averaged over two steps, are so many times what they were
/// while the pulse lasted, or that small a share of it. What it has not decided after so many steps of
/// any length is left out: too near to the border.
const GROWN: f64 = 30.0;
const DIED: f64 = 3e-4;
const STEPS: usize = 3000;
/// Lengths of step, s: a natural frequency between 100 and 100,000 rad/s moves well in one of them.
const LENGTHS: [f64; 2] = [1e-5, 3e-4];
/// At least so many are to be decided.
const DECIDED: usize = 800;
/// Width of the pulse, steps.
const PULSE: usize = 10;

fn draw(random: &mut StdRng) -> String {
    let mut log = |low: f64, high: f64| low * (high / low).powf(random.random::<f64>());
    let mut text = String::from(
        "format = 1\n[amp]\nname = \"Drawn\"\nabout = \"Drawn.\"\ninput = \"in\"\noutput = \"a1\"\n[parts]\n\
         HT = { supply = \"300 V\", node = \"ht\", resistance = \"100\" }\n\
         RI = { resistor = \"1M\", between = [\"in\", \"gnd\"] }\n\
         RJ = { resistor = \"1M\", between = [\"in\", \"g1\"] }\n",
    );
    let mut count = 0;
    let mut part = |text: &mut String, kind: &str, value: f64, a: &str, b: &str| {
        count += 1;
        let (scale, letter) = match kind {
            "resistor" => (1.0, ""),
            _ => (1e12, "p"),
        };
        let name = if kind == "resistor" { "R" } else { "C" };
        writeln!(
            text,
            "{name}{count} = {{ {kind} = \"{:.0}{letter}\", between = [\"{a}\", \"{b}\"] }}",
            value * scale
        )
        .unwrap();
    };
    let stages = 1 + (log(1.0, 3.999) as usize).min(3) - 1;
    let resistor = "resistor";
    let capacitor = "capacitor";
    part(&mut text, resistor, log(300.0, 2e4), "ht", "rail");
    part(&mut text, capacitor, log(1e-8, 1e-5), "rail", "gnd");
    for stage in 1..=stages {
        let [a, g, k] = ["a", "g", "k"].map(|n| format!("{n}{stage}"));
        let valve = if log(1.0, 4.0) < 2.0 {
            "ECC83"
        } else {
            "ECC82"
        };
        writeln!(
            text,
            "V{stage} = {{ triode = \"{valve}\", anode = \"{a}\", grid = \"{g}\", cathode = \"{k}\" }}"
        )
        .unwrap();
        part(&mut text, resistor, log(2.2e4, 2.2e5), "rail", &a);
        part(&mut text, resistor, log(5e4, 1e6), &g, "gnd");
        part(&mut text, resistor, log(500.0, 3e3), &k, "gnd");
        if log(1.0, 4.0) < 2.0 {
            part(&mut text, capacitor, log(1e-7, 2e-5), &k, "gnd");
        }
        if stage > 1 {
            let before = format!("a{}", stage - 1);
            part(&mut text, capacitor, log(1e-9, 1e-7), &before, &g);
        }
    }
    // Back from the last anode to a grid or a cathode, straight or over further sections.
    let last = format!("a{stages}");
    let target = if log(1.0, 4.0) < 3.0 { "g1" } else { "k1" };
    let sections = log(1.0, 3.999) as usize;
    let mut from = last;
    for section in 1..=sections {
        let to = format!("f{section}");
        part(&mut text, capacitor, log(2e-10, 2e-8), &from, &to);
        part(&mut text, resistor, log(1e5, 1e6), &to, "gnd");
        from = to;
    }
    part(&mut text, resistor, log(1e4, 3e6), &from, target);
    text
}

/// Whether the oracle grows; none when it has not decided.
fn oracle(bench: &Solved) -> Option<bool> {
    let mut died = true;
    for length in LENGTHS {
        let mut transient = Transient::new(&bench.network, &bench.values, &bench.point, length);
        let rest = &bench.point.solution;
        let mut before = rest.clone();
        let (mut pulse, mut decided): (f64, bool) = (0.0, false);
        for n in 0..STEPS {
            let turn = std::f64::consts::TAU * (n + 1) as f64 / PULSE as f64;
            let input = if n < PULSE {
                5e-3 * (1.0 - turn.cos())
            } else {
                0.0
            };
            transient.step(input).ok()?;
            let now = transient.solution();
            let both = now.iter().zip(&before).zip(rest);
            let moved = both
                .map(|((a, b), r)| (0.5 * (a + b) - r).abs())
                .fold(0.0, f64::max);
            before.copy_from_slice(now);
            if n < 2 * PULSE {
                pulse = pulse.max(moved);
            } else if moved > GROWN * pulse {
                return Some(true);
            } else if n > 300 && moved < DIED * pulse {
                decided = true;
                break;
            }
        }
        died &= decided;
    }
    died.then_some(false)
}

#[test]
fn drawn_circuits_grow_where_the_oracle_grows() {
    let catalogue = Catalogue::built_in();
    let mut random = StdRng::seed_from_u64(20_12);
    let texts: Vec<String> = (0..CIRCUITS).map(|_| draw(&mut random)).collect();
    let judge = |text: &String| {
        let circuit = read(text, &catalogue).unwrap_or_else(|f| panic!("{f:?}\n{text}"));
        let network = Network::new(&circuit);
        let values = network.values(&circuit);
        let point = operating_point(&network, &values).expect("an operating point");
        let begun = std::time::Instant::now();
        let ours = growing(&network, &values, &point).expect("a count") > 0;
        let spent = begun.elapsed().as_secs_f64();
        let bench = Solved {
            circuit,
            network,
            values,
            point,
        };
        (ours, oracle(&bench), spent)
    };
    let results: Vec<(bool, Option<bool>, f64)> = std::thread::scope(|scope| {
        let halves = texts.chunks(CIRCUITS.div_ceil(4));
        let running: Vec<_> = halves
            .map(|half| scope.spawn(move || half.iter().map(judge).collect::<Vec<_>>()))
            .collect();
        running
            .into_iter()
            .flat_map(|t| t.join().expect("a judgement"))
            .collect()
    });
    let decided = results.iter().filter(|r| r.1.is_some()).count();
    let unstable = results.iter().filter(|r| r.1 == Some(true)).count();
    let wrong: Vec<usize> = (0..CIRCUITS)
        .filter(|&i| results[i].1.is_some_and(|oracle| oracle != results[i].0))
        .collect();
    let spent: f64 = results.iter().map(|r| r.2).sum();
    println!(
        "{decided} decided, {unstable} of them unstable, {:.3} ms each, wrong: {wrong:?}",
        1e3 * spent / CIRCUITS as f64
    );
    for &index in wrong.iter().take(3) {
        println!("{:?}\n{}", results[index], texts[index]);
    }
    assert!(wrong.is_empty());
    assert!(decided >= DECIDED);
    assert!(unstable >= decided / 5 && unstable <= decided * 4 / 5);
}
