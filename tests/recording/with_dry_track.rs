//! A recording with its dry track: a known response recovered, delay and polarity found, gating by
//! level, and the recording brought in step with the dry track.

use crate::fixture::*;
use engine::recording::{Method, in_step, with_dry_track};

/// White noise through a known filter, no noise added: what is left is that a window sees only its
/// own 0.17 s of a response that rings, and that a band is as wide as a twelfth of an octave.
///
/// The bound: over a band of 1/12 octave a bell of 7 dB and Q 0.7 bends by less than
/// ½·(1/24 octave)²·|d²/d octave²| ≈ 0.02 dB; below 100 Hz a line is up to half a spacing (2.9 Hz)
/// away from its point, at 6 dB an octave 0.6 dB at 42 Hz and 0.3 dB at 82 Hz.
#[test]
fn a_known_response_is_recovered() {
    let dry = noise(1, 10 * RATE as usize);
    let sections = amp(RATE);
    let heard = through(&sections, &dry);
    let scale = |s: &[f64]| single(&s.iter().map(|s| 0.1 * s).collect::<Vec<_>>());
    let target = with_dry_track(
        &sound("amp.wav", RATE, &[&scale(&heard)]),
        &sound("dry.wav", RATE, &[&scale(&dry)]),
    )
    .unwrap();
    assert_eq!(target.method, Method::WithDryTrack);
    assert_eq!(
        target.trusted_count(),
        target.hz.len(),
        "{:?}",
        target.notes
    );
    for (hz, db) in differences(&target, |hz| db_at(&sections, hz, RATE)) {
        let bound = 0.03 + 0.5 * 5.86 / hz / std::f64::consts::LN_2 * 6.0;
        assert!(db.abs() < bound, "{hz} Hz: {db} dB, bound {bound}");
    }
    println!("{:#?}", target.notes);
}

/// The phrase through the same filter, with hiss 40 dB down, later by 3 ms and upside down.
#[test]
fn delay_and_polarity_are_found_and_change_nothing() {
    let dry = guitar(RATE, 2);
    let sections = amp(RATE);
    let heard = through(&sections, &dry);
    let level = rms(&heard);
    let hiss = noise(2, heard.len() + 500);
    let dry_sound = sound("dry.wav", RATE, &[&single(&dry)]);
    let mut curves = Vec::new();
    for (milliseconds, sign) in [(0.0, 1.0), (3.0, -1.0), (3.0, 1.0), (-1234.5, -1.0)] {
        let by = milliseconds * 1e-3 * f64::from(RATE);
        let moved = match by >= 0.0 {
            true => later(&heard, by),
            false => heard[(-by) as usize..].to_vec(),
        };
        let recording: Vec<f64> = moved
            .iter()
            .zip(&hiss)
            .map(|(s, n)| sign * (s + 0.01 * level * n))
            .collect();
        let target = with_dry_track(&sound("amp.wav", RATE, &[&single(&recording)]), &dry_sound);
        let target = target.unwrap();
        println!(
            "{milliseconds} ms: found {:.5} ms, inverted {:?}, {:?}",
            1e3 * target.delay_seconds.unwrap(),
            target.inverted,
            target.notes
        );
        curves.push((milliseconds, sign, target));
    }
    let (_, _, still) = &curves[0];
    for (milliseconds, sign, target) in &curves {
        assert_eq!(target.inverted, Some(*sign < 0.0), "{milliseconds} ms");
        let moved = 1e3 * (target.delay_seconds.unwrap() - still.delay_seconds.unwrap());
        // A tenth of a sample: the filter's own delay is the same, what differs is the hiss.
        assert!(
            (moved - milliseconds).abs() < 0.1 * 1e3 / 48e3,
            "{moved} for {milliseconds}"
        );
        assert_eq!(target.drift_ppm, Some(0.0));
        let (hz, db) = worst(&differences(target, |hz| db_at(&sections, hz, RATE)));
        println!(
            "worst {db:.2} dB at {hz:.0} Hz of {}",
            target.trusted_count()
        );
    }
}

/// A mere delay by a fraction of a sample: the peak of the correlation has no bias, so that only the
/// noise moves it. For n averages of every line the variance is at best 1/(2·n·Σω²γ²/(1 − γ²)) (own
/// derivation from the phase's variance (1 − γ²)/(2nγ²), Bendat and Piersol, chapter 9).
#[test]
fn a_fraction_of_a_sample_is_found_within_its_noise() {
    let seconds = 6.0;
    let dry = noise(3, (seconds * 48e3) as usize);
    for (seed, by) in [(11, 144.0), (12, 144.25), (13, 10.5), (14, 777.77)] {
        let moved = later(&dry, by);
        let hiss = noise(seed, moved.len());
        // 20 dB: γ² = 1/1.01.
        let recording: Vec<f64> = moved
            .iter()
            .zip(&hiss)
            .map(|(s, n)| 0.1 * (s + 0.1 * n))
            .collect();
        let dry: Vec<f64> = dry.iter().map(|s| 0.1 * s).collect();
        let target = with_dry_track(
            &sound("amp.wav", RATE, &[&single(&recording)]),
            &sound("dry.wav", RATE, &[&single(&dry)]),
        )
        .unwrap();
        let found = target.delay_seconds.unwrap() * 48e3;
        let spacing = 48e3 / 8192.0;
        let averages = seconds / 0.1707 * 2.0 * 0.947;
        // Neighbouring lines of a Hann window hang together: of all, 1 in 2.08 counts.
        let sum: f64 = (17..853)
            .map(|k| (std::f64::consts::TAU * k as f64 * spacing / 48e3).powi(2) * 100.0)
            .sum::<f64>()
            / 2.08;
        let deviation = (1.0 / (2.0 * averages * sum)).sqrt();
        println!("{by}: found {found:.5}, deviation {deviation:.5} samples");
        assert!(
            (found - by).abs() < 4.0 * deviation,
            "{found} for {by}: {deviation}"
        );
    }
}

/// Recording and dry track at different rates, and a clock 50 ppm slow.
#[test]
fn rates_and_clocks_may_differ() {
    let dry = guitar(RATE, 2);
    let sections = amp(RATE);
    let heard = through(&sections, &dry);
    let dry_sound = sound("dry.wav", RATE, &[&single(&dry)]);
    let reference =
        with_dry_track(&sound("amp.wav", RATE, &[&single(&heard)]), &dry_sound).unwrap();
    for rate in [44_100, 96_000] {
        let other = engine::sound::resample::resampled(&[single(&heard)], RATE, rate).unwrap();
        let target = with_dry_track(&sound("amp.wav", rate, &[&other[0]]), &dry_sound).unwrap();
        let (hz, db) = worst(&differences(&target, |hz| {
            reference.db[reference.hz.iter().position(|h| *h == hz).unwrap()]
        }));
        println!(
            "{rate}: {:?} ms, worst {db:.4} dB at {hz:.0} Hz",
            target.delay_seconds
        );
        assert!(db.abs() < 0.05, "{rate}: {db} dB at {hz} Hz");
    }
}

/// Two recorders whose clocks are 50 parts per million apart, 18 s of playing: 1 ms at the end. The
/// drift is found to a part per million, 20 µs over the whole, a tenth of a period at 5 kHz, and the curve
/// stays what it was.
#[test]
fn a_slow_clock_is_taken_out() {
    let dry = unlike();
    let sections = amp(RATE);
    let heard = through(&sections, &dry);
    let dry_sound = sound("dry.wav", RATE, &[&single(&dry)]);
    let recording = sound("amp.wav", RATE, &[&single(&heard)]);
    let reference = with_dry_track(&recording, &dry_sound).unwrap();
    let true_clock = in_step(&recording, &dry_sound, &reference).unwrap();
    for ppm in [50.0, -100.0] {
        let slow = slow_clock(&heard, ppm);
        let recording = sound("amp.wav", RATE, &[&single(&slow)]);
        let target = with_dry_track(&recording, &dry_sound).unwrap();
        let found = target.drift_ppm.unwrap();
        let (hz, db) = worst(&differences(&target, |hz| {
            reference.db[reference.hz.iter().position(|h| *h == hz).unwrap()]
        }));
        println!(
            "{ppm}: {found:.2} ppm, worst {db:.3} dB at {hz:.0} Hz, {:?}",
            target.notes
        );
        // A slow clock writes fewer samples: what it has is earlier and earlier.
        assert!((found + ppm).abs() < 1.0, "{found} for {ppm}");
        assert!(target.trusted_count() + 3 >= reference.trusted_count());
        assert!(db.abs() < 0.3, "{db} dB at {hz} Hz");
        // In step it is where one with a true clock would be, within the drift's error: at 1 kHz 20 µs
        // are an eighth of a radian.
        let moved = in_step(&recording, &dry_sound, &target).unwrap();
        let rest: Vec<f64> = moved.channels[0]
            .iter()
            .zip(&true_clock.channels[0])
            .map(|(m, h)| f64::from(*m) - f64::from(*h))
            .take(17 * RATE as usize)
            .collect();
        let db = 20.0 * (rms(&rest) / rms(&heard)).log10();
        println!("in step: {db:.1} dB");
        assert!(db < -18.0, "{db}");
    }
}

/// In step: after a delay of 3.3 ms and a flip, the recording less the dry track is 60 dB down.
#[test]
fn a_recording_is_brought_in_step() {
    let dry = guitar(RATE, 1);
    let moved: Vec<f64> = later(&dry, 158.4).iter().map(|s| -0.5 * s).collect();
    let dry_sound = sound("dry.wav", RATE, &[&single(&dry)]);
    let recording = sound("amp.wav", RATE, &[&single(&moved)]);
    let target = with_dry_track(&recording, &dry_sound).unwrap();
    let moved = in_step(&recording, &dry_sound, &target).unwrap();
    assert_eq!(moved.channels[0].len(), dry.len());
    let rest: Vec<f64> = moved.channels[0]
        .iter()
        .zip(&dry)
        .map(|(m, d)| 2.0 * f64::from(*m) - d)
        .collect();
    let db = 20.0 * (rms(&rest) / rms(&dry)).log10();
    println!("{db:.1} dB");
    assert!(db < -60.0, "{db} dB");
}
