//! An amp that howls from outside: what is refused, and what is said instead.

use crate::program::{json, presolder as program, recording, refused, said, text};
use engine::sound::wav::Depth;
use presolder::circuit::built_in_circuit;
use serde_json::Value;

/// A built-in amp with the ends of its transformer's secondary swapped, in a file.
fn reversed(key: &str, folder: &tempfile::TempDir) -> String {
    let amp = built_in_circuit(key).expect("a built-in amp");
    let line = amp.text.lines().find(|l| l.starts_with("T1 ")).expect("T1");
    let at = line.find("secondary = [\"").expect("its taps") + "secondary = [".len();
    let end = at + line[at..].find(']').expect("its taps");
    let mut taps: Vec<&str> = line[at..end].split(',').map(str::trim).collect();
    taps.reverse();
    let swapped = format!("{}{}{}", &line[..at], taps.join(", "), &line[end..]);
    let path = folder.path().join("reversed.toml");
    std::fs::write(&path, amp.text.replace(line, &swapped)).expect("a file");
    path.to_string_lossy().into_owned()
}

/// What `check` says of an amp that something is wrong with.
fn faulty(arguments: &[&str]) -> Value {
    let output = program(&[arguments, &["--json"]].concat());
    assert_eq!(output.status.code(), Some(3), "{arguments:?}");
    serde_json::from_slice(&output.stdout).expect("JSON")
}

/// Typed, what is wrong with the reversed amp as found.
fn howls_through_the_feedback(answer: &Value) {
    let howl = &answer["unfit"]["as_found"]["Howls"];
    assert_eq!(howl["through"], "R305", "{answer}");
    assert_eq!(howl["remedy"]["SwapSecondary"]["transformer"], "T1");
    let valves = howl["valves"].as_array();
    assert!(valves.is_some_and(|valves| valves.len() >= 3));
    assert!(howl["growth"].as_f64() > Some(0.0));
}

#[test]
fn a_howling_amp_has_a_remedy_and_neither_curve_nor_voltages_nor_verdict() {
    let folder = tempfile::tempdir().expect("a folder");
    let amp = reversed("sluice", &folder);
    let into = folder.path().join("into");
    let into = into.to_string_lossy();
    let played = recording(folder.path(), 48_000, Depth::Int24, vec![vec![0.1; 4800]]);
    let (played, made) = (text(&played), folder.path().join("made"));
    let made = text(&made);
    let change = ["--set", "R305=100k"];
    let readings = folder.path().join("readings.toml");
    std::fs::write(&readings, "format = 1\n[readings]\nht2 = 400\n").expect("a file");
    let readings = text(&readings);
    for arguments in [
        vec!["curve", &amp],
        vec!["voltages", &amp],
        vec!["compare", &amp, change[0], change[1], "--into", &into],
        vec!["sheet", &amp, change[0], change[1], "--out", made],
        vec!["render", &amp, played, made],
        // Feedback the right way round as found, the wrong way round in the other circuit.
        vec!["curve", "sluice", "--against", &amp],
        vec!["check", &amp, "--load"],
        vec!["check", &amp, "--measured", readings],
    ] {
        let message = refused(&arguments, 3);
        assert!(
            message.contains("R305") && message.contains("T1"),
            "{message}"
        );
        let typed = program(&[&arguments[..], &["--json"]].concat());
        assert_eq!(typed.status.code(), Some(3));
        let typed: Value = serde_json::from_slice(&typed.stdout).expect("JSON");
        howls_through_the_feedback(&typed);
        assert!(!folder.path().join("made").exists() && !folder.path().join("into").exists());
    }
    // `check` says all that it knows besides, and does not call the amp faultless.
    howls_through_the_feedback(&faulty(&["check", &amp]));
    assert!(
        !refused(&["check", &amp], 3).contains("oscillates"),
        "told twice"
    );
    // The remedy, tried.
    let checked = json(&["check", "sluice"]);
    assert_eq!(checked["unfit"], Value::Null);
    assert_eq!(checked["stability"]["howls"], serde_json::json!([]));
    assert_eq!(checked["stability"]["unknown"], 0);
    assert!(checked["stability"]["looked_at"].as_u64() > Some(6));
}

#[test]
fn an_input_that_does_not_reach_the_output_is_told() {
    let out = ["--set", "C102=out"];
    let no_signal = |answer: &Value| {
        assert_eq!(answer["unfit"]["proposed"], "NoSignal", "{answer}");
        assert_eq!(answer["unfit"]["as_found"], Value::Null);
    };
    no_signal(&faulty(&["check", "bradawl", out[0], out[1]]));
    // Curve and voltages are there to find out why: they tell, and show what there is.
    for word in ["curve", "voltages"] {
        no_signal(&json(&[word, "bradawl", out[0], out[1]]));
        assert!(said(&[word, "bradawl", out[0], out[1]]).contains("passes no signal"));
        assert_eq!(json(&[word, "bradawl"])["unfit"], Value::Null);
    }
    // Of silence there is nothing to judge by ear, whichever side it is on.
    let folder = tempfile::tempdir().expect("a folder");
    // Played it is, with a word beside the file: what a probe hears may lie before the gap.
    let played = |change: &str| {
        let from = recording(folder.path(), 48_000, Depth::Int24, vec![vec![0.1; 480]]);
        let to = folder.path().join("to.wav");
        let output = program(&["render", "bradawl", text(&from), text(&to), "--set", change]);
        assert!(output.status.success() && to.exists());
        output.stderr.len()
    };
    assert!(played("C102=out") > played("C102=15n"));
    let into = folder.path().join("into");
    let compare = |circuit: &str, change: &str| {
        let arguments = [
            "compare",
            circuit,
            "--set",
            change,
            "--into",
            text(&into),
            "--json",
        ];
        let begun = std::time::Instant::now();
        let output = program(&arguments);
        assert_eq!(output.status.code(), Some(3));
        assert!(!into.exists());
        println!("compare gave up after {:?}", begun.elapsed());
        serde_json::from_slice::<Value>(&output.stdout).expect("JSON")
    };
    no_signal(&compare("bradawl", "C102=out"));
    let silent = built_in_circuit("bradawl").expect("an amp").text;
    let line = silent
        .lines()
        .find(|l| l.starts_with("C102 "))
        .expect("C102");
    let left_out = line.replace(" }", ", fitted = false }");
    assert_ne!(line, left_out);
    let path = folder.path().join("silent.toml");
    std::fs::write(&path, silent.replace(line, &left_out)).expect("a file");
    assert_eq!(
        compare(text(&path), "R103=150k")["unfit"]["as_found"],
        "NoSignal"
    );
    // What mends it has no fault left, and a job sheet.
    let mended = ["check", text(&path), "--set", "C102=in"];
    assert_eq!(json(&mended)["unfit"]["as_found"], "NoSignal");
    assert_eq!(json(&mended)["stability"]["howls"], serde_json::json!([]));
    // A volume control at zero is no fault.
    let checked = json(&["check", "bradawl", "--control", "Volume=0"]);
    assert_eq!(checked["unfit"], Value::Null);
}

/// One valve and three RC sections from its anode to its grid, with an anode load of so many ohms.
fn phase_shift(load: &str, folder: &tempfile::TempDir) -> String {
    let filed = include_str!("../circuits/phase_shift.toml");
    let text = filed.replace("resistor = \"100k\"", &format!("resistor = \"{load}\""));
    let path = folder.path().join(format!("phase-shift-{load}.toml"));
    std::fs::write(&path, text).expect("a file");
    path.to_string_lossy().into_owned()
}

#[test]
fn an_amp_that_is_close_to_oscillation_is_told_with_its_margin_and_is_no_fault() {
    let folder = tempfile::tempdir().expect("a folder");
    let near = |load: &str| {
        let checked = json(&["check", &phase_shift(load, &folder)]);
        assert_eq!(checked["unfit"], Value::Null, "{load}");
        let near = checked["stability"]["near"].as_array().expect("a list");
        println!("{load}: {near:?}");
        near.clone()
    };
    // Far from it nothing is said.
    assert!(near("10k").is_empty());
    let [found] = &near(NEAR)[..] else {
        panic!("one loop");
    };
    assert_eq!(found["valves"], serde_json::json!(["V1"]));
    let decibels = found["decibels"].as_f64().expect("under 3 dB");
    assert!((0.0..=3.0).contains(&decibels), "{decibels}");
    let shown = said(&["check", &phase_shift(NEAR, &folder)]);
    let sentence = shown
        .lines()
        .find(|line| line.contains("V1"))
        .expect("told");
    assert!(
        sentence.contains(&format!("{decibels:.1} dB")),
        "{sentence}"
    );
    assert!(shown.contains("no faults"));
    // A load with which the gain is higher by more than that: it howls.
    let howl = faulty(&["check", &phase_shift("100k", &folder)]);
    let howl = &howl["unfit"]["as_found"]["Howls"];
    assert_eq!(howl["valves"], serde_json::json!(["V1"]));
}

/// A load near to the one that makes it oscillate.
const NEAR: &str = "22k";

#[test]
fn a_window_on_a_howling_amp_opens_and_it_is_told_before() {
    let folder = tempfile::tempdir().expect("a folder");
    let amp = reversed("sluice", &folder);
    // Where there is no display, what is wrong is said before that.
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_presolder"))
        .args(["play", &amp])
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .output()
        .expect("it starts");
    let told = String::from_utf8_lossy(&output.stderr);
    let first = told.lines().next().expect("something");
    assert!(first.contains("R305") && first.contains("T1"), "{told}");
    #[cfg(target_os = "linux")]
    assert_eq!(output.status.code(), Some(5));
}
