//! Whether a sound can be measured with, and the one channel of it that is.
//!
//! Takes a [`Sound`]; gives a [`Ready`], or every reason against it. What is counted is time, never
//! samples, so that the same sound at twice the rate is judged alike.

use crate::sound::Sound;
use crate::text::digits::{fixed, hertz, significant};

/// Lowest rate that is measured with, Hz. At 8 or 11 kHz nothing is left of the octave about 5 kHz,
/// where bright switches, presence controls and the loudspeaker's fall show.
const LEAST_RATE: u32 = 16_000;
/// A rate up to which the owner is told what is missing, Hz.
const LOW_RATE: u32 = 32_000;
/// Shortest sound, s: some forty windows of averaging (own choice).
pub const LEAST_SECONDS: f64 = 4.0;
/// A sound whose loudest tenth of a second has no more level than this is silence, dB of full
/// scale: the hiss of a plugged-in microphone amplifier stands below it (common practice, no source).
const SILENCE_DBFS: f64 = -60.0;
/// Length of the pieces that loudness is looked at in, s.
const PIECE_SECONDS: f64 = 0.1;
/// A side of a stereo sound so far below the other one is dead, dB.
const DEAD_SIDE_DB: f64 = 40.0;
/// Two sides whose difference lies so far below them are one sound, dB.
const SAME_SIDES_DB: f64 = 40.0;
/// A flat top is a peak that stays for so long, s, ...
const FLAT_SECONDS: f64 = 60e-6;
/// ... within this share of the highest sample. A full sine of the low E stays there for 35 µs
/// (2·acos(1 − 4e-5)/(2π · 82.4 Hz)), anything higher for less.
const FLAT_SHARE: f32 = 4e-5;
/// So many flat tops are no chance: one loudest peak of an amp may be as flat.
const LEAST_FLAT: usize = 3;
/// Peaks below this are not looked at, of full scale: 16-bit steps make flat tops of their own.
const LEAST_PEAK: f32 = 0.25;
/// Flat tops that take more than this share of the time make a sound unfit (own choice: 60 ms in a
/// minute; overdriven converters bring per cents).
const MOST_FLAT: f64 = 1e-3;

/// The one channel to measure with.
#[derive(Clone, Debug)]
pub struct Ready {
    /// Its name.
    pub name: String,
    /// Rate, Hz.
    pub rate: u32,
    /// Samples, full scale 1, less their mean.
    pub samples: Vec<f32>,
    /// What the owner should know.
    pub notes: Vec<String>,
}

/// Looks at a sound.
///
/// # Errors
/// Each reason why it is of no use, with its remedy.
pub fn ready(sound: &Sound) -> Result<Ready, Vec<String>> {
    let name = &sound.name;
    let rate = f64::from(sound.rate);
    let mut reasons = Vec::new();
    if sound.rate < LEAST_RATE {
        reasons.push(format!(
            "{name}: at a sample rate of {} Hz it holds nothing above {}, where much of an amp's \
             voice lies; record at 44100 Hz or more ({LEAST_RATE} Hz is the least).",
            sound.rate,
            hertz(rate / 2.0)
        ));
    }
    let frames = sound.frames();
    let seconds = frames as f64 / rate.max(1.0);
    if seconds < LEAST_SECONDS {
        reasons.push(format!(
            "{name}: {} s is too short to average out chance; record at least {LEAST_SECONDS} s of \
             playing, better 20 s.",
            significant(seconds, 2)
        ));
    }
    let bad = |channel: &Vec<f32>| channel.iter().position(|s| !s.is_finite());
    if let Some(at) = sound.channels.iter().filter_map(bad).min() {
        reasons.push(format!(
            "{name}: the sample at {} s is not a number; save it again from the recorder.",
            fixed(at as f64 / rate.max(1.0), 2)
        ));
        return Err(reasons);
    }
    if frames == 0 {
        return Err(reasons);
    }
    let (samples, note) = one_side(sound);
    let mut notes: Vec<String> = note.into_iter().collect();
    let loudest = loudest_dbfs(&samples, rate);
    if loudest < SILENCE_DBFS {
        let level = match loudest < -120.0 {
            true => "it is silent throughout".into(),
            false => format!("its loudest passage stands at {} dBFS", fixed(loudest, 0)),
        };
        reasons.push(format!(
            "{name}: {level}; check that the right file and track were exported, and record louder \
             than {SILENCE_DBFS} dBFS."
        ));
    }
    let flat = flat_seconds(&samples, rate);
    let share = flat / seconds;
    if share > MOST_FLAT {
        reasons.push(format!(
            "{name}: its peaks are cut off flat for {} % of the time (clipped); lower the recorder's \
             input level and record again.",
            significant(100.0 * share, 2)
        ));
    } else if flat > 0.0 {
        notes.push(format!(
            "{name}: a few peaks are cut off flat (clipped), {} ms in all; too little to matter.",
            significant(1e3 * flat, 2)
        ));
    }
    if (LEAST_RATE..LOW_RATE).contains(&sound.rate) {
        notes.push(format!(
            "{name}: at a sample rate of {} Hz nothing is known above {}.",
            sound.rate,
            hertz(super::response::USABLE_SHARE * rate / 2.0)
        ));
    }
    if !reasons.is_empty() {
        return Err(reasons);
    }
    let mean = samples.iter().map(|&s| f64::from(s)).sum::<f64>() / frames as f64;
    Ok(Ready {
        name: name.clone(),
        rate: sound.rate,
        samples: samples.iter().map(|s| s - mean as f32).collect(),
        notes,
    })
}

fn power(samples: impl Iterator<Item = f32>) -> f64 {
    samples.map(|s| f64::from(s) * f64::from(s)).sum()
}

/// The side that is measured with, and a sentence if that is not a matter of course. Sides are never
/// added: two microphones, summed, are neither.
pub fn one_side(sound: &Sound) -> (Vec<f32>, Option<String>) {
    let [left, right] = match sound.channels.as_slice() {
        [left, right, ..] => [left, right],
        [one] => return (one.clone(), None),
        [] => return (Vec::new(), None),
    };
    let [l, r] = [left, right].map(|side| power(side.iter().copied()));
    let apart = power(left.iter().zip(right).map(|(l, r)| l - r));
    if apart <= (l + r) * 10f64.powf(-SAME_SIDES_DB / 10.0) {
        return (left.clone(), None);
    }
    let (used, lost, side, other) = match l >= r {
        true => (left, r / l, "left", "right"),
        false => (right, l / r, "right", "left"),
    };
    let name = &sound.name;
    let sentence = if lost < 10f64.powf(-DEAD_SIDE_DB / 10.0) {
        format!("{name}: the {other} side is dead; the {side} side is used.")
    } else {
        format!(
            "{name}: its two sides differ; the {side} side, which is the louder one, is used alone, \
             since two microphones mixed show neither."
        )
    };
    (used.clone(), Some(sentence))
}

/// Level of the loudest tenth of a second, dB of full scale.
fn loudest_dbfs(samples: &[f32], rate: f64) -> f64 {
    let piece = ((PIECE_SECONDS * rate) as usize).max(1);
    let loudest = samples
        .chunks(piece)
        .map(|piece| power(piece.iter().copied()) / piece.len() as f64)
        .fold(0.0, f64::max);
    10.0 * loudest.max(1e-30).log10()
}

/// How long the sound stands still at its highest peaks, s; 0 when it does so only once or twice.
fn flat_seconds(samples: &[f32], rate: f64) -> f64 {
    let mut flat = Vec::new();
    // Of either sign by itself: a stage may clip on one side only.
    for sign in [1f32, -1.0] {
        let peak = samples.iter().fold(0f32, |peak, s| peak.max(sign * s));
        if peak < LEAST_PEAK {
            continue;
        }
        let level = peak * (1.0 - FLAT_SHARE);
        let runs = samples.chunk_by(|a, b| (sign * a >= level) == (sign * b >= level));
        let at_the_top = runs.filter(|run| sign * run[0] >= level);
        // A run of n samples has stood still for n − 1 intervals at least.
        let seconds = at_the_top.map(|run| (run.len() - 1) as f64 / rate);
        flat.extend(seconds.filter(|&seconds| seconds >= FLAT_SECONDS));
    }
    match flat.len() >= LEAST_FLAT {
        true => flat.iter().sum(),
        false => 0.0,
    }
}
