//! `presolder match` from outside: an amp that was rendered with other parts is found again, as text,
//! as JSON and as a proposal; what is not understood or cannot be read ends with its exit code.

use crate::program::{json, number, presolder, recording, refused, said, text};
use presolder::sound::phrase::phrase;
use presolder::sound::wav::Depth;
use std::path::{Path, PathBuf};

const RATE: u32 = 48_000;

/// A dry track, and what the Spokeshave 18 with two other parts makes of it.
fn rendered(folder: &Path) -> (PathBuf, PathBuf) {
    let quiet: Vec<f32> = phrase(RATE).iter().map(|v| 0.05 * v).collect();
    let dry = recording(folder, RATE, Depth::Float32, vec![quiet]);
    let amp = folder.join("amp.wav");
    said(&[
        "render",
        "spokeshave",
        text(&dry),
        text(&amp),
        "--set",
        "R6=47k",
        "--set",
        "C2=470p",
        "--cabinet",
        "raw",
    ]);
    (dry, amp)
}

#[test]
fn hidden_parts_are_found_and_written_as_a_proposal() {
    let folder = tempfile::tempdir().unwrap();
    let (dry, amp) = rendered(folder.path());
    let out = folder.path().join("found.toml");
    let arguments = [
        "match",
        "spokeshave",
        "--recording",
        text(&amp),
        "--dry",
        text(&dry),
        "--taken",
        "line",
        "--others",
        "exact",
        "--vary",
        "R6,C2,C13",
        "--out",
        text(&out),
    ];
    let answer = json(&arguments);
    let parts = answer["parts"].as_array().expect("parts");
    let rounded: Vec<f64> = parts.iter().map(|p| number(&p["rounded"])).collect();
    assert_eq!(rounded, [47e3, 470e-12, 22e-6]);
    assert_eq!(parts[0]["certainty"], "firm");
    assert_eq!(parts[2]["certainty"], "nothing");
    assert!(number(&answer["rounded"]["db"]) < 0.5 * number(&answer["as_found"]["db"]));
    assert!(answer["bands"].as_array().is_some_and(|b| b.len() > 10));
    let written = std::fs::read_to_string(&out).unwrap();
    assert!(written.contains("R6 = \"47k\"") && written.contains("C2 = \"470p\""));
    assert!(!written.contains("C13"), "{written}");
    // It is a proposal like any other.
    said(&["voltages", "spokeshave", "--proposal", text(&out)]);
    let shown = said(&arguments);
    for words in [
        "Spokeshave 18 matched to amp.wav, played with in.wav",
        "It says nothing about C13.",
        "C13: the recording says nothing about it",
        "To solder and to turn: R6=47k  C2=470p",
        "Each part rounded by itself",
        "Chance, at half of them",
    ] {
        assert!(shown.contains(words), "{words}\n{shown}");
    }
}

#[test]
fn a_drawer_and_the_weaker_method() {
    let folder = tempfile::tempdir().unwrap();
    let (_, amp) = rendered(folder.path());
    let drawer = folder.path().join("drawer.toml");
    std::fs::write(&drawer, "format = 1\nresistors = [\"39k\"]\n").unwrap();
    let answer = json(&[
        "match",
        "spokeshave",
        "--recording",
        text(&amp),
        "--taken",
        "line",
        "--vary",
        "R6,C2",
        "--drawer",
        text(&drawer),
    ]);
    assert_eq!(answer["method"], "without_dry_track");
    let resistor = number(&answer["parts"][0]["rounded"]);
    assert!([39e3, 68e3].contains(&resistor), "{resistor}");
    assert_eq!(number(&answer["parts"][1]["rounded"]), 330e-12);
}

#[test]
fn what_is_wrong_is_told_with_its_exit_code() {
    let folder = tempfile::tempdir().unwrap();
    let silence = recording(folder.path(), RATE, Depth::Int16, vec![vec![0.0; 480_000]]);
    let with = |more: &[&'static str]| {
        let mut arguments = vec!["match", "bradawl", "--recording"];
        arguments.push(text(&silence));
        arguments.extend(more);
        arguments
    };
    let faults = refused(&with(&["--vary", "C999,V3,SW301"]), 1);
    for part in ["C999", "V3", "SW301"] {
        assert!(faults.contains(part), "{faults}");
    }
    refused(&with(&["--vary", "C103"]), 1);
    refused(&with(&["--vary", "C103", "--series", "E13"]), 2);
    let told = refused(
        &with(&[
            "--vary",
            "C103",
            "--taken",
            "line",
            "--cabinet",
            "loudspeaker",
        ]),
        2,
    );
    assert!(told.contains("do not go together"), "{told}");
    assert_eq!(presolder(&with(&[])).status.code(), Some(2));
    refused(
        &[
            "match",
            "bradawl",
            "--recording",
            "none.wav",
            "--vary",
            "C103",
        ],
        4,
    );
    let drawer = folder.path().join("faulty.toml");
    std::fs::write(&drawer, "format = 1\nresistors = [\"4q7\"]\n").unwrap();
    let mut arguments = with(&["--vary", "C103", "--drawer"]);
    arguments.push(text(&drawer));
    assert!(refused(&arguments, 1).contains("line 2"));
    // All of it at once.
    let mut arguments = vec![
        "match",
        "bradawl",
        "--vary",
        "C999",
        "--recording",
        "none.wav",
    ];
    arguments.extend(["--dry", "nor_this.wav", "--drawer", text(&drawer)]);
    let told = refused(&arguments, 1);
    for words in ["C999", "line 2", "none.wav", "nor_this.wav"] {
        assert!(told.contains(words), "{words}\n{told}");
    }
}
