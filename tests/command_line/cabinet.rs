//! `--cabinet` from outside: what is rendered through a loudspeaker or an impulse response has the
//! curve that `curve` shows through the same; the defaults; what is refused.

use crate::program::{circuit, json, number, numbers, presolder, recording, refused, said, text};
use presolder::sound::{
    Sound,
    wav::{self, Depth},
};
use serde_json::Value;
use std::f64::consts::TAU;
use std::path::{Path, PathBuf};

const RATE: u32 = 48_000;

/// Amplitude of a sine in the last half second of a second, whole periods.
fn amplitude(samples: &[f32], hz: f64) -> f64 {
    let half = &samples[samples.len() / 2..];
    let mut sum = [0.0; 2];
    for (i, &s) in half.iter().enumerate() {
        let (sin, cos) = (TAU * hz * i as f64 / f64::from(RATE)).sin_cos();
        sum[0] += f64::from(s) * cos;
        sum[1] += f64::from(s) * sin;
    }
    2.0 * sum[0].hypot(sum[1]) / half.len() as f64
}

/// Renders a quiet sine; its amplitude.
fn rendered(folder: &Path, hz: f64, cabinet: &str) -> f64 {
    let sine = |i: u32| (0.001 * (TAU * hz * f64::from(i) / f64::from(RATE)).sin()) as f32;
    let input = recording(
        folder,
        RATE,
        Depth::Float32,
        vec![(0..RATE).map(sine).collect()],
    );
    let output = folder.join("out.wav");
    said(&[
        "render",
        "mizzle",
        text(&input),
        text(&output),
        "--cabinet",
        cabinet,
    ]);
    amplitude(&wav::read(&output).unwrap().sound.channels[0], hz)
}

/// A curve at a third-octave frequency, dB.
fn at(curve: &Value, hz: f64) -> f64 {
    let bands = curve["third_octaves"].as_array().unwrap();
    let band = bands.iter().find(|band| number(&band["hz"]) == hz).unwrap();
    number(&band["as_found_db"])
}

/// An impulse response: a click, a turned echo after a third of a millisecond, and a decay.
fn impulse(folder: &Path, rate: u32) -> PathBuf {
    let path = folder.join("box.wav");
    let mut taps = vec![0.0f32; rate as usize / 10];
    for (n, tap) in taps.iter_mut().enumerate() {
        let t = n as f64 / f64::from(rate);
        *tap = (0.2 * (-t / 0.004).exp() * (TAU * 900.0 * t).sin()) as f32;
    }
    taps[0] = 0.5;
    taps[rate as usize / 3000] -= 0.3;
    let sound = Sound {
        name: "response.wav".into(),
        rate,
        channels: vec![taps],
    };
    wav::write(&path, &sound, Depth::Int24).unwrap();
    path
}

/// What `render` makes of a cabinet, against the line, is what `curve` says that it makes. The bar
/// is 0.1 dB: what a loudspeaker's sections are held to (`tests/solver/cabinet.rs`), and a resampled
/// impulse response (`tests/recording/impulse.rs`).
#[test]
fn what_is_heard_has_the_curve_that_is_shown() {
    let folder = tempfile::tempdir().unwrap();
    let path = impulse(folder.path(), 44_100);
    for cabinet in ["loudspeaker", text(&path)] {
        let curve = json(&["curve", "mizzle", "--cabinet", cabinet]);
        let line = json(&["curve", "mizzle", "--cabinet", "raw"]);
        for hz in [100.0, 400.0, 1000.0, 4000.0, 8000.0] {
            let shown = at(&curve, hz) - at(&line, hz);
            let heard = rendered(folder.path(), hz, cabinet) / rendered(folder.path(), hz, "raw");
            let heard = 20.0 * heard.log10();
            assert!(
                (shown - heard).abs() < 0.1,
                "{cabinet} {hz} Hz: {heard:.3} for {shown:.3} dB"
            );
        }
    }
}

#[test]
fn the_line_is_the_default_of_the_curve_and_the_loudspeaker_that_of_the_sound() {
    let folder = tempfile::tempdir().unwrap();
    let plain = json(&["curve", "mizzle"]);
    assert_eq!(plain, json(&["curve", "mizzle", "--cabinet", "raw"]));
    let radiated = json(&["curve", "mizzle", "--cabinet", "loudspeaker"]);
    assert_ne!(numbers(&plain["db"]), numbers(&radiated["db"]));
    assert!(radiated["to"].as_str().unwrap().contains("as it radiates"));
    let input = recording(folder.path(), RATE, Depth::Float32, vec![vec![0.01; 4800]]);
    let render = |more: &[&str]| {
        let output = folder.path().join("out.wav");
        let words = ["render", "mizzle", text(&input), text(&output)];
        let answer = json(&[&words[..], more].concat());
        (answer["through"].clone(), std::fs::read(&output).unwrap())
    };
    let (named, sound) = render(&[]);
    assert!(named.as_str().unwrap().contains("loudspeaker"), "{named}");
    assert!(sound == render(&["--cabinet", "loudspeaker"]).1);
    let (named, line) = render(&["--cabinet", "raw"]);
    assert!(named.is_null() && line != sound);
    // At a node there is no loudspeaker.
    assert!(render(&["--probe", "in"]).0.is_null());
}

/// A changed loudspeaker changes both what it takes and what it radiates.
#[test]
fn each_circuit_is_heard_through_its_own_loudspeaker() {
    let listed = ["curve", "mizzle", "--set", "LS1=Anvil Twelve"];
    let line = json(&listed);
    let radiated = json(&[&listed[..], &["--cabinet", "loudspeaker"]].concat());
    let band = |curve: &Value, hz: f64| {
        let bands = curve["third_octaves"].as_array().unwrap();
        let band = bands.iter().find(|band| number(&band["hz"]) == hz).unwrap();
        number(&band["proposed_db"]) - number(&band["as_found_db"])
    };
    let catalogue = presolder::device::Catalogue::built_in();
    let found = json(&["check", "mizzle"]).to_string();
    let own = catalogue
        .loudspeakers
        .iter()
        .find(|l| found.contains(&l.name))
        .unwrap();
    let other = catalogue.loudspeaker("Anvil Twelve").unwrap();
    for hz in [100.0, 1000.0, 4000.0] {
        let radiates = 20.0 * (other.acoustic.at(hz) / own.acoustic.at(hz)).norm().log10();
        let difference = band(&radiated, hz) - band(&line, hz);
        assert!(
            (difference - radiates).abs() < 1e-6,
            "{hz} Hz: {difference} for {radiates}"
        );
    }
}

#[test]
fn what_cannot_be_heard_through_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let file = |name: &str, channels: Vec<Vec<f32>>| {
        let path = folder.path().join(name);
        let sound = Sound {
            name: name.into(),
            rate: 8_000,
            channels,
        };
        wav::write(&path, &sound, Depth::Float32).unwrap();
        path
    };
    let silent = file("silent.wav", vec![vec![0.0; 100]]);
    let long = file("long.wav", vec![vec![0.1; 8_000 * 25]]);
    let text_file = folder.path().join("text.wav");
    std::fs::write(&text_file, "no sound").unwrap();
    for (path, word) in [
        (&silent, "silent"),
        (&long, "25 s"),
        (&text_file, "not a WAV file"),
        (&folder.path().join("none.wav"), "could not be read"),
    ] {
        let message = refused(&["curve", "mizzle", "--cabinet", text(path)], 4);
        assert!(
            message.contains(word) && message.contains(text(path)),
            "{message}"
        );
    }
    let node = ["curve", "mizzle", "--to", "in", "--cabinet", "loudspeaker"];
    assert!(refused(&node, 2).contains("no loudspeaker"));
    let node = ["curve", &circuit("one_triode"), "--cabinet", "loudspeaker"];
    assert!(refused(&node, 2).contains("no loudspeaker"));
    // Stereo and what may be music is taken, with a word.
    let stereo = file("stereo.wav", vec![vec![1.0], vec![0.5]]);
    let output = presolder(&["curve", "mizzle", "--cabinet", text(&stereo)]);
    assert!(output.status.success());
    assert!(String::from_utf8_lossy(&output.stderr).contains("left channel"));
}
