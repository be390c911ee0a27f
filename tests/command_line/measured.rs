//! `presolder check --measured` and `--as-found` from outside: cautions first, verdict and
//! suspects, values for the next round, exit codes; `compare --spread`.

use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

fn presolder(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_presolder"))
        .args(arguments)
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

fn write(folder: &Path, name: &str, text: &str) -> String {
    let path = folder.join(name);
    std::fs::write(&path, text).unwrap();
    path.to_str().unwrap().to_string()
}

/// Readings of the Bradawl 15 with a wrong R505 in it: the bias is too far down.
const COLD: &str = "format = 1\n[measured]\nfor = \"Bradawl 15\"\n[readings]\nht1 = 303\nht2 = 301\n\
    neg = -24.8\nbias = -12.4\n\"V3 anode\" = 301\n\"V3 grid\" = -12.1\n\"V4 grid\" = -12.1\n";

#[test]
fn cautions_come_first_then_the_verdict_then_what_to_look_at() {
    let folder = tempfile::tempdir().unwrap();
    let readings = write(folder.path(), "cold.toml", COLD);
    let output = presolder(&["check", "bradawl", "--measured", &readings]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let shown = text(&output.stdout);
    let place = |part: &str| {
        shown
            .find(part)
            .unwrap_or_else(|| panic!("{part}\n{shown}"))
    };
    assert!(place("Never work on a live chassis") < place("V3 grid"));
    assert!(place("OUTSIDE, below") < place("Once the amp is off, unplugged and discharged"));
    assert!(place("Once the amp is off") < place("R505 (bias load): about"));
    let json = presolder(&["check", "bradawl", "--measured", &readings, "--json"]);
    let answer: Value = serde_json::from_slice(&json.stdout).unwrap();
    assert_eq!(answer["readings"][0]["judgement"], "within");
    assert!(answer["suspects"][0]["sentence"].is_string());
}

#[test]
fn the_next_round_starts_from_what_was_read() {
    let folder = tempfile::tempdir().unwrap();
    let readings = write(
        folder.path(),
        "now.toml",
        "format = 1\n[readings]\nht1 = 290\n[parts]\nR505 = \"14k8\"\n",
    );
    let now = folder.path().join("as-found.toml");
    let now = now.to_str().unwrap();
    let arguments = [
        "check",
        "bradawl",
        "--measured",
        &readings,
        "--write-as-found",
        now,
    ];
    let output = presolder(&arguments);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    assert!(text(&output.stdout).contains("so that ht1 reads as it did"));
    let output = presolder(&["voltages", "bradawl", "--as-found", now, "--json"]);
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    let ht1 = answer["nodes"]["ht1"].as_f64().unwrap();
    assert!((ht1 - 290.0).abs() < 0.1, "{ht1}");
    // What is proposed comes after it, and the as-found side has it.
    let set = [
        "voltages",
        "bradawl",
        "--as-found",
        now,
        "--set",
        "R505=18k",
        "--json",
    ];
    let answer: Value = serde_json::from_slice(&presolder(&set).stdout).unwrap();
    let of = |side: &str| answer[side]["nodes"]["bias"].as_f64().unwrap();
    assert!(of("proposed") < of("as_found") && of("as_found") < -11.0);
    // A second round keeps what the first found out.
    let again = folder.path().join("again.toml");
    let again = again.to_str().unwrap();
    let second = write(
        folder.path(),
        "second.toml",
        "format = 1\n[parts]\nR104 = \"1k9\"\n",
    );
    let arguments = [
        "check",
        "bradawl",
        "--as-found",
        now,
        "--measured",
        &second,
        "--write-as-found",
        again,
    ];
    assert_eq!(presolder(&arguments).status.code(), Some(0));
    let written = std::fs::read_to_string(again).unwrap();
    assert!(
        written.contains("R505 = \"14k8\"") && written.contains("R104 = \"1k9\""),
        "{written}"
    );
}

#[test]
fn as_left_compares_with_what_was_soldered_in() {
    let folder = tempfile::tempdir().unwrap();
    let readings = write(
        folder.path(),
        "cold.toml",
        "format = 1\n[readings]\nbias = -11.6\n",
    );
    let bias = |more: &[&str]| {
        let arguments = [
            &["check", "bradawl", "--measured", &readings, "--json"],
            more,
        ]
        .concat();
        let answer: Value = serde_json::from_slice(&presolder(&arguments).stdout).unwrap();
        answer["readings"][0]["expected"].as_f64().unwrap()
    };
    let found = bias(&["--proposal", "cooler"]);
    let left = bias(&["--proposal", "cooler", "--as-left"]);
    assert!(left < found - 1.0, "{left} {found}");
    let output = presolder(&["check", "bradawl", "--measured", &readings, "--as-left"]);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output.stderr).contains("--proposal"));
}

#[test]
fn faults_in_the_readings_end_with_one_and_lost_files_with_four() {
    let folder = tempfile::tempdir().unwrap();
    let wrong = write(
        folder.path(),
        "wrong.toml",
        "format = 1\n[readings]\nnowhere = 1\nht1 = 4000\n",
    );
    let output = presolder(&["check", "bradawl", "--measured", &wrong]);
    assert_eq!(output.status.code(), Some(1));
    let told = text(&output.stderr);
    assert!(
        told.contains("line 3: nowhere") && told.contains("line 4: ht1: 4000 V"),
        "{told}"
    );
    let output = presolder(&["check", "bradawl", "--measured", "/nowhere/at-all.toml"]);
    assert_eq!(output.status.code(), Some(4));
    let output = presolder(&["voltages", "bradawl", "--as-found", "/nowhere/at-all.toml"]);
    assert_eq!(output.status.code(), Some(4));
}

#[test]
fn compare_tells_what_stands_out_of_the_spread() {
    let folder = tempfile::tempdir().unwrap();
    let into = folder.path().to_str().unwrap();
    let arguments = [
        "compare",
        "mizzle",
        "--proposal",
        "calmer",
        "--into",
        into,
        "--spread=64",
        "--seed",
        "7",
        "--json",
    ];
    let output = presolder(&arguments);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    let spread = &answer["spread"];
    assert_eq!(
        (&spread["settings"]["amps"], &spread["settings"]["seed"]),
        (&64.into(), &7.into())
    );
    assert!(spread["as_found"]["nodes"]["ht1"]["p5"].is_number());
    assert!(spread["changes"][0]["stands_out"].is_boolean());
    let few = presolder(&["compare", "mizzle", "--proposal", "calmer", "--spread=2"]);
    assert_eq!(few.status.code(), Some(2));
}
