//! An impulse response of the owner's own: what is cut, its level, its faults told; at another rate
//! it has the same response.

use engine::sound::impulse::{Impulse, ImpulseFault, MOST_SECONDS, Prepared};
use num_complex::Complex64;
use rand::{Rng, SeedableRng, rngs::StdRng};
use std::f64::consts::TAU;

fn made(channels: &[Vec<f32>], rate: u32) -> Prepared {
    Impulse::from_recording("a.wav", channels, rate).unwrap()
}

/// Noise that dies away by e in so many seconds, after so many frames of silence: what a cabinet
/// sounds like, and with energy up to half of the rate harder to resample than one.
fn decay(rate: u32, seconds: f64, silence: usize, length: usize) -> Vec<f32> {
    let mut random = StdRng::seed_from_u64(81);
    let fs = f64::from(rate);
    let sample = |n: usize| (-(n as f64) / (seconds * fs)).exp();
    let mut noise = || random.random_range(-1.0..1.0);
    // A click first, as of a cone that is struck.
    let sound = (0..length).map(|n| if n == 0 { 1.0 } else { sample(n) * noise() });
    std::iter::repeat_n(0.0, silence)
        .chain(sound.map(|s| s as f32))
        .collect()
}

#[test]
fn silence_before_the_sound_is_cut_to_a_quarter_of_a_millisecond() {
    for rate in [8_000, 44_100, 48_000, 192_000] {
        for silence in [0, 3, 20_000] {
            let mut sound = vec![0.0f32; silence];
            sound.extend([1.0, 0.5, -0.25]);
            let impulse = made(&[sound], rate).impulse;
            let peak = impulse.taps().iter().position(|&t| t.abs() > 0.3).unwrap();
            assert_eq!(peak, silence.min(rate as usize / 4000));
        }
    }
}

/// A click of any height lets all frequencies through alike, so that its gain is 1 by the rule.
#[test]
fn the_level_is_that_of_pink_noise() {
    let click = made(&[vec![0.02f32]], 48_000).impulse;
    assert!((click.taps()[0] - 1.0).abs() < 1e-6, "{:?}", click.taps());
    // The rule worked out otherwise: the mean of the power over frequencies spaced by a ratio. The
    // response is smooth over 1/(6 ms), and 40 points are an octave: the bar is what the steps of
    // both sums leave where the lowest octave holds only some of its ups and downs.
    let impulse = made(&[decay(48_000, 0.001, 100, 4800)], 48_000).impulse;
    let ratio = (10_000.0f64 / 80.0).ln();
    let points: Vec<f64> = (0..=280)
        .map(|i| 80.0 * (ratio * f64::from(i) / 280.0).exp())
        .collect();
    let mean = points
        .iter()
        .map(|&hz| impulse.at(hz).norm_sqr())
        .sum::<f64>()
        / 281.0;
    let db = 10.0 * mean.log10();
    assert!(db.abs() < 0.1, "{db:.3} dB");
}

#[test]
fn the_end_is_cut_where_nothing_is_heard_and_after_two_seconds() {
    // e^(-t/0.02 s) is 80 dB down after 0.184 s.
    let short = made(&[decay(48_000, 0.02, 0, 96_000)], 48_000);
    assert!(
        (0.1..0.2).contains(&short.impulse.seconds()),
        "{}",
        short.impulse.seconds()
    );
    assert!(short.warnings.is_empty(), "{:?}", short.warnings);
    let long = made(&[decay(48_000, 0.6, 0, 240_000)], 48_000);
    assert!(long.impulse.seconds() <= MOST_SECONDS && long.impulse.seconds() > 1.9);
    assert!(
        long.warnings.iter().any(|w| w.contains("after 2 s")),
        "{:?}",
        long.warnings
    );
    assert!(long.impulse.taps().last().unwrap().abs() < 1e-4);
}

#[test]
fn what_is_no_impulse_response_is_told() {
    let fault =
        |channels: &[Vec<f32>], rate| Impulse::from_recording("a.wav", channels, rate).unwrap_err();
    assert_eq!(fault(&[vec![0.0; 100]], 48_000), ImpulseFault::Silent);
    assert_eq!(fault(&[], 48_000), ImpulseFault::Silent);
    assert_eq!(fault(&[vec![]], 48_000), ImpulseFault::Silent);
    assert_eq!(
        fault(&[vec![0.0, f32::NAN]], 48_000),
        ImpulseFault::NotANumber(1)
    );
    assert_eq!(
        fault(&[vec![1.0; 8000 * 21]], 8_000),
        ImpulseFault::TooLong(21.0)
    );
    assert_eq!(fault(&[vec![1.0]], 400_000), ImpulseFault::Rate(400_000));
    // A constant voltage: all that is there lies below what is heard.
    let ramp: Vec<f32> = (0..48_000)
        .map(|n| (TAU * n as f32 as f64 / 48_000.0).sin() as f32)
        .collect();
    let slow = Impulse::from_recording("a.wav", &[ramp], 48_000);
    assert!(slow.is_err() || !slow.unwrap().warnings.is_empty());
    let fault = fault(&[vec![1.0; 8000 * 21]], 8_000).to_string();
    assert!(fault.contains("21 s") && fault.contains("20 s"), "{fault}");
}

#[test]
fn music_and_stereo_are_warned_of() {
    let mut random = StdRng::seed_from_u64(82);
    let music: Vec<f32> = (0..96_000)
        .map(|_| random.random_range(-0.5..0.5))
        .collect();
    let warned = made(&[music], 48_000).warnings;
    assert!(
        warned
            .iter()
            .any(|w| w.contains("not like an impulse response")),
        "{warned:?}"
    );
    let room = made(&[decay(48_000, 0.29, 0, 96_000)], 48_000).warnings;
    assert!(!room.iter().any(|w| w.contains("not like")), "{room:?}");
    let stereo = made(&[vec![1.0], vec![0.5]], 48_000);
    assert!(
        stereo.warnings[0].contains("left channel"),
        "{:?}",
        stereo.warnings
    );
    assert_eq!(stereo.impulse.taps().len(), 1);
}

/// Gain of taps at a rate.
fn gain(taps: &[f64], hz: f64, rate: f64) -> Complex64 {
    let step = Complex64::from_polar(1.0, -TAU * hz / rate);
    taps.iter()
        .rev()
        .fold(Complex64::ZERO, |sum, &tap| sum * step + tap)
}

/// The bar is our own: a tenth of a decibel, and a degree beside a delay of at most 1 ms, up to
/// four fifths of the lower half rate, where the resampler's filter begins.
#[test]
fn at_another_rate_it_has_the_same_response() {
    for from in [22_050, 44_100, 48_000, 96_000] {
        for to in [44_100.0, 48_000.0, 88_200.0, 96_000.0, 192_000.0] {
            for silence in [0, 500] {
                let impulse =
                    made(&[decay(from, 0.002, silence, from as usize / 20)], from).impulse;
                let taps = impulse.at_rate(to).unwrap();
                let highest = 0.4 * f64::from(from).min(to);
                // It begins 1 ms after its first tap, which stood there before as far as the
                // recording had it.
                let begins = silence.min((0.25e-3 * f64::from(from)) as usize);
                let lead = (1e-3 * f64::from(from)) as usize;
                let delay = match to == f64::from(from) {
                    true => 0.0,
                    false => (lead - begins) as f64 / f64::from(from),
                };
                let ratio = |hz: f64, delay: f64| {
                    let expected = impulse.at(hz) * Complex64::from_polar(1.0, -TAU * hz * delay);
                    gain(&taps, hz, to) / expected
                };
                // The resampler keeps the time to within a sample of the lower rate, no closer.
                let far = -ratio(0.25 * highest, delay).arg() / (TAU * 0.25 * highest);
                assert!(
                    far.abs() * f64::from(from).min(to) < 1.0,
                    "{from} to {to}: {far}"
                );
                let (mut most_db, mut most_degrees) = (0.0f64, 0.0f64);
                for i in 0..200 {
                    let hz = 20.0 * (highest / 20.0).powf(f64::from(i) / 199.0);
                    let ratio = ratio(hz, delay + far);
                    most_db = most_db.max(20.0 * ratio.norm().log10().abs());
                    most_degrees = most_degrees.max(ratio.arg().to_degrees().abs());
                }
                println!("{from} to {to}, {silence}: {most_db:.4} dB, {most_degrees:.3} degrees");
                assert!(
                    most_db < 0.1 && most_degrees < 1.0,
                    "{from} to {to}: {most_db} dB"
                );
            }
        }
    }
}

#[test]
fn what_a_project_kept_is_taken_only_if_it_can_be_one() {
    let impulse = made(&[decay(48_000, 0.01, 0, 4800)], 48_000).impulse;
    let again = Impulse::kept("a.wav", 48_000, impulse.taps().to_vec());
    assert_eq!(again.as_ref(), Some(&impulse));
    for (rate, taps) in [
        (48_000, vec![]),
        (48_000, vec![0.0; 10]),
        (48_000, vec![1.0, f32::NAN]),
        (48_000, vec![f32::INFINITY]),
        (48_000, vec![1.0; 96_001]),
        (4_000, vec![1.0]),
        (0, vec![1.0]),
    ] {
        assert_eq!(Impulse::kept("a.wav", rate, taps), None);
    }
}
