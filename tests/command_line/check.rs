//! `presolder check` from outside: every fault at once with part, line and remedy, as text and as
//! JSON; parts as found and as proposed; exit codes.

use serde_json::Value;
use std::process::{Command, Output};

const AMP: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/circuits/push_pull.toml");

fn check(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_presolder"))
        .arg("check")
        .args(arguments)
        .output()
        .unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// The line of a part in a JSON answer.
fn part(answer: &Value, designator: &str) -> Value {
    let stages = answer["stages"].as_array().unwrap();
    let mut parts = stages.iter().flat_map(|s| s["parts"].as_array().unwrap());
    parts
        .find(|p| p["designator"] == designator)
        .unwrap()
        .clone()
}

#[test]
fn parts_stand_by_stage_with_what_is_proposed() {
    let output = check(&[AMP, "--set", "R32=22k", "--set", "C30=out"]);
    assert_eq!(output.status.code(), Some(0));
    let shown = text(&output.stdout);
    let row = |designator: &str| {
        let mut rows = shown
            .lines()
            .map(|l| l.split("  ").filter(|c| !c.is_empty()));
        let mut cells = rows.find_map(|mut r| (r.next()? == designator).then_some(r));
        let cells = cells.as_mut().unwrap();
        cells.map(|c| c.trim().to_string()).collect::<Vec<_>>()
    };
    assert_eq!(row("R32"), ["bias feed", "10 kΩ", "22 kΩ"]);
    assert_eq!(row("C30"), ["reservoir", "47 µF", "out", "450 V"]);
    for title in [
        "\nPhase inverter\n",
        "  Feedback: closed\n",
        "36 parts, no faults.",
    ] {
        assert!(shown.contains(title), "{title}\n{shown}");
    }
}

#[test]
fn what_is_over_its_limit_comes_first() {
    let shown = text(&check(&["bradawl"]).stdout);
    assert!(
        shown.starts_with("Over the limit:\n  V3 and V4: the anode dissipation is 12."),
        "{shown}"
    );
    let shown = text(&check(&["bradawl", "--proposal", "cooler"]).stdout);
    assert!(
        shown.starts_with("No valve or part is over a limit.\n")
            && shown.contains("\n\nBradawl 15\n"),
        "{shown}"
    );
    let answer: Value = serde_json::from_slice(&check(&["bradawl", "--json"]).stdout).unwrap();
    let over = answer["over_rated"].as_array().unwrap();
    assert_eq!(
        (over.len(), &over[1]["designator"]),
        (2, &Value::from("V4"))
    );
    assert!(answer["unsolved"].is_null());
    // How far down the transformer carries its power stands in the same place.
    let [one] = &answer["low_notes"].as_array().unwrap()[..] else {
        panic!("one transformer");
    };
    assert_eq!(one["designator"], "T1");
    let hz = one["full_power_hz"].as_f64().unwrap();
    assert!((hz / 80.0 - 1.0).abs() < 0.01, "{hz}");
}

#[test]
fn a_control_is_turned_on_both_sides_and_a_part_on_one() {
    let output = check(&[
        AMP,
        "--control",
        "feedback=off",
        "--set",
        "R9=47k",
        "--json",
    ]);
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(part(&answer, "SW1")["as_found"], "open");
    assert!(part(&answer, "SW1")["proposed"].is_null());
    assert_eq!(part(&answer, "R9")["as_found"], "82 kΩ");
    assert_eq!(part(&answer, "R9")["proposed"], "47 kΩ");
    assert_eq!(answer["controls"][0]["position"], 0.0);
}

#[test]
fn a_proposal_file_comes_first_and_the_command_line_after_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("cooler.toml");
    std::fs::write(
        &path,
        "format = 1\n[proposal]\nname = \"Cooler\"\n[changes]\nR32 = \"22k\"\nR9 = \"47k\"\n",
    )
    .unwrap();
    let proposal = path.to_str().unwrap();
    let output = check(&[AMP, "--proposal", proposal, "--set", "R32=33k", "--json"]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output.stderr));
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    assert_eq!(part(&answer, "R32")["proposed"], "33 kΩ");
    assert_eq!(part(&answer, "R9")["proposed"], "47 kΩ");
}

#[test]
fn every_fault_is_told_with_part_line_and_remedy() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("faulty.toml");
    let good = std::fs::read_to_string(AMP).unwrap();
    let faulty = good
        .replace("resistor = \"82k\"", "resistor = \"82z\"")
        .replace("\"ECC83\"", "\"ECC38\"");
    assert_ne!(good, faulty);
    std::fs::write(&path, faulty).unwrap();
    let path = path.to_str().unwrap();

    let output = check(&[path]);
    assert_eq!(output.status.code(), Some(1));
    assert!(output.stdout.is_empty());
    let told = text(&output.stderr);
    for expected in [
        "R4, line",
        "82z",
        "V1a, line",
        "V1b, line",
        "did you mean ECC83",
    ] {
        assert!(told.contains(expected), "{expected}\n{told}");
    }

    let output = check(&[path, "--json"]);
    assert_eq!(output.status.code(), Some(1));
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    let faults = answer["faults"].as_array().unwrap();
    assert!(faults.len() >= 4, "{answer}");
    assert_eq!(faults[0]["severity"], "error");
    assert!(
        faults
            .iter()
            .all(|f| f["line"].is_u64() && f["remedy"].is_string())
    );
}

#[test]
fn changes_that_cannot_be_made_are_faults_of_the_command_line() {
    let output = check(&[AMP, "--set", "R99=22k", "--control", "Reverb=1"]);
    assert_eq!(output.status.code(), Some(1));
    let told = text(&output.stderr);
    assert!(told.contains("R99") && told.contains("Reverb"), "{told}");
}

#[test]
fn files_that_cannot_be_read_end_with_four() {
    let folder = tempfile::tempdir().unwrap();
    let large = folder.path().join("large.toml");
    std::fs::write(&large, vec![b' '; (1 << 20) + 1]).unwrap();
    let large = large.to_str().unwrap();
    for name in ["nowhere.toml", env!("CARGO_MANIFEST_DIR"), large] {
        let output = check(&[name]);
        assert_eq!(output.status.code(), Some(4), "{name}");
        assert!(text(&output.stderr).contains("could not be read"));
    }
}

#[test]
fn the_built_in_amps_are_listed() {
    let output = check(&["--json"]);
    let answer: Value = serde_json::from_slice(&output.stdout).unwrap();
    let circuits = answer["circuits"].as_array().unwrap();
    assert_eq!(circuits[0]["name"], "Bradawl 15");
    let proposals = answer["proposals"].as_array().unwrap();
    // Every amp and every proposal can be asked for by the names that are listed.
    for amp in circuits {
        for proposal in amp["proposals"].as_array().unwrap() {
            let (key, proposal) = (amp["key"].as_str().unwrap(), proposal.as_str().unwrap());
            let whole = format!("{key}-{proposal}");
            assert!(proposals.contains(&whole.clone().into()));
            for name in [proposal, &whole] {
                let output = check(&[key, "--proposal", name]);
                assert_eq!(output.status.code(), Some(0), "{key} {name}");
                assert!(output.stderr.is_empty());
            }
        }
    }
}

/// A reader that has seen enough, like `head`, is no fault, on either stream.
#[test]
fn a_reader_that_goes_away_does_not_make_it_panic() {
    let folder = tempfile::tempdir().unwrap();
    let faulty = folder.path().join("faulty.toml");
    std::fs::write(&faulty, "format = 1\n[amp]\n[parts]\n").unwrap();
    for arguments in [
        vec!["check", "bradawl"],
        vec!["check", faulty.to_str().unwrap()],
    ] {
        let mut child = Command::new(env!("CARGO_BIN_EXE_presolder"))
            .args(&arguments)
            .stdout(std::process::Stdio::piped())
            .stderr(std::process::Stdio::piped())
            .spawn()
            .unwrap();
        // Before it has said anything.
        drop(child.stdout.take());
        drop(child.stderr.take());
        let code = child.wait().unwrap().code();
        assert!(matches!(code, Some(0 | 1)), "{arguments:?}: {code:?}");
    }
}
