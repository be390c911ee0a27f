//! `presolder check --load` from outside, and a loudspeaker swapped on the command line.

use crate::program::{json, number, recording, refused, said, text};
use presolder::sound::wav::Depth;

#[test]
fn every_way_of_connecting_is_listed_as_text_and_as_json() {
    let shown = said(&["check", "bradawl", "--load"]);
    for part in [
        "Bradawl 15: what the output stage is loaded with\n",
        "\nAs it is ",
        "\nAnvil Twelve instead ",
        "\nA second Tin Ten in parallel ",
        "\nA second Tin Ten in series: The valves see about 16 kΩ instead of 8 kΩ: too high.",
        "\nNothing connected: Never do this",
        "Never run the amp without a loudspeaker",
        "\nSafety: lethal voltages",
    ] {
        assert!(shown.contains(part), "{part}\n{shown}");
    }
    let answer = json(&["check", "bradawl", "--load"]);
    assert_eq!(answer["transformer"], "T1");
    let cases = answer["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 7);
    assert_eq!(cases[0]["name"], "As it is");
    assert_eq!(number(&cases[0]["nominal"]["primary_ohms"]).round(), 8000.0);
    assert!(number(&cases[0]["clean_watts"]) > 5.0);
    assert!(cases[6]["nominal"].is_null());
}

/// What is proposed is what the load is reported of.
#[test]
fn a_proposed_loudspeaker_is_the_one_that_is_there() {
    let answer = json(&["check", "bradawl", "--load", "--set", "LS1=Breakwater Quad"]);
    let first = &answer["cases"][0];
    assert_eq!(first["loudspeakers"][0]["name"], "Breakwater Quad");
    assert_eq!(number(&first["nominal"]["ratio"]), 2.0);
    let message = refused(&["check", "bradawl", "--load", "--set", "LS1=out"], 1);
    assert!(
        message.contains("T1") && message.contains("leave one loudspeaker in"),
        "{message}"
    );
    let message = refused(&["check", "bradawl", "--load", "--measured", "x.toml"], 2);
    assert!(message.contains("--load"), "{message}");
}

/// Every word takes a loudspeaker like any other part.
#[test]
fn a_loudspeaker_is_swapped_in_every_word() {
    let swap = "LS1=Harbour Ten";
    let answer = json(&["curve", "bradawl", "--set", swap]);
    let band = answer["third_octaves"].as_array().unwrap().iter();
    let most = band
        .map(|b| number(&b["difference_db"]).abs())
        .fold(0.0, f64::max);
    assert!(most > 0.5, "{most}");
    let shown = said(&["check", "bradawl", "--set", swap]);
    let row = shown.lines().find(|line| line.starts_with("LS1 ")).unwrap();
    assert!(
        row.contains("Tin Ten") && row.contains("Harbour Ten"),
        "{row}"
    );
    let message = refused(&["check", "bradawl", "--set", "LS1=Harbor Ten"], 1);
    assert!(message.contains("did you mean Harbour Ten?"), "{message}");

    let folder = tempfile::tempdir().unwrap();
    let tone: Vec<f32> = (0..4800).map(|i| 0.02 * (i as f32 * 0.05).sin()).collect();
    let input = recording(folder.path(), 48_000, Depth::Float32, vec![tone]);
    let render = |name: &str, more: &[&str]| {
        let output = folder.path().join(name);
        let words = ["render", "bradawl", text(&input), text(&output)];
        said(&[&words[..], more].concat());
        std::fs::read(output).unwrap()
    };
    assert_ne!(render("a.wav", &[]), render("b.wav", &["--set", swap]));
    let into = folder.path().join("verdict");
    let words = [
        "compare",
        "bradawl",
        "--set",
        swap,
        text(&input),
        "--into",
        text(&into),
    ];
    let shown = said(&words);
    assert!(shown.contains("LS1"), "{shown}");
}
