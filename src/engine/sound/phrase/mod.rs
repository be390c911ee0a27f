//! The built-in guitar phrase: a dry electric guitar as its pickup gives it, in volts. Invented and
//! synthesised here, so that the demo needs no recording; the same samples on every machine.
//!
//! Each string is an extended plucked-string loop (K. Karplus, A. Strong, Computer Music Journal
//! 7(2), 1983; D. Jaffe, J. O. Smith, same issue): a delay of one period with damping, plucked by
//! a force step at the pick's place, heard through a comb at the pickup's place. Two loops a string
//! stand for its two planes of vibration. The pickup's resonance closes it.

mod string;

use super::in_memory::Sound;
use std::f64::consts::PI;
use string::{Comb, Resonance, Scrape, StringLoop};

/// What it is called in reports.
pub const PHRASE: &str = "the built-in guitar phrase (invented)";

/// Rate at which it is played for verdicts, sheets and files, Hz.
pub const PHRASE_RATE: u32 = 48_000;

/// Length of the phrase, s.
pub const SECONDS: f64 = 9.6;

/// Where the pick and the pickup stand, as shares of the string from the bridge (common practice,
/// no source).
const PICK_PLACE: f64 = 0.13;
const PICKUP_PLACE: f64 = 0.11;

/// Delay that each stiffness section of a string gives to low notes, s. It spreads the overtones
/// upwards and puts the 20th of the low E about 0.7 % sharp, like a wound string (common practice, no
/// source).
const STIFFNESS_WOUND: f64 = 128e-6;
const STIFFNESS_PLAIN: f64 = 42e-6;
/// The lowest note on a plain string, semitones above the low E: the open G.
const LOWEST_PLAIN: i32 = 15;

/// Seed of the pick's scrape.
const SEED: u64 = 1983;

/// One plucked note.
struct Note {
    /// When, s.
    at: f64,
    /// How long until the hand damps it, s.
    rings: f64,
    /// Pitch in semitones above the open low E.
    pitch: i32,
    /// Height of the force step as the pickup gives it, V.
    volts: f64,
    /// 0 soft to 1 hard: a hard pluck is a faster step.
    hard: f64,
}

/// The low E of a guitar in standard tuning at A = 440 Hz, Hz.
const LOW_E_HZ: f64 = 82.406_889_228;

/// A part of the phrase, for tests and pictures: its name, start and end in seconds.
pub const PARTS: &[(&str, f64, f64)] = &[
    ("low notes", 0.0, 2.4),
    ("arpeggio", 2.4, 4.6),
    ("chord, quiet", 4.6, 6.8),
    ("chord, hard", 6.8, 9.6),
];

/// The open E major chord.
const CHORD: [i32; 6] = [0, 7, 12, 16, 19, 24];
/// The arpeggio: E minor with an added ninth.
const ARPEGGIO: [i32; 8] = [0, 7, 12, 15, 19, 26, 19, 15];
/// The low notes: E, G, A, B flat.
const LOW_NOTES: [i32; 4] = [0, 3, 5, 6];

fn notes() -> Vec<Note> {
    let mut notes = Vec::new();
    for (i, &pitch) in LOW_NOTES.iter().enumerate() {
        notes.push(Note {
            at: 0.05 + 0.58 * i as f64,
            rings: 0.54,
            pitch,
            volts: 0.16,
            hard: 0.6,
        });
    }
    for (i, &pitch) in ARPEGGIO.iter().enumerate() {
        let at = 2.4 + 0.22 * i as f64;
        notes.push(Note {
            at,
            rings: 4.5 - at,
            pitch,
            volts: 0.075,
            hard: 0.4,
        });
    }
    // A quick strum, the low string first.
    for (start, gap, volts, hard, end) in [
        (4.6, 0.016, 0.042, 0.2, 6.7),
        (6.8, 0.009, 0.145, 1.0, SECONDS - 0.25),
    ] {
        for (i, &pitch) in CHORD.iter().enumerate() {
            let at = start + gap * i as f64;
            notes.push(Note {
                at,
                rings: end - at,
                pitch,
                volts,
                hard,
            });
        }
    }
    notes
}

/// The phrase as a sound at [`PHRASE_RATE`], in volts at the amp's input.
pub fn built_in_phrase() -> Sound {
    Sound {
        name: PHRASE.into(),
        rate: PHRASE_RATE,
        channels: vec![phrase(PHRASE_RATE)],
    }
}

/// The phrase at a sample rate in hertz (8 kHz or more): one sample a frame, volts at the amp's
/// input.
pub fn phrase(rate: u32) -> Vec<f32> {
    assert!(rate >= 8_000, "a sample rate of {rate} Hz");
    let frames = (SECONDS * f64::from(rate)) as usize;
    let mut sum = vec![0.0; frames];
    for (i, note) in notes().iter().enumerate() {
        add_note(&mut sum, note, f64::from(rate), SEED + i as u64);
    }
    let mut pickup = Resonance::new(f64::from(rate));
    sum.iter().map(|&x| pickup.step(x) as f32).collect()
}

fn add_note(sum: &mut [f64], note: &Note, rate: f64, seed: u64) {
    let hz = LOW_E_HZ * 2.0_f64.powf(f64::from(note.pitch) / 12.0);
    let period = rate / hz;
    let start = (note.at * rate) as usize;
    let end = start + (note.rings * rate) as usize;
    // Thin strings die sooner; the second plane, moving up and down against the bridge, sooner
    // still and a little sharp, which gives the slow beat of a real string.
    let sustain = 8.0 / (hz / LOW_E_HZ).sqrt();
    let stiffness = if note.pitch < LOWEST_PLAIN {
        STIFFNESS_WOUND
    } else {
        STIFFNESS_PLAIN
    };
    let plane = |period, sustain| StringLoop::new(rate, period, sustain, stiffness);
    let mut planes = [
        (0.75, plane(period, sustain)),
        (0.25, plane(period * 0.9996, 0.4 * sustain)),
    ];
    let rise = rate * (0.9e-3 - 0.6e-3 * note.hard);
    let mut pick_comb = Comb::new(PICK_PLACE * period);
    let mut pickup_comb = Comb::new(PICKUP_PLACE * period);
    let mut scrape = Scrape::new(seed, rate);
    for (n, out) in sum.iter_mut().enumerate().skip(start) {
        let time = (n - start) as f64;
        let step = note.volts * 0.5 * (1.0 - (PI * (time / rise).min(1.0)).cos());
        let push = step + note.volts * note.hard * 0.15 * scrape.step(time / rate);
        // The step towards the bridge comes back upside down.
        let pluck = pick_comb.step(push);
        if n == end {
            for (_, plane) in &mut planes {
                plane.damp(rate, period);
            }
        }
        let moved: f64 = planes
            .iter_mut()
            .map(|(share, plane)| *share * plane.step(pluck))
            .sum();
        *out += pickup_comb.step(moved);
    }
}

#[cfg(test)]
mod tests {
    use super::string::PICKUP_HZ;
    use super::*;
    use crate::units::decibels_from_ratio;

    const RATE: u32 = 48_000;

    fn window(samples: &[f32], from: f64, to: f64) -> &[f32] {
        &samples[(from * f64::from(RATE)) as usize..(to * f64::from(RATE)) as usize]
    }

    fn peak(samples: &[f32]) -> f32 {
        samples.iter().fold(0.0, |peak, s| peak.max(s.abs()))
    }

    /// Amplitude at one frequency, by correlation under a Hann window.
    fn amplitude(samples: &[f32], hz: f64) -> f64 {
        let count = samples.len() as f64;
        let (mut re, mut im) = (0.0, 0.0);
        for (n, &s) in samples.iter().enumerate() {
            let hann = 1.0 - (2.0 * PI * n as f64 / count).cos();
            let angle = 2.0 * PI * hz * n as f64 / f64::from(RATE);
            re += f64::from(s) * hann * angle.cos();
            im += f64::from(s) * hann * angle.sin();
        }
        2.0 * re.hypot(im) / count
    }

    #[test]
    fn levels_are_those_of_a_medium_pickup() {
        let samples = phrase(RATE);
        let ranges = [(0.1, 0.3), (0.1, 0.3), (0.1, 0.3), (0.35, 0.55)];
        for (&(name, from, to), (low, high)) in PARTS.iter().zip(ranges) {
            let peak = peak(window(&samples, from, to));
            assert!((low..=high).contains(&peak), "{name}: peak {peak} V");
        }
        assert_eq!(samples[0], 0.0);
        assert!(peak(&samples[samples.len() - 100..]) < 1e-3);
        let mean: f32 = samples.iter().sum::<f32>() / samples.len() as f32;
        assert!(mean.abs() < 1e-4, "mean {mean} V");
    }

    #[test]
    fn no_jump_is_faster_than_the_pickup_passes() {
        // A full swing at the pickup's resonance moves by 2π·f/rate of the peak in a sample.
        let steepest = (2.0 * PI * PICKUP_HZ / f64::from(RATE)) as f32;
        let samples = phrase(RATE);
        for (i, piece) in samples.chunks(RATE as usize / 20).enumerate() {
            let jump = piece
                .windows(2)
                .fold(0.0_f32, |most, w| most.max((w[1] - w[0]).abs()));
            assert!(jump <= steepest * peak(piece) + 1e-6, "piece {i}: {jump} V");
        }
    }

    #[test]
    fn every_note_is_in_tune() {
        let samples = phrase(RATE);
        let hz = |pitch: f64| LOW_E_HZ * 2.0_f64.powf(pitch / 12.0);
        let in_tune = |piece: &[f32], pitch: i32| {
            let at = amplitude(piece, hz(f64::from(pitch)));
            for beside in [-0.7, 0.7] {
                let off = amplitude(piece, hz(f64::from(pitch) + beside));
                assert!(at > 3.0 * off, "pitch {pitch}: {at} V against {off} V");
            }
        };
        for (i, &pitch) in LOW_NOTES.iter().enumerate() {
            let at = 0.05 + 0.58 * i as f64;
            let piece = window(&samples, at + 0.02, at + 0.52);
            // The tuning itself, to three cents: the loop's fraction of a sample at work.
            let best = (-60..=60).max_by(|a, b| {
                let level =
                    |cents: i32| amplitude(piece, hz(f64::from(pitch) + f64::from(cents) / 100.0));
                level(*a).total_cmp(&level(*b))
            });
            assert!(best.unwrap().abs() <= 3, "pitch {pitch}: {best:?} cents");
        }
        for &pitch in &CHORD {
            in_tune(window(&samples, 7.0, 9.0), pitch);
        }
        for &pitch in &ARPEGGIO {
            in_tune(window(&samples, 3.6, 4.5), pitch);
        }
    }

    #[test]
    fn the_same_every_time_and_alike_at_every_rate() {
        assert_eq!(phrase(RATE), phrase(RATE));
        let loudness = |rate: u32| {
            let samples = phrase(rate);
            assert_eq!(samples.len(), (SECONDS * f64::from(rate)) as usize);
            (samples.iter().map(|s| s * s).sum::<f32>() / samples.len() as f32).sqrt()
        };
        let reference = loudness(RATE);
        for rate in [8_000, 44_100, 96_000, 192_000] {
            let db = decibels_from_ratio(f64::from(loudness(rate) / reference));
            println!("{rate} Hz: {db:+.2} dB");
            assert!(db.abs() < 1.0, "{rate} Hz: {db} dB");
        }
    }
}
