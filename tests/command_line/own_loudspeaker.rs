//! A circuit file with a loudspeaker of its own, from outside: every word of the command line takes
//! it, and tells every fault in it.

use crate::own_loudspeaker_files::{FERRY, SHEET, amp, copy};
use crate::program::{json, number, presolder, recording, refused, said, text};
use presolder::sound::phrase::phrase;
use presolder::sound::wav::Depth;
use std::path::{Path, PathBuf};

const RATE: u32 = 48_000;
const SWAP: &str = "LS1=Ferry Eight";

/// The file of an amp with tables after it.
fn file(folder: &Path, name: &str, key: &str, tables: &[&str]) -> PathBuf {
    let path = folder.join(name);
    std::fs::write(&path, amp(key, tables)).unwrap();
    path
}

#[test]
fn it_can_be_chosen_in_every_word() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "amp.toml", "bradawl", &[FERRY, SHEET]);
    let amp = text(&path);
    let shown = said(&["check", amp, "--set", SWAP]);
    let row = shown.lines().find(|line| line.starts_with("LS1 ")).unwrap();
    assert!(
        row.contains("Tin Ten") && row.contains("Ferry Eight"),
        "{row}"
    );
    // What is not stated is told; what does not fit the taps is warned of.
    assert!(
        shown.contains("Plain Ten: acoustic is not stated"),
        "{shown}"
    );
    assert!(
        shown.contains("is loaded with 4 Ω at taps that are meant for 8 Ω"),
        "{shown}"
    );
    said(&["voltages", amp, "--set", SWAP]);

    let curve = json(&["curve", amp, "--set", SWAP, "--cabinet", "loudspeaker"]);
    let band = curve["third_octaves"].as_array().unwrap().iter();
    let most = band
        .map(|b| number(&b["difference_db"]).abs())
        .fold(0.0, f64::max);
    assert!(most > 3.0, "{most}");

    // As what the amp has now, from a list.
    let list = folder.path().join("found.toml");
    std::fs::write(&list, "format = 1\n[changes]\nLS1 = \"Ferry Eight\"\n").unwrap();
    let found = json(&["curve", amp, "--as-found", text(&list)]);
    let proposed = json(&["curve", amp, "--set", SWAP]);
    assert_eq!(found["db"], proposed["db"]);

    let tone: Vec<f32> = (0..48_000)
        .map(|i| 0.02 * (i as f32 * 0.05).sin())
        .collect();
    let input = recording(folder.path(), RATE, Depth::Float32, vec![tone]);
    let into = folder.path().join("verdict");
    let words = [
        "compare",
        amp,
        "--set",
        SWAP,
        text(&input),
        "--into",
        text(&into),
    ];
    assert!(said(&words).contains("Ferry Eight"));
    let page = folder.path().join("job.html");
    said(&["sheet", amp, "--set", SWAP, "--out", text(&page)]);
    let html = std::fs::read_to_string(page).unwrap();
    assert!(html.contains("Ferry Eight") && html.contains("Plain Ten: acoustic"));
}

#[test]
fn a_copy_renders_to_the_same_samples() {
    let folder = tempfile::tempdir().unwrap();
    let tables = copy("Harbour Ten", "A Copy");
    let path = file(folder.path(), "amp.toml", "mizzle", &[&tables]);
    let quiet: Vec<f32> = phrase(RATE).iter().take(24_000).map(|v| 0.2 * v).collect();
    let input = recording(folder.path(), RATE, Depth::Float32, vec![quiet]);
    let render = |amp: &str, loudspeaker: &str| {
        let output = folder.path().join("out.wav");
        let set = format!("LS1={loudspeaker}");
        said(&["render", amp, text(&input), text(&output), "--set", &set]);
        std::fs::read(&output).unwrap()
    };
    let original = render("mizzle", "Harbour Ten");
    assert!(render(text(&path), "A Copy") == original);
    assert!(render(text(&path), "Tin Ten") != original);
}

/// The load report lists the file's own beside those of the program, as text and as JSON.
#[test]
fn the_load_report_tries_it() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "amp.toml", "bradawl", &[FERRY]);
    let answer = json(&["check", text(&path), "--load"]);
    let cases = answer["cases"].as_array().unwrap();
    assert_eq!(cases.len(), 8);
    let own = cases
        .iter()
        .find(|c| c["name"] == "Ferry Eight instead")
        .unwrap();
    assert_eq!(number(&own["nominal"]["ohms"]), 4.0);
    assert_eq!(number(&own["loudspeakers"][0]["rated_watts"]), 15.0);
    let answer = json(&["check", text(&path), "--load", "--set", SWAP]);
    assert_eq!(answer["cases"][0]["loudspeakers"][0]["name"], "Ferry Eight");
    assert_eq!(number(&answer["cases"][0]["nominal"]["ratio"]), 0.5);
}

/// A recording through the file's own loudspeaker is matched with it in the model.
#[test]
fn a_match_knows_it() {
    let folder = tempfile::tempdir().unwrap();
    let fitted = amp("spokeshave", &[FERRY]);
    let line = fitted
        .lines()
        .find(|l| l.starts_with("LS1 "))
        .unwrap()
        .to_owned();
    let name = line.split('"').nth(1).unwrap();
    let fitted = fitted.replace(&line, &line.replacen(name, "Ferry Eight", 1));
    let path = folder.path().join("amp.toml");
    std::fs::write(&path, fitted).unwrap();
    let quiet: Vec<f32> = phrase(RATE).iter().map(|v| 0.05 * v).collect();
    let dry = recording(folder.path(), RATE, Depth::Float32, vec![quiet]);
    let wet = folder.path().join("wet.wav");
    let words = [
        "render",
        text(&path),
        text(&dry),
        text(&wet),
        "--set",
        "C2=470p",
    ];
    said(&words);
    let answer = json(&[
        "match",
        text(&path),
        "--recording",
        text(&wet),
        "--dry",
        text(&dry),
        "--cabinet",
        "loudspeaker",
        "--others",
        "exact",
        "--vary",
        "C2",
    ]);
    assert_eq!(number(&answer["parts"][0]["rounded"]), 470e-12);
    assert!(answer.to_string().contains("Ferry Eight"), "{answer}");
}

#[test]
fn faults_are_told_with_their_lines_before_any_window() {
    let folder = tempfile::tempdir().unwrap();
    let faulty = FERRY
        .replace("coil_ohms = 3.4", "coil_ohms = 340")
        .replace("q = 2.5", "q = 25");
    let path = file(folder.path(), "amp.toml", "bradawl", &[&faulty]);
    let whole = std::fs::read_to_string(&path).unwrap();
    let line = |part: &str| 1 + whole.lines().position(|l| l.contains(part)).unwrap();
    for word in ["check", "curve", "play"] {
        let message = refused(&[word, text(&path)], 1);
        for (part, told) in [
            (
                "coil_ohms = 340",
                "coil_ohms is 340 Ω, outside 1 to 64 Ω; write 64 or less",
            ),
            (
                "q = 25",
                "acoustic 3 (peak): q is 25, outside 0.3 to 12; write 12 or less",
            ),
        ] {
            let told = format!("Ferry Eight, line {}: {told}", line(part));
            assert!(message.contains(&told), "{told}\n{message}");
        }
    }
    let message = refused(&["check", "bradawl", "--set", SWAP], 1);
    assert!(message.contains("is not a known loudspeaker"), "{message}");
    // As JSON too.
    let output = presolder(&["check", text(&path), "--json"]);
    assert_eq!(output.status.code(), Some(1));
}
