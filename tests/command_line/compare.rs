//! `presolder compare` from outside: one table, a sentence for each item, the four files, equal
//! loudness as measured here, JSON, faults.

use crate::program::{json, number, numbers, recording, refused, said, text};
use presolder::sound::loudness::integrated_lufs;
use presolder::sound::phrase::phrase;
use presolder::sound::wav::{self, Depth};

/// The last two seconds but one of the phrase, which hold the hard chord; as volts at 0 dBu they
/// are a little hotter than as volts.
fn chord() -> Vec<f32> {
    let rate = 48_000;
    phrase(rate)[7 * rate as usize - 9_600..8 * rate as usize].to_vec()
}

#[test]
fn the_whole_verdict_of_the_demo_amp() {
    let folder = tempfile::tempdir().unwrap();
    let input = recording(folder.path(), 48_000, Depth::Int24, vec![chord()]);
    let into = folder.path().join("verdict");
    let told = said(&[
        "compare",
        "bradawl",
        "--proposal",
        "cooler",
        text(&input),
        "--into",
        text(&into),
    ]);
    for words in [
        "R505 (bias load): 12 kΩ → 15 kΩ",
        "OVER, 10",
        "V3, V4 anode dissipation",
        "Gain, small signal, dB",
        "Over a limit",
        "V3 and V4: as found the anode dissipation is 12.8 W",
        "What each change does, alone",
        "R505 (bias load) sets the idle of V3 and V4",
        "Clean headroom, a sine at 1 kHz",
        "Grid current sets in",
        "1 % distortion",
        "5 % distortion",
        "What stays charged, as proposed",
        "Power into the loudspeaker at 5 %",
        "Level, LUFS",
        "3.15 kHz",
        "The anodes of V3 and V4 run at 9.",
        "within the limit",
        "It stays clean",
        "equally loud",
        "Never work on a live chassis",
    ] {
        assert!(told.contains(words), "{words}\n{told}");
    }

    let [found, proposed] =
        ["as-found.wav", "proposed.wav"].map(|name| wav::read(&into.join(name)).unwrap());
    assert_eq!(found.sound.channels[0].len(), chord().len());
    assert_eq!((found.sound.rate, found.depth), (48_000, Depth::Int24));
    let lufs = |r: &wav::WavFile| integrated_lufs(&[&r.sound.channels[0]], r.sound.rate).unwrap();
    let apart = lufs(&found) - lufs(&proposed);
    assert!(apart.abs() < 0.2, "{apart} LU apart");
    // They differ by more than rounding: the sum of squares of the difference against the sound.
    let energy = |x: &mut dyn Iterator<Item = f32>| x.map(|v| f64::from(v).powi(2)).sum::<f64>();
    let pairs = found.sound.channels[0]
        .iter()
        .zip(&proposed.sound.channels[0]);
    let difference = energy(&mut pairs.map(|(a, b)| a - b));
    let whole = energy(&mut found.sound.channels[0].iter().copied());
    let db = 10.0 * (difference / whole).log10();
    assert!((-60.0..0.0).contains(&db), "the files differ by {db} dB");

    let svg = std::fs::read_to_string(into.join("curve.svg")).unwrap();
    assert!(svg.contains("proposed") && svg.contains("Cooler bias"));
    let voltages = std::fs::read_to_string(into.join("voltages.txt")).unwrap();
    assert_eq!(
        voltages,
        said(&["voltages", "bradawl", "--proposal", "cooler"])
    );
}

#[test]
fn json_has_every_item_and_stereo_stays_stereo() {
    let folder = tempfile::tempdir().unwrap();
    let input = recording(
        folder.path(),
        48_000,
        Depth::Float32,
        vec![chord(), chord()],
    );
    let into = text(folder.path());
    let answer = json(&[
        "compare",
        "mizzle",
        "--set",
        "C5=6n8",
        text(&input),
        "--into",
        into,
    ]);
    for side in ["as_found", "proposed"] {
        number(&answer["voltages"][side]["valves"]["V2"]["anode_watts"]);
        number(&answer["gain_db"][side]);
        number(&answer["loudness"]["lufs"][side]);
        number(&answer["recordings"]["gain_db"][side]);
        let limits = answer["clean"][side]["drive"]["limits"].as_array().unwrap();
        let percents: Vec<f64> = limits.iter().map(|l| number(&l["percent"])).collect();
        assert_eq!(percents, [1.0, 5.0, 10.0]);
        let at = |i: usize| number(&limits[i]["at"]["input_volts"]);
        assert!(at(0) < at(1) && at(1) < at(2));
        number(&limits[1]["at"]["watts"]);
        assert_eq!(number(&answer["clean"][side]["drive"]["unsolved"]), 0.0);
    }
    let bands = answer["third_octaves"].as_array().unwrap();
    assert_eq!(bands.len(), 31);
    // The gain at 1 kHz is the curve's.
    let curve = json(&["curve", "mizzle"]);
    let at = numbers(&curve["hz"])
        .iter()
        .position(|&hz| hz == 1000.0)
        .unwrap();
    assert!((number(&answer["gain_db"]["as_found"]) - numbers(&curve["db"])[at]).abs() < 1e-9);
    assert!(answer["sentences"].as_array().unwrap().len() > 6);
    assert_eq!(answer["changes"][0]["designator"], "C5");
    assert_eq!(answer["files"].as_array().unwrap().len(), 5);
    for report in ["ratings", "clean", "volume", "recovery"] {
        for side in ["as_found", "proposed"] {
            assert!(answer[report][side].is_object(), "{report} {side}");
        }
    }
    assert_eq!(answer["each_change"]["rows"].as_array().unwrap().len(), 1);
    assert!(answer["over_rated"].is_array() && answer["bias_in_words"].is_array());
    let heard = wav::read(&folder.path().join("proposed.wav")).unwrap();
    assert_eq!(heard.sound.channels.len(), 2);
    assert_eq!(heard.sound.channels[0], heard.sound.channels[1]);
}

#[test]
fn what_cannot_be_compared_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let into = text(folder.path());
    let told = refused(&["compare", "bradawl", "--into", into], 2);
    assert!(told.contains("Nothing is proposed"));
    refused(
        &[
            "compare",
            "bradawl",
            "--proposal",
            "nowhere.toml",
            "--into",
            into,
        ],
        4,
    );
    refused(
        &["compare", "bradawl", "--set", "R505=99T", "--into", into],
        1,
    );
    let wav = folder.path().join("no.wav");
    std::fs::write(&wav, "no sound").unwrap();
    refused(
        &[
            "compare",
            "bradawl",
            "--set",
            "R505=15k",
            text(&wav),
            "--into",
            into,
        ],
        4,
    );
    // Nothing but the file of this test is there.
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
}

/// The two files are heard through the loudspeakers, each its own, unless the voltage is asked for;
/// another loudspeaker is told by what it radiates.
#[test]
fn another_loudspeaker_is_heard_and_told() {
    let folder = tempfile::tempdir().unwrap();
    let input = recording(folder.path(), 48_000, Depth::Float32, vec![chord()]);
    let compare = |into: &str, more: &[&str]| {
        let into = folder.path().join(into);
        let mut arguments = vec!["compare", "bradawl", "--set", "LS1=Harbour Ten"];
        arguments.extend([text(&input), "--into", text(&into)]);
        arguments.extend(more);
        let told = said(&arguments);
        let files = ["as-found.wav", "proposed.wav"];
        (told, files.map(|name| wav::read(&into.join(name)).unwrap()))
    };
    let (told, heard) = compare("heard", &[]);
    for words in [
        "At the loudspeaker's terminals a quiet note comes out ",
        "The guitar comes out ",
        " dB by the voltage at the terminals, −2.0 dB by the loudspeaker's sensitivity.",
        "From 80 Hz to 8 kHz the voltage of a quiet note changes most at ",
        "From 80 Hz to 8 kHz what the Harbour Ten gives of it in place of the Tin Ten changes most at ",
        "Heard through its loudspeaker, Tin Ten; the proposed one through its loudspeaker, Harbour Ten.",
    ] {
        assert!(told.contains(words), "{words}\n{told}");
    }
    let (told, volts) = compare("volts", &["--cabinet", "raw"]);
    assert!(!told.contains("Heard through"), "{told}");
    // The same performance rendered, but for the gain that makes the two equally loud.
    for (set, heard, volts) in [
        ("Tin Ten", &heard[0], &volts[0]),
        ("Harbour Ten", &heard[1], &volts[1]),
    ] {
        let set = format!("LS1={set}");
        for (cabinet, file) in [("loudspeaker", heard), ("raw", volts)] {
            let out = folder.path().join("rendered.wav");
            said(&[
                "render",
                "bradawl",
                text(&input),
                text(&out),
                "--set",
                &set,
                "--cabinet",
                cabinet,
            ]);
            let rendered = wav::read(&out).unwrap();
            let pairs = || {
                rendered.sound.channels[0]
                    .iter()
                    .zip(&file.sound.channels[0])
            };
            let product: f64 = pairs().map(|(a, b)| f64::from(a * b)).sum();
            let power: f64 = pairs().map(|(a, _)| f64::from(a * a)).sum();
            let gain = product / power;
            let left: f64 = pairs()
                .map(|(a, b)| (f64::from(*b) - gain * f64::from(*a)).powi(2))
                .sum();
            let db = 10.0 * (left / (gain * gain * power)).log10();
            assert!(db < -60.0, "{set} {cabinet}: {db} dB");
        }
    }
}
