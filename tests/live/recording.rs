//! The recording of the real amp in the rig: in time with the model to the sample, as loud as the amp as
//! found, faded without a click, and without an allocation.

use crate::fixture::{OUTPUT_GAIN, RATE, Table, difference_db, phrase, rms};
use engine::live::recording::Track;
use engine::live::renderer::Heard;
use engine::sound::Sound;
use engine::sound::loudness::integrated_lufs;
use nice_assert_no_alloc::assert_no_alloc;

/// Plays dry and recording, in blocks.
fn play(table: &mut Table, dry: &[f32], heard: &[f32], block: usize) -> Vec<f32> {
    let mut left = dry.to_vec();
    let mut right = dry.to_vec();
    let pairs: Vec<[f32; 2]> = heard.iter().map(|&s| [s; 2]).collect();
    for start in (0..dry.len()).step_by(block) {
        let range = start..(start + block).min(dry.len());
        let mut block = [&mut left[range.clone()], &mut right[range.clone()]];
        let beside = if pairs.is_empty() {
            &[][..]
        } else {
            &pairs[range]
        };
        assert_no_alloc(|| {
            table.renderer.process_beside(
                &table.settings,
                &table.positions,
                &mut block,
                2,
                &table.meters,
                beside,
            );
        });
    }
    left
}

/// What the model made of the phrase, put in as its recording: both are then heard at the same
/// samples, and as loud.
#[test]
fn the_recording_is_in_time_with_the_model_and_as_loud() {
    let dry = phrase(9.0);
    let mut table = Table::new("bradawl");
    table.settings.heard = Heard::AsFound;
    let model = play(&mut table, &dry, &[], 64);
    let latency = table.renderer.latency();
    // A recording of it, 20 dB below the volts: it begins with the dry track, as the model does after its latency.
    let recording: Vec<f32> = model[latency..]
        .iter()
        .map(|s| s * (0.1 / OUTPUT_GAIN) as f32)
        .chain(vec![0.0; latency])
        .collect();
    let mut table = Table::new("bradawl");
    table.settings.heard = Heard::Recording;
    let heard = play(&mut table, &dry, &recording, 64);
    // It is the recording that is heard: at first 20 dB lower, less what the match has crept by then.
    let second = RATE as usize;
    assert!(difference_db(&model[..second], &heard[..second]) > -3.0);
    // After three seconds of matching, and the creep of 20 dB at 4.5 dB a second.
    let from = 8 * RATE as usize;
    let apart = difference_db(&model[from..], &heard[from..]);
    println!("{apart:.1} dB");
    // The match is good to 0.2 LU (see live_loudness.rs): 2.3 %, −32 dB.
    assert!(apart < -32.0, "{apart} dB");
}

/// Whatever the blocks, the same samples; without a recording the amp as found.
#[test]
fn blocks_do_not_matter_and_none_is_as_found() {
    let dry = phrase(1.5);
    let recording: Vec<f32> = dry.iter().rev().copied().collect();
    let run = |block: usize, heard: Heard, recording: &[f32]| {
        let mut table = Table::new("bradawl");
        table.settings.heard = heard;
        play(&mut table, &dry, recording, block)
    };
    let first = run(64, Heard::Recording, &recording);
    assert_eq!(first, run(1000, Heard::Recording, &recording));
    assert_eq!(first, run(7, Heard::Recording, &recording));
    assert_ne!(first, run(64, Heard::AsFound, &[]));
    assert_eq!(run(64, Heard::Recording, &[]), run(64, Heard::AsFound, &[]));
    // One that is there and not heard changes nothing.
    assert_eq!(
        run(64, Heard::Proposed, &recording),
        run(64, Heard::Proposed, &[])
    );
}

/// Between model and recording and back there is no jump beyond those of the two sounds themselves.
#[test]
fn going_over_does_not_click() {
    let dry = phrase(6.0);
    let recording: Vec<f32> = dry.iter().map(|s| 20.0 * s).collect();
    let steepest = |samples: &[f32]| {
        samples
            .windows(2)
            .fold(0f32, |m, w| m.max((w[1] - w[0]).abs()))
    };
    let run = |heard: &dyn Fn(usize) -> Heard| {
        let mut table = Table::new("bradawl");
        let mut out = Vec::new();
        let seconds = RATE as usize / 4;
        for (i, (dry, recording)) in dry
            .chunks(seconds)
            .zip(recording.chunks(seconds))
            .enumerate()
        {
            table.settings.heard = heard(i);
            out.extend(play(&mut table, dry, recording, 64));
        }
        out
    };
    let model = steepest(&run(&|_| Heard::AsFound));
    let recorded = steepest(&run(&|_| Heard::Recording));
    let both = run(&|i| [Heard::AsFound, Heard::Recording][i / 8 % 2]);
    // Of a fade of 480 samples each brings a 480th of a swing of at most twice the peaks.
    let peak = both.iter().fold(0f32, |m, s| m.max(s.abs()));
    let most = model + recorded + 2.0 * peak / 480.0;
    assert!(steepest(&both) < most, "{} {most}", steepest(&both));
}

/// A track is as loud as is good for the match, and as long as both.
#[test]
fn a_track_holds_both_in_step() {
    let sound = |name: &str, rate: u32, samples: Vec<f32>| Sound {
        name: name.into(),
        rate,
        channels: vec![samples],
    };
    let dry = sound("dry.wav", 48_000, phrase(5.0));
    let recording = sound(
        "amp.wav",
        48_000,
        phrase(4.0).iter().map(|s| 0.01 * s).collect(),
    );
    for rate in [48_000, 44_100] {
        let track = Track::with_recording(Some(&dry), &recording, rate).unwrap();
        assert_eq!(track.dry.len(), track.heard.len());
        assert!(track.dry.len().abs_diff(4 * rate as usize) <= 1);
        let left: Vec<f32> = track.heard.iter().map(|p| p[0]).collect();
        let lufs = integrated_lufs(&[&left, &left], rate).unwrap();
        assert!((lufs - 15.0).abs() < 0.1, "{lufs}");
        let without = Track::with_recording(None, &recording, rate).unwrap();
        assert_eq!(without.dry.len(), without.heard.len());
        assert!(rms(&without.dry.iter().map(|p| p[0]).collect::<Vec<_>>()) > 0.0);
    }
    let empty = sound("amp.wav", 48_000, Vec::new());
    assert!(
        Track::with_recording(None, &empty, 48_000)
            .unwrap_err()
            .contains("no sound")
    );
}
