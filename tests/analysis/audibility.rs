//! Whether a difference can be heard: the ear's bands against published figures, known filters and
//! levels, the verdict's thresholds, hostile sounds.

use engine::analysis::audibility::erb::{bands, erb_hz, erb_number, hz_of_erb_number};
use engine::analysis::audibility::{
    Audibility, Heard, Profile, compare, compare_responses, profile,
};
use engine::numeric::random::Random;
use engine::sound::phrase::phrase;
use std::f64::consts::TAU;

const RATE: u32 = 48_000;

/// B. R. Glasberg, B. C. J. Moore, Hearing Research 47, 1990; figures computed from their printed
/// formula (formula seen in secondary copies).
#[test]
fn bandwidths_are_those_of_the_formula() {
    for (hz, width) in [
        (100.0, 35.49),
        (500.0, 78.67),
        (1000.0, 132.64),
        (4000.0, 456.46),
        (8000.0, 888.21),
    ] {
        assert!(
            (erb_hz(hz) - width).abs() < 0.005,
            "{hz} Hz: {}",
            erb_hz(hz)
        );
    }
    // The number is the integral of one over the bandwidth: 1/(24.7·4.37e-3)·ln(10) is 21.33 where
    // the paper rounds to 21.4, so a step of one is a bandwidth to half a per cent.
    for hz in [60.0, 250.0, 1000.0, 9000.0] {
        let slope = (erb_number(hz + 0.5) - erb_number(hz - 0.5)) * erb_hz(hz);
        assert!((slope - 1.0).abs() < 0.005, "{hz} Hz: {slope}");
        assert!((hz_of_erb_number(erb_number(hz)) / hz - 1.0).abs() < 1e-12);
    }
}

#[test]
fn bands_touch_and_cover_a_guitar() {
    let bands = bands();
    for pair in bands.windows(2) {
        assert!((pair[0].high_hz / pair[1].low_hz - 1.0).abs() < 1e-12);
        assert!((erb_number(pair[1].hz) - erb_number(pair[0].hz) - 1.0).abs() < 1e-12);
    }
    // The low E of a guitar is 82.4 Hz.
    assert!(bands[0].low_hz < 50.0 && bands[1].low_hz < 82.4 && 82.4 < bands[1].high_hz);
    let last = bands[bands.len() - 1];
    assert!(last.hz < 10_000.0 && last.high_hz > 10_000.0);
}

/// Noise of equal power at all frequencies.
fn noise(seconds: f64, level: f64) -> Vec<f32> {
    let mut random = Random::new(1990, 0);
    let count = (seconds * f64::from(RATE)) as usize;
    (0..count)
        .map(|_| (level * 0.5 * random.even()) as f32)
        .collect()
}

fn of(sound: &[f32]) -> Profile {
    profile(&[sound], RATE)
}

#[track_caller]
fn heard(before: &[f32], after: &[f32]) -> Audibility {
    compare(&of(before), &of(after)).expect("both are sounds")
}

fn times(sound: &[f32], db: f64) -> Vec<f32> {
    let factor = 10f64.powf(db / 20.0) as f32;
    sound.iter().map(|s| s * factor).collect()
}

/// A filter of second order over a sound.
fn filtered(sound: &[f32], [b0, b1, b2]: [f64; 3], [a0, a1, a2]: [f64; 3]) -> Vec<f32> {
    let mut state = [0.0; 2];
    let mut step = |x: f64| {
        let y = (b0 * x + state[0]) / a0;
        state = [b1 * x - a1 * y + state[1], b2 * x - a2 * y];
        y as f32
    };
    sound.iter().map(|&x| step(f64::from(x))).collect()
}

/// Coefficients of a high shelf, numerator and denominator (R. Bristow-Johnson, "Cookbook formulae
/// for audio equalizer biquad filter coefficients", slope 1, from memory; what it does in each band
/// is computed from the coefficients here).
fn high_shelf(db: f64, hz: f64) -> ([f64; 3], [f64; 3]) {
    let a = 10f64.powf(db / 40.0);
    let w = TAU * hz / f64::from(RATE);
    let (sin, cos) = w.sin_cos();
    let alpha = sin / 2f64.sqrt();
    let root = 2.0 * a.sqrt() * alpha;
    let over = [
        a * ((a + 1.0) + (a - 1.0) * cos + root),
        -2.0 * a * ((a - 1.0) + (a + 1.0) * cos),
        a * ((a + 1.0) + (a - 1.0) * cos - root),
    ];
    let under = [
        (a + 1.0) - (a - 1.0) * cos + root,
        2.0 * ((a - 1.0) - (a + 1.0) * cos),
        (a + 1.0) - (a - 1.0) * cos - root,
    ];
    (over, under)
}

/// Power gain of such a filter.
fn gain_db((b, a): ([f64; 3], [f64; 3]), hz: f64) -> f64 {
    let w = TAU * hz / f64::from(RATE);
    let power = |c: [f64; 3]| {
        let re = c[0] + c[1] * w.cos() + c[2] * (2.0 * w).cos();
        let im = c[1] * w.sin() + c[2] * (2.0 * w).sin();
        re * re + im * im
    };
    10.0 * (power(b) / power(a)).log10()
}

/// A sine of 1 V r.m.s. has a power of 1 V², all of it in its band.
#[test]
fn the_power_of_a_sine_stands_in_its_band() {
    let band = bands()
        .iter()
        .position(|b| b.low_hz < 1000.0 && 1000.0 < b.high_hz);
    let sine: Vec<f32> = (0..10 * RATE)
        .map(|n| (2f64.sqrt() * (TAU * 1000.0 * f64::from(n) / f64::from(RATE)).sin()) as f32)
        .collect();
    let profile = of(&sine);
    let power = profile.whole[band.unwrap()];
    assert!((power - 1.0).abs() < 1e-3, "{power}");
    assert!(profile.whole.iter().sum::<f64>() < 1.001 * power);
    for passage in &profile.passages {
        assert!((passage.iter().sum::<f64>() - 1.0).abs() < 1e-3);
    }
}

#[test]
fn a_sound_is_like_itself_and_like_itself_at_another_level() {
    let sound = phrase(RATE);
    for db in [0.0, -6.0, 3.0] {
        let same = heard(&sound, &times(&sound, db));
        assert_eq!(same.verdict, Heard::NotAudible);
        assert!(
            (same.louder_db - db).abs() < 0.01,
            "{db}: {}",
            same.louder_db
        );
        assert!(same.summary.largest_db.abs() < 0.01 && same.summary.rms_db < 0.01);
        assert_eq!(same.in_words, "not audible: no difference in any band");
    }
}

/// Both ways, sound and response: a high shelf of 3 dB gives each band what its own formula says,
/// less what makes both equally loud. Noise has many lines in a band; 0.2 dB is the mean of a band
/// against its middle where the shelf is steepest.
#[test]
fn a_known_shelf_gives_its_own_band_differences() {
    let sound = noise(12.0, 0.5);
    let shelf = high_shelf(3.0, 1500.0);
    let report = heard(&sound, &filtered(&sound, shelf.0, shelf.1));
    let flat = vec![0.0; bands().len()];
    let response: Vec<f64> = bands().iter().map(|b| gain_db(shelf, b.hz)).collect();
    let by_response = compare_responses(&flat, &response, &of(&sound)).unwrap();
    for (i, band) in bands().iter().enumerate() {
        let expected = gain_db(shelf, band.hz) - report.louder_db;
        let got = report.bands[i].difference_db.unwrap();
        assert!((got - expected).abs() < 0.2, "{band:?}: {got}, {expected}");
        let got = by_response.bands[i].difference_db.unwrap();
        // Between the two ways lies what the loudness meter hears above and below the bands.
        assert!((got - expected).abs() < 0.35, "{band:?}: {got}, {expected}");
    }
    assert_eq!(report.verdict, Heard::ClearlyAudible);
    // Far below and far above the shelf 3 dB lie between them.
    let edge = |i: usize| report.bands[i].difference_db.unwrap();
    assert!((edge(bands().len() - 1) - edge(0) - 3.0).abs() < 0.15);
}

/// A tilt in a response, decibels from the lowest to the highest band: the verdict's thresholds.
#[test]
fn the_verdict_follows_the_thresholds() {
    let played = of(&noise(3.0, 0.5));
    let flat = vec![0.0; bands().len()];
    let last = (bands().len() - 1) as f64;
    let tilted = |db: f64| -> Audibility {
        let slope: Vec<f64> = (0..bands().len()).map(|i| db * i as f64 / last).collect();
        compare_responses(&flat, &slope, &played).unwrap()
    };
    // The loudness lies in the treble, so nearly all of the tilt is left to the bass.
    assert_eq!(tilted(0.5).verdict, Heard::NotAudible);
    let one = tilted(1.0);
    assert_eq!(one.verdict, Heard::Borderline);
    assert!(one.summary.largest_db < -0.5 && one.summary.largest_db > -1.0);
    assert_eq!(one.summary.bands_beyond, 0);
    assert_eq!(tilted(3.0).verdict, Heard::ClearlyAudible);
    // One band alone, 1.5 dB: borderline; 2.5 dB: clearly.
    let bump = |db: f64| {
        let mut response = flat.clone();
        response[15] = db;
        compare_responses(&flat, &response, &played).unwrap()
    };
    assert_eq!(bump(1.5).verdict, Heard::Borderline);
    assert_eq!(bump(1.5).summary.bands_beyond, 1);
    assert_eq!(bump(2.5).verdict, Heard::ClearlyAudible);
    assert_eq!(bump(0.3).verdict, Heard::NotAudible);
    assert!((bump(2.5).summary.largest_hz - bands()[15].hz).abs() < 1e-9);
}

/// A quiet passage that comes out 3 dB louder hardly moves the whole, and is heard all the same.
#[test]
fn what_only_a_passage_does_is_heard() {
    let mut sound = noise(4.0, 0.5);
    sound.extend(noise(2.0, 0.15));
    sound.extend(noise(4.0, 0.5));
    let mut after = sound.clone();
    let rate = RATE as usize;
    for s in &mut after[4 * rate..6 * rate] {
        *s *= 10f32.powf(3.0 / 20.0);
    }
    let report = heard(&sound, &after);
    assert!(report.summary.largest_db.abs() < 0.5, "{report:?}");
    assert_eq!(report.verdict, Heard::ClearlyAudible);
    let passage = report.passage.unwrap();
    assert!(
        passage.seconds[0] >= 3.9 && passage.seconds[1] <= 6.2,
        "{passage:?}"
    );
    assert!((passage.summary.rms_db - 3.0).abs() < 0.3, "{passage:?}");
    assert!(
        report
            .in_words
            .contains("between 4 s and 5 s of the playing"),
        "{}",
        report.in_words
    );
}

/// A band far below the loudest does not count, however much it differs.
#[test]
fn bands_without_energy_do_not_count() {
    let low: Vec<f32> = (0..6 * RATE)
        .map(|n| (TAU * 220.0 * f64::from(n) / f64::from(RATE)).sin() as f32)
        .collect();
    let hiss = noise(6.0, 1e-3);
    let with = |db: f64| -> Vec<f32> {
        let hiss = times(&hiss, db);
        low.iter().zip(hiss).map(|(a, b)| a + b).collect()
    };
    let report = heard(&with(0.0), &with(-12.0));
    assert_eq!(report.verdict, Heard::NotAudible, "{}", report.in_words);
    assert!(report.bands.iter().filter(|b| b.counts).count() < 6);
    let at = |hz: f64| report.bands.iter().find(|b| b.hz > hz).unwrap();
    assert!(at(3000.0).difference_db.unwrap() < -11.0 && !at(3000.0).counts);
}

#[test]
fn silence_and_what_is_no_number_have_no_verdict() {
    let sound = noise(2.0, 0.5);
    let silence = vec![0.0f32; 2 * RATE as usize];
    let wild = vec![f32::NAN; 2 * RATE as usize];
    for other in [&silence[..], &wild[..], &[], &sound[..100]] {
        assert!(compare(&of(&sound), &of(other)).is_none());
        assert!(compare(&of(other), &of(&sound)).is_none());
    }
    let flat = vec![0.0; bands().len()];
    assert!(compare_responses(&flat, &flat, &of(&silence)).is_none());
    let nan = vec![f64::NAN; bands().len()];
    assert!(compare_responses(&flat, &nan, &of(&sound)).is_none());
    assert!(compare_responses(&flat, &[], &of(&sound)).is_none());
    assert!(profile(&[], RATE).lufs.is_none());
    assert!(profile(&[&sound], 1).whole.is_empty());
}

/// At other rates the same sound has the same profile, as far as its bands reach.
#[test]
fn the_rate_makes_no_difference() {
    let reference = of(&phrase(RATE));
    for rate in [16_000, 44_100, 96_000] {
        let other = profile(&[&phrase(rate)], rate);
        assert!(other.whole.len() >= 30, "{rate}");
        for (band, (a, b)) in bands().iter().zip(reference.whole.iter().zip(&other.whole)) {
            // The synthesis itself differs a little from rate to rate, most in the treble.
            if (80.0..2000.0).contains(&band.hz) {
                let db = 10.0 * (b / a).log10();
                assert!(db.abs() < 1.5, "{rate} Hz, {band:?}: {db} dB");
            }
        }
    }
}

/// Two channels are one sound: a stereo pair of the same is as one channel, 3 dB stronger.
#[test]
fn two_channels_add() {
    let sound = noise(2.0, 0.5);
    let (one, two) = (of(&sound), profile(&[&sound, &sound], RATE));
    for (a, b) in one.whole.iter().zip(&two.whole) {
        assert!((b / a - 2.0).abs() < 1e-9);
    }
    assert!((two.lufs.unwrap() - one.lufs.unwrap() - 3.0103).abs() < 0.01);
}
