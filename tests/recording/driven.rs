//! An amp that is driven: the response is taken from its quiet passages and its dependence on level
//! told; and the same measurement of an amp in the model sees what the recording shows.

use crate::fixture::*;
use engine::recording::{played_like, with_dry_track};

/// A clean filter, a stage that bends, and another filter behind it.
fn driven(dry: &[f64], drive: f64) -> Vec<f64> {
    let before = through(&[Section::low_cut(300.0, RATE)], dry);
    let bent: Vec<f64> = before.iter().map(|s| (drive * s).tanh()).collect();
    through(
        &[
            Section::bell(900.0, 0.8, 6.0, RATE),
            Section::high_cut(4000.0, RATE),
        ],
        &bent,
    )
}

fn linear() -> Vec<Section> {
    vec![
        Section::low_cut(300.0, RATE),
        Section::bell(900.0, 0.8, 6.0, RATE),
        Section::high_cut(4000.0, RATE),
    ]
}

fn rms_of(differences: &[(f64, f64)]) -> f64 {
    let sum: f64 = differences.iter().map(|d| d.1 * d.1).sum();
    (sum / differences.len() as f64).sqrt()
}

#[test]
fn a_driven_amp_is_told_and_measured_where_it_is_quiet() {
    let dry = guitar(RATE, 3);
    let dry_sound = sound("dry.wav", RATE, &[&single(&dry)]);
    let mut apart = Vec::new();
    for drive in [0.1, 10.0, 40.0] {
        let heard: Vec<f64> = driven(&dry, drive)
            .iter()
            .map(|s| s * 0.3 / drive.min(1.0))
            .collect();
        let recording = sound("amp.wav", RATE, &[&single(&heard)]);
        let target = with_dry_track(&recording, &dry_sound).unwrap();
        let dependence = target.level_dependence.as_ref().unwrap();
        let away = rms_of(&differences(&target, |hz| db_at(&linear(), hz, RATE)));
        println!(
            "drive {drive}: {away:.2} dB from linear, {:#?}",
            target.notes
        );
        assert!(
            (10.0..30.0).contains(&dependence.apart_db),
            "{dependence:?}"
        );
        match drive {
            0.1 => assert!(target.quiet.is_none() && dependence.sentence.contains("clean")),
            _ => assert!(target.quiet.is_some() && dependence.sentence.contains("not linear")),
        }
        if drive > 1.0 {
            // It compresses.
            assert!(dependence.gain_db < -1.0, "{dependence:?}");
        }
        apart.push(away);
    }
    assert!(apart[0] < apart[1] && apart[1] < apart[2], "{apart:?}");
}

/// The model's own sound, looked at in the same way, shows the same curve: gating, windows and lines
/// are those of the target, and only the hiss is left between them.
#[test]
fn the_model_is_measured_like_the_recording() {
    let dry = guitar(RATE, 3);
    let dry_sound = sound("dry.wav", RATE, &[&single(&dry)]);
    let heard = driven(&dry, 20.0);
    let moved = later(&heard, 77.3);
    let hiss = noise(5, moved.len());
    let level = rms(&moved);
    let recording: Vec<f64> = moved
        .iter()
        .zip(&hiss)
        .map(|(s, n)| -0.2 * (s + 0.01 * level * n))
        .collect();
    let target =
        with_dry_track(&sound("amp.wav", RATE, &[&single(&recording)]), &dry_sound).unwrap();
    assert!(target.quiet.is_some());
    let model = played_like(&target, &dry_sound, &single(&heard)).unwrap();
    let mut most = 0f64;
    for (i, &hz) in target
        .hz
        .iter()
        .enumerate()
        .filter(|(i, _)| target.trusted[*i])
    {
        let away = target.db[i] - model[i];
        most = most.max((away / target.deviation_db[i]).abs());
        assert!(
            away.abs() < 4.0 * target.deviation_db[i] + 0.1,
            "{hz} Hz: {away} dB"
        );
    }
    let away: Vec<(f64, f64)> = (0..model.len())
        .filter(|&i| target.trusted[i])
        .map(|i| (target.hz[i], target.db[i] - model[i]))
        .collect();
    println!(
        "r.m.s. {:.3} dB, at most {most:.2} deviations",
        rms_of(&away)
    );
}
