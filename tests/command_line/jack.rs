//! `--guitar` and `--boost` from outside: what drives the jack is assumed, said, and counts.

use crate::program::{json, number, numbers, recording, refused, text};
use presolder::sound::phrase::phrase;
use presolder::sound::wav::{self, Depth};

/// A second of the phrase with its hard chord.
fn chord() -> Vec<f32> {
    phrase(48_000)[326_400..374_400].to_vec()
}

fn compared(more: &[&str]) -> serde_json::Value {
    let folder = tempfile::tempdir().unwrap();
    let input = recording(folder.path(), 48_000, Depth::Int24, vec![chord()]);
    let into = folder.path().join("into");
    let all = ["compare", "bradawl", text(&input), "--into", text(&into)];
    json(&[&all, more].concat())
}

#[test]
fn a_part_at_the_jack_is_not_judged_without_a_guitar() {
    let set = ["--set", "R101=220k"];
    let bare = compared(&set);
    assert!(bare["guitar"].is_null());
    let row = &bare["each_change"]["rows"][0];
    assert_eq!(row["depends_on_guitar"], true);
    assert_eq!(row["worth_it"], true);
    assert!(row["alone"]["played"].is_null() && row["alone"]["response"].is_null());
    assert!(
        !serde_json::to_string(&bare["each_change"]["rows"])
            .unwrap()
            .contains("not_audible")
    );
    let row_of = |verdict: &serde_json::Value| verdict["each_change"]["rows"][0].clone();
    let played = compared(&[&set[..], &["--guitar", "humbucker"]].concat());
    assert_eq!(played["guitar"]["name"], "humbucker");
    let row = row_of(&played);
    assert_eq!(row["depends_on_guitar"], false);
    assert_eq!(row["alone"]["played"]["verdict"], "clearly_audible");
    // What hangs on no guitar is judged as ever.
    let other = row_of(&compared(&["--set", "R505=12.1k"]));
    assert_eq!(other["depends_on_guitar"], false);
    assert_eq!(other["alone"]["played"]["verdict"], "not_audible");
}

#[test]
fn a_boost_is_answered_by_how_many_decibels() {
    let found = compared(&["--set", "R505=15k", "--boost", "12"]);
    let boost = &found["boost"];
    assert_eq!(number(&boost["db"]), 12.0);
    let peak = number(&found["input_peak_volts"]);
    for side in ["as_found", "proposed"] {
        let clips = number(&found["clean"][side]["order"]["first"]["input_volts"]);
        let spare = 20.0 * (2f64.sqrt() * clips / peak).log10() - 12.0;
        assert!((number(&boost["to_spare_db"][side]) - spare).abs() < 1e-6);
    }
    assert!(compared(&["--set", "R505=15k"])["boost"].is_null());
    // A pedal stands between guitar and amp.
    let both = ["compare", "bradawl", "--set", "R505=15k", "--boost", "12"];
    refused(&[&both[..], &["--guitar", "humbucker"]].concat(), 2);
    refused(
        &["compare", "bradawl", "--set", "R505=15k", "--boost", "99"],
        2,
    );
}

#[test]
fn a_guitar_of_ones_own_counts_in_curve_and_sound() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str, table: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, format!("format = 1\n[guitar]\n{table}")).unwrap();
        path
    };
    let curve = |guitar: &[&str]| {
        let found = json(&[&["curve", "bradawl"], guitar].concat());
        numbers(&found["as_found"]["db"])
    };
    let same = file("same.toml", "like = \"humbucker\"\n");
    let dull = file("dull.toml", "like = \"humbucker\"\ntone = 0\n");
    let humbucker = curve(&["--guitar", "humbucker"]);
    assert_eq!(curve(&["--guitar", text(&same)]), humbucker);
    assert_eq!(curve(&["--guitar", "none"]), curve(&[]));
    assert_ne!(curve(&["--guitar", text(&dull)]), humbucker);
    let input = recording(folder.path(), 48_000, Depth::Float32, vec![chord()]);
    let rendered = |name: &str, guitar: &[&str]| {
        let output = folder.path().join(name);
        let words = ["render", "bradawl", text(&input), text(&output)];
        let found = json(&[&words[..], guitar].concat());
        (
            wav::read(&output).unwrap().sound.channels,
            found["guitar"].clone(),
        )
    };
    let (bare, none) = rendered("bare.wav", &[]);
    let (played, own) = rendered("played.wav", &["--guitar", text(&same)]);
    assert!(none.is_null() && own.is_string());
    assert_ne!(bare, played);
    let faulty = file("faulty.toml", "strings = 6\n");
    refused(&["curve", "bradawl", "--guitar", text(&faulty)], 1);
    refused(&["curve", "bradawl", "--guitar", "no-such-guitar"], 4);
}
