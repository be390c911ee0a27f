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
    for arguments in [
        vec!["curve", &amp],
        vec!["voltages", &amp],
        vec!["compare", &amp, change[0], change[1], "--into", &into],
        vec!["sheet", &amp, change[0], change[1], "--out", made],
        vec!["render", &amp, played, made],
        // Feedback the right way round as found, the wrong way round in the other circuit.
        vec!["curve", "sluice", "--against", &amp],
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
    howls_through_the_feedback(&json(&["check", &amp]));
    assert!(!said(&["check", &amp]).contains("no faults"));
    // The remedy, tried.
    let checked = json(&["check", "sluice"]);
    assert_eq!(checked["unfit"], Value::Null);
    assert_eq!(checked["stability"]["howls"], serde_json::json!([]));
    assert_eq!(checked["stability"]["unknown"], 0);
    assert!(checked["stability"]["looked_at"].as_u64() > Some(6));
}

#[test]
fn an_input_that_does_not_reach_the_output_is_told() {
    let checked = json(&["check", "bradawl", "--set", "C102=out"]);
    assert_eq!(checked["unfit"]["proposed"], "NoSignal");
    assert_eq!(checked["unfit"]["as_found"], Value::Null);
    // A volume control at zero is no fault.
    let checked = json(&["check", "bradawl", "--control", "Volume=0"]);
    assert_eq!(checked["unfit"], Value::Null);
}
