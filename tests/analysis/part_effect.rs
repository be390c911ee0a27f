//! What is said of a part: figures, curves and sentences against circuits worked by hand and
//! against the whole calculation done another way.

use engine::analysis::part_effect::{LOW_E_HZ, PartEffect, part_effect};
use engine::analysis::response::{Path, gains, response};
use engine::circuit::{
    Circuit, PartKind, WrittenChange, built_in_circuits, built_in_proposals, read, read_proposal,
};
use engine::device::{Catalogue, ValveLaw};
use engine::solve::solved::SolvedAmp;
use std::f64::consts::TAU;

fn circuit(text: &str) -> Circuit {
    read(text, &Catalogue::built_in()).expect("a sound file")
}

fn with(circuit: &Circuit, changes: &[&str]) -> Circuit {
    let changes: Vec<WrittenChange> = changes.iter().map(|c| c.parse().unwrap()).collect();
    circuit
        .with_written_changes(&changes, &Catalogue::built_in())
        .expect("sound changes")
}

fn effect(found: &Circuit, proposed: Option<&Circuit>, part: &str) -> PartEffect {
    let amp = SolvedAmp::new(found, proposed).expect("an operating point");
    part_effect(&amp, found.find_part(part).unwrap(), Path::default())
}

fn high_pass(resistors: &str) -> Circuit {
    circuit(&format!(
        "format = 1\n[amp]\nname = \"High-pass\"\ninput = \"in\"\noutput = \"out\"\n[parts]\n\
         C1 = {{ capacitor = \"100n\", between = [\"in\", \"out\"] }}\n{resistors}"
    ))
}

/// `|H| = x/√(1 + x²)` at `x = f/159 Hz`; the jack's ohm is lost beside 10 kΩ.
#[test]
fn a_low_cut_worked_by_hand() {
    let found = high_pass("R1 = { resistor = \"10k\", between = [\"out\", \"gnd\"] }\n");
    let level = |hz: f64, farads: f64| {
        let x = TAU * hz * 1e4 * farads;
        20.0 * (x / x.hypot(1.0)).log10()
    };
    let twice = |hz: f64| level(hz, 200e-9) - level(hz, 100e-9);
    assert_eq!(
        effect(&found, None, "C1").sentence.unwrap(),
        format!(
            "With R1 it sets a low cut at 160 Hz. Twice the value: +{:.1} dB at 20 Hz, \
             +{:.1} dB at the low E.",
            twice(20.0),
            twice(LOW_E_HZ)
        )
    );
    let resistor = effect(&found, None, "R1").sentence.unwrap();
    assert!(
        resistor.starts_with("With C1 it sets a low cut at 160 Hz."),
        "{resistor}"
    );
    let proposed = with(&found, &["C1=220n"]);
    let changed = effect(&found, Some(&proposed), "C1");
    let most = level(20.0, 220e-9) - level(20.0, 100e-9);
    let largest = changed.largest.unwrap();
    assert_eq!(largest.hz, 20.0);
    assert!((largest.db - most).abs() < 0.01, "{largest:?} {most}");
    let sentence = changed.sentence.unwrap();
    let start = "With R1 it sets a low cut at 160 Hz; at 220 nF: 72 Hz. Largest effect +";
    assert!(sentence.starts_with(start), "{sentence}");
}

/// A partner is named when it makes four fifths of the resistance, two when they share it.
#[test]
fn partners_are_named_only_where_they_make_the_corner() {
    let said = |resistors: &[(&str, &str, &str)]| {
        let lines = resistors.iter().enumerate().map(|(i, (ohms, a, b))| {
            format!(
                "R{} = {{ resistor = \"{ohms}\", between = [\"{a}\", \"{b}\"] }}\n",
                i + 1
            )
        });
        let found = high_pass(&lines.collect::<String>());
        effect(&found, None, "C1").sentence.unwrap()
    };
    let alone = said(&[("9k", "out", "a"), ("1k", "a", "gnd")]);
    assert!(alone.starts_with("With R1 it sets"), "{alone}");
    let two = said(&[("5k", "out", "a"), ("5k", "a", "gnd")]);
    assert!(
        two.starts_with("With R1 and R2 it sets") || two.starts_with("With R2 and R1 it sets"),
        "{two}"
    );
    let three = said(&[("3k3", "out", "a"), ("3k3", "a", "b"), ("3k3", "b", "gnd")]);
    assert!(three.starts_with("It sets a low cut at 160 Hz"), "{three}");
}

/// A resistor over the capacitor turns the cut into a shelf; a second capacitor of the same reach
/// beside it bends the curve so that nothing is claimed.
#[test]
fn what_the_curve_does_not_bear_out_is_not_claimed() {
    let shelf = high_pass(
        "R1 = { resistor = \"10k\", between = [\"out\", \"gnd\"] }\n\
         R2 = { resistor = \"10k\", between = [\"in\", \"out\"] }\n",
    );
    // 6.02 dB between 1/(2π·10k·C) and twice that: half of it at √2 · 159 Hz = 225 Hz.
    let sentence = effect(&shelf, None, "C1").sentence.unwrap();
    let start = "It lifts what lies above about 230 Hz by 6.0 dB.";
    let with_partners = sentence.contains("lifts what lies above about 230 Hz by 6.0 dB.");
    assert!(with_partners, "{sentence}, not {start}");
    let ladder = high_pass(
        "R1 = { resistor = \"10k\", between = [\"out\", \"gnd\"] }\n\
         R2 = { resistor = \"100\", between = [\"in\", \"a\"] }\n\
         C2 = { capacitor = \"100n\", between = [\"a\", \"gnd\"] }\n\
         C3 = { capacitor = \"100n\", between = [\"a\", \"out\"] }\n",
    );
    let sentence = effect(&ladder, None, "C1").sentence.unwrap();
    assert!(!sentence.contains("cut"), "{sentence}");
}

/// The bypass of a cathode resistor lifts by `1 + (µ + 1)·Rk/(RL + ra)`.
#[test]
fn a_cathode_bypass_lifts_by_the_textbook_step() {
    let found = circuit(include_str!("../circuits/one_triode.toml"));
    let amp = SolvedAmp::new(&found, None).unwrap();
    let at = |name: &str| {
        let node = found.find_node(name).unwrap();
        amp.as_found.point.solution[amp.network.position(node)]
    };
    let catalogue = Catalogue::built_in();
    let ValveLaw::Triode(law) = &catalogue.valve("ECC83").unwrap().law else {
        panic!("a triode")
    };
    let i = law.currents(at("a1") - at("k1"), at("g1") - at("k1"));
    let (ra, mu) = (1.0 / i.anode_by_anode, i.anode_by_grid / i.anode_by_anode);
    // 100 kΩ with 1 MΩ behind the coupling capacitor.
    let load = 1.0 / (1.0 / 100e3 + 1.0 / 1e6);
    let step = 20.0 * (1.0 + (mu + 1.0) * 1500.0 / (load + ra)).log10();
    let sentence = effect(&found, None, "C1").sentence.unwrap();
    assert!(
        sentence.contains(&format!("by {step:.1} dB")),
        "{step} {sentence}"
    );
}

/// The frequency behind a word of a sentence, Hz.
fn hertz_behind(sentence: &str, word: &str) -> Option<f64> {
    let behind = &sentence[sentence.find(word)? + word.len()..];
    let mut words = behind.split_whitespace();
    let number: f64 = words.next()?.parse().ok()?;
    match words.next()?.get(..2)? {
        "kH" => Some(1000.0 * number),
        "Hz" => Some(number),
        other => panic!("{other}"),
    }
}

/// Every corner that is named, looked for again in circuits with the capacitor a thousand times as
/// large, or left out. Frequencies are told to two digits, which is up to 0.3 dB on a slope of
/// 6 dB an octave, and a claim may miss its slope by 1 dB.
#[test]
fn every_corner_that_is_named_is_there() {
    let mut named = [0; 4];
    for built_in in built_in_circuits() {
        let found = circuit(built_in.text);
        let amp = SolvedAmp::new(&found, None).unwrap();
        for part in found.parts() {
            let PartKind::Capacitor { farads, between } = part.kind else {
                continue;
            };
            let id = found.find_part(&part.designator).unwrap();
            let Some(sentence) = part_effect(&amp, id, Path::default()).sentence else {
                continue;
            };
            let what = format!("{} {}: {sentence}", built_in.key, part.designator);
            let large = format!("{}={}u", part.designator, 1e9 * farads);
            let out = format!("{}=out", part.designator);
            // Level less the level with another value.
            let against = |change: &str, path: Path, hz: f64| {
                let other = SolvedAmp::new(&with(&found, &[change]), None).unwrap();
                let level = |amp: &SolvedAmp| {
                    let gain = gains(&amp.network, &amp.as_found, path, &[hz])[0];
                    20.0 * gain.norm().log10()
                };
                level(&amp) - level(&other)
            };
            let heard = Path::default();
            if let Some(hz) = hertz_behind(&sentence, "low cut at ") {
                named[0] += 1;
                assert!((against(&large, heard, hz) + 3.0).abs() < 1.3, "{what}");
                assert!(against(&large, heard, 4.0 * hz) > -1.3, "{what}");
            }
            if let Some(hz) = hertz_behind(&sentence, "high cut at ") {
                assert!((against(&out, heard, hz) + 3.0).abs() < 1.3, "{what}");
            }
            if let Some(hz) = hertz_behind(&sentence, "that way below ") {
                named[1] += 1;
                let mut ends = between.iter().map(|&end| Path {
                    from: None,
                    to: Some(end),
                });
                assert!(
                    ends.any(|path| (against(&large, path, hz) + 3.0).abs() < 1.3),
                    "{what}"
                );
            }
            for (place, word, step, sign) in [
                (2, "lies above about ", " by ", 1.0),
                (3, "lies above about ", "takes ", -1.0),
            ] {
                let Some(start) = sentence.find(step).filter(|_| sentence.contains(word)) else {
                    continue;
                };
                let hz = hertz_behind(&sentence, word).unwrap();
                let words = sentence[start + step.len()..].split_whitespace().next();
                let step: f64 = sign * words.unwrap().parse::<f64>().unwrap();
                named[place] += 1;
                let share = |hz: f64| against(&out, heard, hz) / step;
                assert!((share(hz) - 0.5).abs() < 0.2, "{what}: {}", share(hz));
                assert!(share(hz / 8.0).abs() < 0.25, "{what}: {}", share(hz / 8.0));
                assert!((share(8.0 * hz) - 1.0).abs() < 0.25, "{what}");
            }
        }
    }
    println!("low cuts, low cuts on a way, lifts, falls: {named:?}");
    assert!(named.iter().all(|&count| count > 0), "{named:?}");
}

/// One change alone is what the response report shows of it, and of two it shows each alone.
#[test]
fn the_difference_is_that_of_this_part_alone() {
    let catalogue = Catalogue::built_in();
    for built_in in built_in_circuits() {
        let found = circuit(built_in.text);
        for file in built_in_proposals(built_in.key) {
            let proposal = read_proposal(file.text).unwrap();
            let proposed = proposal.apply(&found, &catalogue).unwrap();
            let amp = SolvedAmp::new(&found, Some(&proposed)).unwrap();
            for change in &proposal.changes {
                let only = found
                    .with_written_changes(std::slice::from_ref(change), &catalogue)
                    .unwrap();
                let alone = SolvedAmp::new(&found, Some(&only)).unwrap();
                let expected = response(&alone, Path::default()).difference.unwrap();
                for id in found.parts_named(&change.designator) {
                    let effect = part_effect(&amp, id, Path::default());
                    let difference = effect.difference.unwrap();
                    assert_eq!(difference.len(), expected.db.len());
                    let pairs = difference.iter().zip(&expected.db);
                    let worst = pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
                    assert!(worst < 1e-9, "{}: {worst} dB", change.designator);
                    assert!(effect.sentence.is_some(), "{}", change.designator);
                }
            }
        }
    }
}

#[test]
fn figures_at_rest_follow_ohm() {
    let found = circuit(
        r#"
format = 1
[amp]
name = "Divider"
input = "in"
output = "mid"
[parts]
HT = { supply = "100 V", node = "ht", resistance = "0.001" }
R1 = { resistor = "10k", between = ["ht", "mid"], rated = "0.125 W" }
R2 = { resistor = "30k", between = ["mid", "gnd"], rated = "0.125 W" }
R3 = { resistor = "1M", between = ["in", "gnd"] }
C1 = { capacitor = "10u", between = ["mid", "gnd"], rated = "63 V" }
"#,
    );
    let proposed = with(&found, &["R1=20k"]);
    let first = effect(&found, Some(&proposed), "R1");
    let near = |value: Option<f64>, expected: f64| {
        let value = value.unwrap();
        assert!((value / expected - 1.0).abs() < 1e-6, "{value} {expected}");
    };
    near(first.idle.as_found.volts, 25.0);
    near(first.idle.as_found.milliamps, 2.5);
    near(first.idle.as_found.watts, 0.0625);
    near(first.idle.proposed.volts, 40.0);
    near(first.idle.proposed.milliamps, 2.0);
    near(first.idle.proposed.watts, 0.08);
    assert_eq!(first.rated_watts, Some(0.125));
    // As found 187.5 mW stand in R2 and 75 V over C1.
    let second = effect(&found, None, "R2").sentence.unwrap();
    let told = "At rest it takes 0.19 W, over its rating of 0.125 W.";
    assert!(second.ends_with(told), "{second}");
    let third = effect(&found, None, "C1").sentence.unwrap();
    let told = "At rest it stands at 75 V, over its rating of 63 V.";
    assert!(third.ends_with(told), "{third}");
}

/// A part that was left out is put in to say what it would do, and a change that leaves the whole
/// response alone is said to do so.
#[test]
fn parts_left_out_and_parts_without_effect() {
    let mizzle = circuit(built_in_circuits()[1].text);
    let bright = effect(&mizzle, None, "C3");
    assert_eq!(
        (bright.as_found.as_str(), bright.idle.as_found.volts),
        ("out", None)
    );
    let sentence = bright.sentence.unwrap();
    assert!(sentence.starts_with("Put in at 150 pF: +"), "{sentence}");
    let bradawl = circuit(built_in_circuits()[0].text);
    let proposed = with(&bradawl, &["R101=2M2"]);
    let leak = effect(&bradawl, Some(&proposed), "R101");
    assert_eq!(
        leak.sentence.unwrap(),
        "At 2.2 MΩ: within 0.1 dB everywhere from 20 Hz to 20 kHz. What it does with a guitar in the \
         jack is not counted: none is assumed."
    );
    assert_eq!(effect(&bradawl, None, "V1a").sentence, None);
    // Nothing is said of a path on which nothing arrives.
    let amp = SolvedAmp::new(&bradawl, None).unwrap();
    let nowhere = Path {
        from: None,
        to: bradawl.find_node("gnd"),
    };
    let id = bradawl.find_part("C102").unwrap();
    assert_eq!(part_effect(&amp, id, nowhere).sentence, None);
    // What cuts the signal off is said to.
    let proposed = with(&bradawl, &["C102=out"]);
    let sentence = effect(&bradawl, Some(&proposed), "C102").sentence.unwrap();
    let told = "Left out: next to nothing comes through.";
    assert!(sentence.ends_with(told), "{sentence}");
    // What the sum leaves out is said: hum, and the bias of a push-pull pair played loud.
    let reservoir = effect(&bradawl, None, "C501").sentence.unwrap();
    assert!(
        reservoir.ends_with("; what it does against hum is not counted."),
        "{reservoir}"
    );
    let spokeshave = circuit(built_in_circuits()[2].text);
    let bypass = effect(&spokeshave, Some(&with(&spokeshave, &["C9=out"])), "C9");
    let sentence = bypass.sentence.unwrap();
    assert!(
        sentence.ends_with("of a loud signal is not counted."),
        "{sentence}"
    );
    // Both halves of a bottle change together.
    let proposed = with(&bradawl, &["V1=ECC81"]);
    let half = effect(&bradawl, Some(&proposed), "V1b").difference.unwrap();
    let other = effect(&bradawl, Some(&proposed), "V1a").difference.unwrap();
    assert_eq!(half, other);
}
