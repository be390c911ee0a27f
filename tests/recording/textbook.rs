//! Transfer function and coherence against the textbook (J. Bendat, A. Piersol, Random Data, 4th ed.,
//! chapters 6 and 9; from memory): a linear system with noise at its output, with noise at its input,
//! and two sounds that have nothing to do with one another.

use crate::fixture::*;
use engine::recording::{Target, with_dry_track};

const SECONDS: usize = 20;

fn measured(dry: &[f64], recording: &[f64]) -> Target {
    let scaled = |s: &[f64]| single(&s.iter().map(|s| 0.05 * s).collect::<Vec<_>>());
    with_dry_track(
        &sound("amp.wav", RATE, &[&scaled(recording)]),
        &sound("dry.wav", RATE, &[&scaled(dry)]),
    )
    .unwrap()
}

fn plus(a: &[f64], share: f64, b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a + share * b).collect()
}

/// How many independent averages a point of the grid has: windows of 8192 samples that overlap by
/// half count 0.947 each; the lines within 1/12 octave count 1 in 1.94 when there are many, a single
/// one counts 1.
fn averages(hz: f64) -> f64 {
    let windows = (SECONDS * RATE as usize / 4096 - 1) as f64 * 0.947;
    let lines = (hz * (2f64.powf(1.0 / 24.0) - 2f64.powf(-1.0 / 24.0)) * 8192.0 / 48e3).floor();
    let lines = lines.max(1.0);
    let beside = 4.0 / 9.0 * (lines - 1.0) / lines + (lines - 2.0).max(0.0) / lines / 36.0;
    windows * lines / (1.0 + 2.0 * beside)
}

/// The filter's level in the band of a point, as power over the lines that lie in it.
fn band_db(sections: &[Section], hz: f64) -> f64 {
    const SPACING: f64 = 48e3 / 8192.0;
    let half = 2f64.powf(1.0 / 24.0);
    let mut lines: Vec<f64> = (1..4096)
        .map(|k| f64::from(k) * SPACING)
        .filter(|line| (hz / half..=hz * half).contains(line))
        .collect();
    if lines.is_empty() {
        lines.push((hz / SPACING).round() * SPACING);
    }
    let powers = lines
        .iter()
        .map(|&hz| 10f64.powf(db_at(sections, hz, RATE) / 10.0));
    10.0 * (powers.sum::<f64>() / lines.len() as f64).log10()
}

/// Noise at the output: γ² = 1/(1 + N/S), |H| without bias, its relative deviation
/// √((1 − γ²)/(2nγ²)), that of the coherence √2·(1 − γ²)/(|γ|·√n) of itself.
#[test]
fn noise_at_the_output_lowers_the_coherence_and_not_the_response() {
    let dry = noise(21, SECONDS * RATE as usize);
    let sections = amp(RATE);
    let heard = through(&sections, &dry);
    for (seed, share) in [(22, 0.1), (23, 0.3), (24, 0.6)] {
        let recording = plus(&heard, share, &noise(seed, heard.len()));
        let target = measured(&dry, &recording);
        let coherence = target.coherence.as_ref().unwrap();
        let differences = differences(&target, |hz| band_db(&sections, hz));
        let (mut worst_coherence, mut stated) = (0f64, 0.0);
        // Level error and the textbook's deviation of it, dB.
        let mut errors = Vec::new();
        for (hz, db) in differences {
            // Below, points share their lines.
            if hz < 100.0 {
                continue;
            }
            let i = target.hz.iter().position(|h| *h == hz).unwrap();
            let signal = 10f64.powf(band_db(&sections, hz) / 10.0);
            let expected = 1.0 / (1.0 + share * share / signal);
            let n = averages(hz);
            let deviation = 2f64.sqrt() * expected.sqrt() * (1.0 - expected) / n.sqrt();
            // Within a band the signal itself is not the same everywhere: see the filter's slopes.
            let error = (coherence[i] - expected) / (deviation + 0.02 * (1.0 - expected));
            worst_coherence = worst_coherence.max(error.abs());
            let relative = ((1.0 - expected) / (2.0 * n * expected)).sqrt();
            let textbook = 20.0 / std::f64::consts::LN_10 * relative;
            errors.push((db, textbook));
            stated += target.deviation_db[i] / textbook;
        }
        // The level is free: it is the mean in which the sharpest points count most.
        let weights: f64 = errors.iter().map(|(_, d)| 1.0 / (d * d)).sum();
        let level = errors.iter().map(|(db, d)| db / (d * d)).sum::<f64>() / weights;
        let squares: f64 = errors
            .iter()
            .map(|(db, d)| ((db - level) / d).powi(2))
            .sum();
        let count = errors.len() as f64;
        let (spread, stated) = ((squares / count).sqrt(), stated / count);
        println!(
            "noise {share}: coherence within {worst_coherence:.2} deviations; levels spread by {spread:.2} \
             of the textbook's, stated {stated:.2} of it"
        );
        assert!(worst_coherence < 4.0);
        // The r.m.s. of so many normal numbers is known to 1/√(2·count): four of those.
        let four = 4.0 / (2.0 * count).sqrt();
        assert!((spread - 1.0).abs() < four, "{spread}");
        // The larger of formula and jackknife: never much less than the formula, and the jackknife of
        // twelve groups strays by 1/√22 = 21 %, so that the larger of the two is some 10 % more.
        assert!((0.95..1.3).contains(&stated), "{stated}");
    }
}

/// Noise on the dry track that the amp has not heard: H1 is low by 1/(1 + M/X), which no averaging
/// shows, and the coherence by the same.
#[test]
fn noise_at_the_input_lowers_both() {
    let played = noise(31, SECONDS * RATE as usize);
    let sections = amp(RATE);
    let heard = through(&sections, &played);
    let clean = measured(&played, &heard);
    let share = 0.5;
    let dry = plus(&played, share, &noise(32, played.len()));
    let noisy = measured(&dry, &heard);
    let lower = clean.gain_db - noisy.gain_db;
    let expected = 20.0 * (1.0 + share * share).log10();
    // Four deviations of the mean over some 50 independent points of γ² = 0.8, n of at least 200.
    println!("lower by {lower:.3} dB, expected {expected:.3}");
    assert!((lower - expected).abs() < 0.1);
    let coherence = noisy.coherence.as_ref().unwrap();
    let mean = coherence.iter().sum::<f64>() / coherence.len() as f64;
    println!(
        "coherence {mean:.4}, expected {:.4}",
        1.0 / (1.0 + share * share)
    );
    assert!((mean - 1.0 / (1.0 + share * share)).abs() < 0.01);
}

/// The bias of the coherence is off: where the recording's band is mere noise it averages to
/// nothing, and no point is trusted by chance.
#[test]
fn what_does_not_follow_has_no_coherence() {
    let dry = noise(41, SECONDS * RATE as usize);
    // The amp gives nothing above 1.5 kHz, by four sections of 6 dB an octave from 300 Hz.
    let sections = vec![Section::high_cut(200.0, RATE); 6];
    let heard = through(&sections, &dry);
    let hiss: Vec<f64> = noise(42, dry.len());
    let target = measured(&dry, &plus(&heard, 0.02, &hiss));
    let coherence = target.coherence.as_ref().unwrap();
    let high: Vec<f64> = (0..target.hz.len())
        .filter(|&i| target.hz[i] > 3000.0)
        .map(|i| coherence[i])
        .collect();
    let mean = high.iter().sum::<f64>() / high.len() as f64;
    let most = high.iter().fold(0f64, |m, &c| m.max(c));
    println!("above 3 kHz: mean {mean:.5}, most {most:.5}");
    // One line has 222 averages: uncorrected the mean would be 1/222 = 0.0045. Clamped at nothing, what
    // is left is half of the estimates' spread, 1/n·√lines/lines.
    assert!(mean < 0.0015, "{mean}");
    assert!((0..target.hz.len()).all(|i| target.hz[i] < 3000.0 || !target.trusted[i]));
}
