//! `presolder render` from outside: every rate, depth and channel count; the delay is gone; the
//! sound is the processor's; level, clipping and faults are told.

use crate::program::{circuit, json, number, presolder, recording, refused, said, text};
use presolder::analysis::playing::settings;
use presolder::analysis::response::{Path, gains};
use presolder::circuit::{Circuit, built_in_circuit};
use presolder::device::Catalogue;
use presolder::realtime::Processor;
use presolder::realtime::dispatch::Instructions;
use presolder::solve::solved::SolvedAmp;
use presolder::sound::wav::{self, Depth};
use std::f64::consts::TAU;

/// Volts at the jack of a full-scale sample at 0 dBu, and heard at 30 dBu: 0.775 V r.m.s. times
/// the root of 2, and 31.6 times that.
const INPUT_VOLTS: f64 = 1.095_445_115_010_332;
const OUTPUT_VOLTS: f64 = 34.641_016_151_377_55;

fn sine(rate: u32, hz: f64, peak: f64, frames: usize) -> Vec<f32> {
    let at = |i: usize| peak * (TAU * hz * i as f64 / f64::from(rate)).sin();
    (0..frames).map(|i| at(i) as f32).collect()
}

fn read(text: &str) -> Circuit {
    presolder::circuit::read(text, &Catalogue::built_in()).unwrap()
}

/// Cosine and sine parts of whole periods of a sine.
fn parts(samples: &[f32], rate: u32, hz: f64) -> [f64; 2] {
    let mut sum = [0.0; 2];
    for (i, &s) in samples.iter().enumerate() {
        let (sin, cos) = (TAU * hz * i as f64 / f64::from(rate)).sin_cos();
        sum[0] += f64::from(s) * cos;
        sum[1] += f64::from(s) * sin;
    }
    sum.map(|s| 2.0 * s / samples.len() as f64)
}

/// A quiet sine comes out with the gain and the phase of the small-signal response: so the level is
/// right and the delay is gone. Gain is held to 0.1 dB (the bar for the processor at × 4), phase to
/// what a delay of a tenth of a sample would make; 24 bits carry both.
#[test]
fn every_rate_and_channel_count_has_the_gain_and_phase_of_the_response() {
    let file = std::fs::read_to_string(circuit("one_triode")).unwrap();
    let amp = SolvedAmp::new(&read(&file), None).unwrap();
    let hz = 500.0;
    let gain = gains(&amp.network, &amp.as_found, Path::default(), &[hz])[0];
    for (rate, depth, stereo) in [
        (8_000, Depth::Int24, false),
        (44_100, Depth::Int24, true),
        (48_000, Depth::Int32, false),
        (96_000, Depth::Float32, true),
        (192_000, Depth::Float32, false),
    ] {
        let folder = tempfile::tempdir().unwrap();
        let frames = rate as usize;
        let left = sine(rate, hz, 0.01, frames);
        let channels = match stereo {
            true => vec![left, vec![0.0; frames]],
            false => vec![left],
        };
        let input = recording(folder.path(), rate, depth, channels);
        let output = folder.path().join("out.wav");
        said(&[
            "render",
            &circuit("one_triode"),
            text(&input),
            text(&output),
        ]);
        let heard = wav::read(&output).unwrap();
        assert_eq!((heard.sound.rate, heard.depth), (rate, depth));
        assert_eq!(heard.sound.channels.len(), if stereo { 2 } else { 1 });
        assert!(heard.sound.channels.iter().all(|c| c.len() == frames));
        // The last half second: 250 whole periods.
        let half = frames / 2;
        let [cos, sin] = parts(&heard.sound.channels[0][half..], rate, hz);
        let measured = cos.hypot(sin) * OUTPUT_VOLTS / (0.01 * INPUT_VOLTS);
        let db = 20.0 * (measured / gain.norm()).log10();
        assert!(db.abs() < 0.1, "{rate} Hz: {db} dB");
        let turn = (cos.atan2(sin) - gain.arg()).to_degrees();
        let turn = turn - 360.0 * (turn / 360.0).round();
        let bar = 0.1 * 360.0 * hz / f64::from(rate);
        assert!(turn.abs() < bar, "{rate} Hz: {turn} degrees, bar {bar}");
        if let Some(right) = heard.sound.channels.get(1) {
            assert!(right.iter().all(|s| s.abs() < 1e-6), "{rate} Hz: crosstalk");
        }
    }
}

#[test]
fn sixteen_bits_come_back_as_sixteen() {
    let folder = tempfile::tempdir().unwrap();
    let left = sine(44_100, 441.0, 0.02, 4410);
    let input = recording(
        folder.path(),
        44_100,
        Depth::Int16,
        vec![left.clone(), left],
    );
    let output = folder.path().join("out.wav");
    let answer = json(&[
        "render",
        &circuit("one_triode"),
        text(&input),
        text(&output),
    ]);
    let heard = wav::read(&output).unwrap();
    assert_eq!(heard.depth, Depth::Int16);
    assert_eq!(heard.sound.channels[0], heard.sound.channels[1]);
    assert_eq!(number(&answer["frames"]), 4410.0);
    assert_eq!(number(&answer["channels"]), 2.0);
    assert!((number(&answer["input_peak_volts"]) - 0.02 * INPUT_VOLTS).abs() < 1e-4);
}

#[test]
fn the_file_is_the_processor_sample_for_sample() {
    let amp = SolvedAmp::new(&read(built_in_circuit("bradawl").unwrap().text), None).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let samples = sine(48_000, 330.0, 0.5, 4800);
    let input = recording(folder.path(), 48_000, Depth::Float32, vec![samples.clone()]);
    let output = folder.path().join("out.wav");
    let words = ["render", "bradawl", text(&input), text(&output)];
    said(&[&words[..], &["--cabinet", "raw"]].concat());
    let heard = wav::read(&output).unwrap();

    let side = &amp.as_found;
    let mut processor = Processor::<1>::new(
        &amp.network,
        [(&side.values, &side.point.solution)],
        settings(48_000.0),
        Instructions::detect(),
    );
    let latency = processor.latency();
    let before = 2 * latency + 2;
    let feed: Vec<f64> = std::iter::repeat_n(0.0, before)
        .chain(samples.iter().map(|&s| f64::from(s) * INPUT_VOLTS))
        .chain(std::iter::repeat_n(0.0, latency))
        .collect();
    let mut take = vec![0.0; feed.len()];
    processor.process(&[&feed], &mut [&mut take]);
    assert_eq!(processor.counts().unsolved, 0);
    let [positive, negative] = amp.network.output();
    let rest = side.point.solution[positive] - side.point.solution[negative];
    let largest = heard.sound.channels[0]
        .iter()
        .fold(0.0f32, |m, s| m.max(s.abs()));
    assert!(
        largest > 0.1,
        "the output stage was hardly driven: {largest}"
    );
    for (file, volts) in heard.sound.channels[0]
        .iter()
        .zip(&take[before + latency..])
    {
        // Both are rounded to single precision.
        let expected = (volts - rest) / OUTPUT_VOLTS;
        assert!((f64::from(*file) - expected).abs() < 2e-7 * f64::from(largest).max(0.5));
    }
}

#[test]
fn a_probe_listens_at_a_node_without_its_rest() {
    let folder = tempfile::tempdir().unwrap();
    let input = recording(
        folder.path(),
        48_000,
        Depth::Float32,
        vec![sine(48_000, 480.0, 0.01, 9600)],
    );
    let output = folder.path().join("out.wav");
    let answer = json(&[
        "render",
        "bradawl",
        text(&input),
        text(&output),
        "--probe",
        "a1",
    ]);
    assert!(number(&answer["idle_volts"]) > 100.0);
    assert_eq!(answer["at"], "a1");
    let heard = wav::read(&output).unwrap();
    let curve = json(&["curve", "bradawl", "--to", "a1"]);
    let expected = 10f64.powf(number(&curve["third_octaves"][14]["as_found_db"]) / 20.0);
    let [cos, sin] = parts(&heard.sound.channels[0][4800..], 48_000, 480.0);
    let gain = cos.hypot(sin) * OUTPUT_VOLTS / (0.01 * INPUT_VOLTS);
    // The third octave of 500 Hz is not 480 Hz: within 0.2 dB on this flat stretch.
    assert!(
        (gain / expected).log10().abs() * 20.0 < 0.2,
        "{gain} {expected}"
    );
    // It begins at rest, not with a jump of 100 V.
    assert!(heard.sound.channels[0][..10].iter().all(|s| s.abs() < 0.01));
    refused(
        &[
            "render",
            "bradawl",
            text(&input),
            text(&output),
            "--probe",
            "zz",
        ],
        2,
    );
}

#[test]
fn levels_move_with_their_full_scale() {
    let folder = tempfile::tempdir().unwrap();
    let input = recording(
        folder.path(),
        48_000,
        Depth::Float32,
        vec![sine(48_000, 480.0, 0.001, 4800)],
    );
    let output = folder.path().join("out.wav");
    let peak = |more: &[&str]| {
        let one = circuit("one_triode");
        let fixed = ["render", &one, text(&input), text(&output)];
        let answer = json(&[&fixed, more].concat());
        number(&answer["output_peak_volts"])
    };
    let usual = peak(&[]);
    let louder = peak(&["--full-scale-dbu", "20"]);
    // A triode at millivolts is straight within a few hundredths.
    assert!((louder / usual - 10.0).abs() < 0.3, "{usual} {louder}");
}

#[test]
fn what_would_clip_is_lowered_and_told() {
    let folder = tempfile::tempdir().unwrap();
    let input = recording(
        folder.path(),
        48_000,
        Depth::Int24,
        vec![sine(48_000, 480.0, 0.5, 4800)],
    );
    let output = folder.path().join("out.wav");
    let told = said(&[
        "render",
        "bradawl",
        text(&input),
        text(&output),
        "--output-full-scale-dbu",
        "10",
    ]);
    assert!(told.contains("would have clipped by"), "{told}");
    let heard = wav::read(&output).unwrap();
    let peak = heard.sound.channels[0]
        .iter()
        .fold(0.0f32, |m, s| m.max(s.abs()));
    // A tenth of a decibel below full scale.
    assert!((0.985..0.99).contains(&peak), "{peak}");
}

#[test]
fn what_is_proposed_is_heard() {
    let folder = tempfile::tempdir().unwrap();
    let input = recording(
        folder.path(),
        48_000,
        Depth::Float32,
        vec![sine(48_000, 480.0, 0.01, 4800)],
    );
    let output = folder.path().join("out.wav");
    let loud = |set: &str| {
        let answer = json(&[
            "render",
            "bradawl",
            text(&input),
            text(&output),
            "--control",
            set,
        ]);
        number(&answer["output_peak_volts"])
    };
    assert!(loud("Volume=0.6") > 1.1 * loud("Volume=0.5"));
    let answer = json(&[
        "render",
        "bradawl",
        text(&input),
        text(&output),
        "--set",
        "V1=ECC82",
    ]);
    assert_eq!(answer["shown"], "proposed");
}

#[test]
fn files_that_are_no_sound_end_with_four_and_write_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let output = folder.path().join("out.wav");
    let input = folder.path().join("in.wav");
    for bytes in [&b"hello"[..], b"RIFF\0\0\0\0WAVEfmt ", b""] {
        std::fs::write(&input, bytes).unwrap();
        let message = refused(&["render", "bradawl", text(&input), text(&output)], 4);
        assert!(message.contains("in.wav"), "{message}");
    }
    assert!(!output.exists());
    refused(&["render", "bradawl", "nowhere.wav", text(&output)], 4);
    let good = recording(folder.path(), 48_000, Depth::Int16, vec![vec![0.0; 100]]);
    refused(
        &["render", "bradawl", text(&good), "no/such/folder/out.wav"],
        4,
    );
    // Silence is a sound.
    assert!(
        presolder(&["render", "bradawl", text(&good), text(&output)])
            .status
            .success()
    );
    let heard = wav::read(&output).unwrap();
    assert!(heard.sound.channels[0].iter().all(|s| s.abs() < 1e-4));
}
