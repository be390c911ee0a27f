//! The window's match panel: a recording is loaded and measured, its curve stands beside the amp's,
//! parts are ticked, values are found, and they are those of the command line; bad files are told.

use crate::fixture::{FakeEdit, Window, opened_as};
use crate::program::text;
use egui_kittest::kittest::{NodeT, Queryable};
use presolder::analysis::performance::{NoGauge, perform};
use presolder::circuit::{WrittenChange, WrittenProposal, built_in_circuit, read};
use presolder::device::Catalogue;
use presolder::editor::edit::{Edit, PluginSetting};
use presolder::solve::solved::SolvedAmp;
use presolder::sound::phrase::phrase;
use presolder::sound::{
    Sound,
    wav::{self, Depth},
};
use presolder::units::peak_volts_from_dbu;
use std::path::{Path, PathBuf};

const RATE: u32 = 48_000;
/// What a sample of 1 is at the loudspeaker in the recording, V (own choice, above any peak).
const FULL_SCALE_VOLTS: f64 = 60.0;
/// The window's and the command line's input level, dBu.
const INPUT_DBU: f64 = 12.0;

fn written(folder: &Path, name: &str, samples: Vec<f32>) -> PathBuf {
    let path = folder.join(name);
    let sound = Sound {
        name: name.into(),
        rate: RATE,
        channels: vec![samples],
    };
    wav::write(&path, &sound, Depth::Float32).expect("written");
    path
}

/// Bradawl with C103 at 470 pF and R105 at 220k (invented), recorded from a line, and the dry track:
/// the built-in phrase, `share` as loud.
fn recorded(folder: &Path, share: f32) -> [PathBuf; 2] {
    let catalogue = Catalogue::built_in();
    let circuit = read(built_in_circuit("bradawl").unwrap().text, &catalogue).unwrap();
    let change = |designator: &str, value: &str| WrittenChange {
        designator: designator.into(),
        value: value.into(),
        line: None,
    };
    let hidden = WrittenProposal {
        changes: vec![change("C103", "470p"), change("R105", "220k")],
        ..WrittenProposal::default()
    };
    let amp = SolvedAmp::new(&hidden.apply(&circuit, &catalogue).unwrap(), None).unwrap();
    let volts: Vec<f32> = phrase(RATE).iter().map(|v| share * v).collect();
    let played = perform(
        &amp.network,
        &[&amp.as_found],
        &[&volts],
        RATE,
        &NoGauge,
        &mut |_| true,
    );
    let heard = played.unwrap().remove(0).volts.remove(0);
    let full = peak_volts_from_dbu(INPUT_DBU) as f32;
    let dry = volts.iter().map(|v| v / full).collect();
    let wet = heard.iter().map(|v| v / FULL_SCALE_VOLTS as f32).collect();
    [
        written(folder, "amp.wav", wet),
        written(folder, "dry.wav", dry),
    ]
}

fn window() -> Window {
    window_of(800.0)
}

/// A window of some height, points.
fn window_of(height: f32) -> Window {
    let edit = FakeEdit::with("bradawl");
    *edit.view.borrow_mut() = r#"{"over": "match"}"#.into();
    opened_as(edit, [1280.0, height], 1.0)
}

fn load(bench: &mut Window, [recording, dry]: [&str; 2]) {
    bench.fill("recording", recording);
    bench.fill("dry track", dry);
    bench.press("Load recording");
}

#[test]
fn values_are_found_those_of_the_command_line() {
    let folder = tempfile::tempdir().unwrap();
    let [recording, dry] = recorded(folder.path(), 0.1);
    // High enough for all of it, so that the picture shows it.
    let mut bench = window_of(1600.0);
    assert!(bench.shows("Best: play a clean guitar track through the amp"));
    load(&mut bench, [text(&recording), text(&dry)]);
    bench.until("Response of amp.wav beside the amp's: trusted at ");
    assert!(bench.shows("Coherence of amp.wav with the dry track: below 0.6 at "));
    assert!(bench.shows("None yet. Tick the parts that may differ"));
    for part in ["C103", "R105"] {
        bench.press(part);
    }
    assert!(bench.shows("2 parts may differ."));
    bench.press("line or dummy load");
    bench.press("Find values");
    bench.until("THE PARTS");
    let told = crate::program::json(&[
        "match",
        "bradawl",
        "--recording",
        text(&recording),
        "--dry",
        text(&dry),
        "--vary",
        "C103,R105",
        "--taken",
        "line",
        "--full-scale-dbu",
        &INPUT_DBU.to_string(),
    ]);
    let parts = told["parts"].as_array().unwrap();
    assert_eq!(parts.len(), 2);
    for part in parts {
        let [found, fits, take] = [0, 1, 2].map(|i| part["shown"][i].as_str().unwrap());
        let name = part["name"].as_str().unwrap();
        let said = format!("{name}: as found {found}, fits best {fits}, take {take}, told ");
        assert!(bench.shows(&said), "{said}");
        assert!(bench.shows(part["sentence"].as_str().unwrap()));
    }
    let left = |stage: &str| {
        format!(
            "{:.2} dB left over",
            crate::program::number(&told[stage]["db"])
        )
    };
    for (stage, name) in [("as_found", "as found"), ("fitted", "values that fit best")] {
        assert!(bench.shows(&format!("{name}: {}", left(stage))), "{stage}");
    }
    assert!(bench.shows(told["unexplained"].as_str().unwrap()));
    // Hidden were 470 pF and 220k: both are of the series, so they are found exactly.
    bench.press("Propose these values");
    for (part, hidden) in [("C103", 470e-12), ("R105", 220e3)] {
        let now = bench.edit.now(part);
        assert!((now / hidden - 1.0).abs() < 1e-9, "{part}: {now}");
    }
    assert!(
        !bench.shows("Out of date"),
        "what it starts from has not moved"
    );
    bench.press("Compare drive");
    bench.until("played clean, it sounds the same at many settings");
    assert!(!bench.shows("Set volume and input level so"));
    // The curve of the amp with the panel closed carries the recording's too.
    bench.settle();
    picture(&mut bench, "match");
    bench.press("Close match");
    assert!(bench.shows("RESPONSE"));
    picture(&mut bench, "match-curve");
    bench.press("Undo");
    assert_eq!(bench.edit.now("C103"), bench.edit.numbers("C103").0);
}

fn picture(bench: &mut Window, name: &str) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/editor_pictures");
    std::fs::create_dir_all(&folder).unwrap();
    let image = bench.harness.render().expect("a renderer");
    image.save(folder.join(format!("{name}.png"))).unwrap();
}

#[test]
fn what_cannot_be_measured_is_told_and_what_was_typed_stays() {
    let folder = tempfile::tempdir().unwrap();
    let silence = written(folder.path(), "silence.wav", vec![0.0; 5 * RATE as usize]);
    let mut bench = window();
    load(&mut bench, [text(&silence), ""]);
    bench.until("it is silent throughout");
    assert!(!bench.shows("Find values"));
    let missing = folder.path().join("missing.wav");
    load(&mut bench, [text(&missing), text(&missing)]);
    bench.until("missing.wav could not be read");
    let view = bench.edit.view.borrow().clone();
    assert!(view.contains("missing.wav"), "{view}");
}

#[test]
fn the_recording_is_heard_in_place_one_key_away() {
    let folder = tempfile::tempdir().unwrap();
    let [recording, dry] = recorded(folder.path(), 0.1);
    let mut bench = window();
    bench.edit.rate.set(Some(44_100.0));
    bench.harness.run_steps(2);
    assert!(!bench.shows("heard: recording"), "there is none yet");
    load(&mut bench, [text(&recording), text(&dry)]);
    bench.until("heard: recording");
    // Both are as long, at the rate that sounds.
    let [frames, dry_frames] = bench.edit.recording.put.get().unwrap();
    assert_eq!(frames, dry_frames);
    let wav = wav::read(&dry).unwrap().sound;
    let due = wav.channels[0].len() as f64 * 44_100.0 / f64::from(RATE);
    assert!((frames as f64 - due).abs() <= 2.0, "{frames} {due}");
    bench.press("Play both");
    assert!(bench.edit.recording.playing.get());
    bench.press("heard: recording");
    assert!(bench.edit.recording.hears.get());
    // Away from the fields that were typed in, so that the key is no letter.
    bench.press("Close match");
    bench.harness.key_press(egui::Key::R);
    bench.harness.run_steps(2);
    assert!(!bench.edit.recording.hears.get());
    bench.harness.key_press(egui::Key::R);
    bench.harness.run_steps(2);
    assert!(bench.edit.recording.hears.get());
    bench.press("heard: proposed");
    assert!(!bench.edit.recording.hears.get());
    bench.press("Match");
    bench.fill("to", "2.5");
    bench.harness.key_press(egui::Key::Enter);
    bench.harness.run_steps(3);
    assert_eq!(bench.edit.recording.region.get(), Some([0.0, 2.5]));
    bench.press("All of it");
    assert_eq!(bench.edit.recording.region.get(), None);
}

#[test]
fn how_hard_it_was_driven_is_hinted_at_and_set() {
    let folder = tempfile::tempdir().unwrap();
    let [recording, dry] = recorded(folder.path(), 1.0);
    let mut bench = window_of(1200.0);
    load(&mut bench, [text(&recording), text(&dry)]);
    bench.until("Response of amp.wav beside the amp's");
    bench.press("Compare drive");
    bench.until("Set volume and input level so");
    // The sentence names what is set; the word `match` has its own test of the same report.
    let sentence = "A hint: Volume at about ";
    let told = bench.harness.query_all_by_label_contains(sentence);
    let told = told.filter_map(|node| {
        let node = node.accesskit_node();
        node.value().or(node.label())
    });
    let told = told.collect::<Vec<String>>().pop().unwrap();
    bench.press("Set volume and input level so");
    let volume = format!("{sentence}{:.2} with", bench.edit.now("Volume"));
    assert!(told.starts_with(&volume), "{volume}: {told}");
    let dbu = bench.edit.setting(PluginSetting::InputFullScale);
    assert!(
        told.contains(&format!("full scale at {dbu:.0} dBu")),
        "{dbu}: {told}"
    );
}
