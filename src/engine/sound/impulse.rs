//! An impulse response of the owner's own: from the samples of a recording to what a convolver
//! takes.
//!
//! One channel is kept, silence before it and what cannot be heard behind it are cut off, and its
//! level is set by one rule (see [`Impulse::from_recording`]), so that a change of what the amp is
//! heard through is a change of tone and not of loudness.

use crate::sound::resample::resampled;
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};
use std::fmt;
use std::ops::RangeInclusive;

/// Longest impulse response that is kept, s: rooms ring longer, cabinets far less.
pub const MOST_SECONDS: f64 = 2.0;
/// Longest recording that is taken for one, s (own choice): the rest of a song is no echo.
const LONGEST_SECONDS: f64 = 20.0;
/// Sample rates, Hz: what WAV files are read at.
pub const RATES: RangeInclusive<u32> = 8_000..=192_000;
/// The sound begins where it first comes within this of its peak (40 dB below; own choice: the
/// noise before a recorded click lies lower).
const BEGINS: f64 = 0.01;
/// What is kept before that, s (own choice).
const KEPT_SECONDS: f64 = 0.000_25;
/// Where the sound begins after it was brought to another rate, s. It is heard as a delay, so it is
/// no more than sound takes to go a foot.
const LEAD_SECONDS: f64 = 0.001;
/// The sound has ended where it stays below this for good (80 dB below the peak).
const ENDS: f64 = 1e-4;
/// Fade at the end, s, at most a tenth of the whole.
const FADE_SECONDS: f64 = 0.02;
/// Range over which the level is set, Hz: what a guitar's loudspeaker gives.
const LEVEL_HZ: [f64; 2] = [80.0, 10_000.0];
/// An impulse response has half of its energy within this after its beginning, s, and
const EARLY_SECONDS: f64 = 0.25;
/// that share of it at least: a room that rings for 2 s has four fifths, steady music an eighth.
const EARLY_SHARE: f64 = 0.5;
/// Smallest gain that is told, −120 dB: beyond half of the recording's rate there is nothing.
const LEAST_GAIN: f64 = 1e-6;

/// An impulse response at the rate of its recording.
#[derive(Clone, Debug, PartialEq)]
pub struct Impulse {
    name: String,
    rate: u32,
    taps: Vec<f32>,
}

/// Why a recording cannot be an impulse response.
#[derive(Clone, Debug, PartialEq)]
pub enum ImpulseFault {
    /// There is nothing in it.
    Silent,
    /// There is next to nothing in the range of a guitar's loudspeaker.
    NothingHeard,
    /// A sample that is no number, at this frame.
    NotANumber(usize),
    /// So many seconds.
    TooLong(f64),
    /// A rate outside [`RATES`], Hz.
    Rate(u32),
    /// It cannot be brought to the rate of the session; the reason.
    NotResampled(String),
}

impl fmt::Display for ImpulseFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            ImpulseFault::Silent => write!(
                f,
                "this impulse response is silent; choose one with a sound in it"
            ),
            ImpulseFault::NothingHeard => write!(
                f,
                "this impulse response lets nothing through between {:.0} Hz and {:.0} Hz; choose \
                 one of a loudspeaker or a room",
                LEVEL_HZ[0], LEVEL_HZ[1]
            ),
            ImpulseFault::NotANumber(frame) => write!(
                f,
                "the sample at frame {frame} is not a number; save the impulse response anew"
            ),
            ImpulseFault::TooLong(seconds) => write!(
                f,
                "this recording lasts {seconds:.0} s; an impulse response may last \
                 {LONGEST_SECONDS:.0} s, of which the first {MOST_SECONDS:.0} s are used: cut it"
            ),
            ImpulseFault::Rate(rate) => write!(
                f,
                "a sample rate of {rate} Hz is outside {} to {} Hz; save the impulse response at \
                 48000 Hz",
                RATES.start(),
                RATES.end()
            ),
            ImpulseFault::NotResampled(why) => write!(
                f,
                "this impulse response cannot be brought to the rate of the session: {why}"
            ),
        }
    }
}

impl std::error::Error for ImpulseFault {}

/// What was made of a recording.
#[derive(Clone, Debug, PartialEq)]
pub struct Prepared {
    /// The impulse response.
    pub impulse: Impulse,
    /// What the owner should know, a sentence each.
    pub warnings: Vec<String>,
}

impl Impulse {
    /// Makes one of a recording: the left channel of two. It begins at most 1/4 ms before the sound
    /// does and ends where nothing more is heard, 80 dB below the peak, or after
    /// [`MOST_SECONDS`], with a fade.
    ///
    /// Its level is such that pink noise from 80 Hz to 10 kHz (equal power in every octave) comes
    /// out as strong as it went in: one rule, which neither a narrow peak nor the range of the
    /// recording upsets.
    ///
    /// # Errors
    /// Everything in [`ImpulseFault`] but the last.
    pub fn from_recording(
        name: &str,
        channels: &[Vec<f32>],
        rate: u32,
    ) -> Result<Prepared, ImpulseFault> {
        let sound = channels.first().ok_or(ImpulseFault::Silent)?;
        let fs = f64::from(rate);
        if !RATES.contains(&rate) {
            return Err(ImpulseFault::Rate(rate));
        }
        if let Some(frame) = sound.iter().position(|s| !s.is_finite()) {
            return Err(ImpulseFault::NotANumber(frame));
        }
        let seconds = sound.len() as f64 / fs;
        if seconds > LONGEST_SECONDS {
            return Err(ImpulseFault::TooLong(seconds));
        }
        let mut warnings = Vec::new();
        if channels.len() > 1 {
            warnings.push("It is in stereo: its left channel is used for both sides.".into());
        }
        let begins = begins(sound);
        let sound: Vec<f64> = sound.iter().map(|&s| f64::from(s)).collect();
        let peak = sound.iter().fold(0.0f64, |peak, s| peak.max(s.abs()));
        if peak == 0.0 {
            return Err(ImpulseFault::Silent);
        }
        warnings.extend(not_early(&sound[begins..], fs));
        let start = begins.saturating_sub((KEPT_SECONDS * fs) as usize);
        let last = sound.iter().rposition(|s| s.abs() > ENDS * peak);
        let heard = last.map_or(sound.len(), |last| last + 1);
        let most = start + (MOST_SECONDS * fs) as usize;
        let end = heard.min(most);
        if heard > most {
            warnings.push(format!(
                "It still rings after {MOST_SECONDS:.0} s; what comes later is left out."
            ));
        }
        let mut taps = sound[start..end].to_vec();
        // What was cut while it could still be heard begins and ends softly.
        let lead = begins - start;
        for (i, tap) in taps[..lead].iter_mut().enumerate() {
            *tap *= rise(i, lead);
        }
        let fade = ((FADE_SECONDS * fs) as usize).min(taps.len() / 10);
        for (i, tap) in taps.iter_mut().rev().take(fade).enumerate() {
            *tap *= rise(i, fade);
        }
        let gain = 1.0 / pink_gain(&taps, fs);
        if gain * peak > f64::from(LARGEST_TAP) {
            return Err(ImpulseFault::NothingHeard);
        }
        Ok(Prepared {
            impulse: Impulse {
                name: printable(name),
                rate,
                taps: taps.iter().map(|tap| (tap * gain) as f32).collect(),
            },
            warnings,
        })
    }

    /// One that was made before, as it is; none if it could not have been.
    pub fn kept(name: &str, rate: u32, taps: Vec<f32>) -> Option<Impulse> {
        let most = MOST_SECONDS * f64::from(rate);
        let sound = taps.iter().any(|&tap| tap != 0.0);
        // The loudest single tap of a response with the level of `from_recording` lies below.
        let sane = taps.iter().all(|tap| tap.abs() <= LARGEST_TAP);
        let possible = RATES.contains(&rate) && taps.len() as f64 <= most && sound && sane;
        possible.then(|| Impulse {
            name: printable(name),
            rate,
            taps,
        })
    }

    /// Its name: that of its file.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Sample rate, Hz.
    pub fn rate(&self) -> u32 {
        self.rate
    }

    /// Its samples.
    pub fn taps(&self) -> &[f32] {
        &self.taps
    }

    /// Length, s.
    pub fn seconds(&self) -> f64 {
        self.taps.len() as f64 / f64::from(self.rate)
    }

    /// The taps for a session at a rate in hertz, so that the response stays; rates of a fraction
    /// of a hertz are rounded.
    ///
    /// # Errors
    /// [`ImpulseFault::NotResampled`].
    pub fn at_rate(&self, rate: f64) -> Result<Vec<f64>, ImpulseFault> {
        let to = rate.round() as u32;
        if to == self.rate {
            return Ok(self.taps.iter().map(|&tap| f64::from(tap)).collect());
        }
        // A click that is band-limited anew rings a little before it: room for that within the
        // time that is kept before the sound, faded in.
        let scale = f64::from(to) / f64::from(self.rate);
        let lead = (LEAD_SECONDS * f64::from(self.rate)) as usize;
        let silence = lead.saturating_sub(begins(&self.taps));
        let padded = std::iter::repeat_n(0.0, silence).chain(self.taps.iter().copied());
        let padded: Vec<f32> = padded.collect();
        let mut taps = resampled(&[padded], self.rate, to).map_err(ImpulseFault::NotResampled)?;
        let fade = (silence as f64 * scale) as usize;
        let taps = taps.remove(0).into_iter().enumerate().map(|(i, tap)| {
            let rise = if i < fade { rise(i, fade) } else { 1.0 };
            // A tap stands for the time between two: with more of them each counts for less.
            f64::from(tap) * rise / scale
        });
        Ok(taps.take((MOST_SECONDS * rate) as usize).collect())
    }

    /// Complex gain at a frequency in hertz. Beyond half of the recording's rate, where nothing is
    /// known, it is what counts as nothing, −120 dB.
    pub fn at(&self, hz: f64) -> Complex64 {
        let rate = f64::from(self.rate);
        if hz >= 0.5 * rate {
            return Complex64::new(LEAST_GAIN, 0.0);
        }
        // Horner's scheme from the last tap on.
        let step = Complex64::from_polar(1.0, -TAU * hz / rate);
        let taps = self.taps.iter().rev();
        let sum = taps.fold(Complex64::ZERO, |sum, &tap| sum * step + f64::from(tap));
        match sum.norm() < LEAST_GAIN {
            true => Complex64::new(LEAST_GAIN, 0.0),
            false => sum,
        }
    }
}

/// Where the sound begins; 0 in silence.
fn begins(sound: &[f32]) -> usize {
    let peak = sound.iter().fold(0.0f32, |peak, s| peak.max(s.abs()));
    let first = sound
        .iter()
        .position(|s| f64::from(s.abs()) > BEGINS * f64::from(peak));
    first.unwrap_or(0)
}

/// A rise from 0 towards 1 within `count` samples, level at both ends.
fn rise(index: usize, count: usize) -> f64 {
    0.5 - 0.5 * (PI * index as f64 / count as f64).cos()
}

/// Longest name that is kept, characters.
const MOST_NAME: usize = 120;
/// Largest tap that is taken from a project: far above what the level rule can make.
const LARGEST_TAP: f32 = 1e4;

/// A sentence where the energy comes too late for an impulse response.
fn not_early(sound: &[f64], rate: f64) -> Option<String> {
    let energy = |sound: &[f64]| sound.iter().map(|s| s * s).sum::<f64>();
    let early = ((EARLY_SECONDS * rate) as usize).min(sound.len());
    let share = energy(&sound[..early]) / energy(sound);
    (share < EARLY_SHARE).then(|| {
        format!(
            "Only {:.0} % of its energy comes in the first quarter of a second: this sounds like a \
             recording of something, not like an impulse response.",
            100.0 * share
        )
    })
}

/// A name without what cannot be shown, and not too long.
fn printable(name: &str) -> String {
    let shown = name.chars().filter(|c| !c.is_control());
    shown.take(MOST_NAME).collect()
}

/// Gain for pink noise within [`LEVEL_HZ`]: the root of the mean of `|H|²` over the logarithm of
/// frequency.
fn pink_gain(taps: &[f64], rate: f64) -> f64 {
    // At least 2 s, so that a bin is half a hertz or less.
    let length = (taps.len().max((2.0 * rate) as usize)).next_power_of_two();
    let transform = fourier::forward(length);
    let mut time = transform.make_input_vec();
    time[..taps.len()].copy_from_slice(taps);
    let mut bins = transform.make_output_vec();
    let lengths = transform.process(&mut time, &mut bins);
    debug_assert!(lengths.is_ok(), "buffers of the plan's lengths");
    let hz = |bin: f64| bin * rate / length as f64;
    let (mut power, mut width) = (0.0, 0.0);
    for (index, bin) in bins.iter().enumerate().skip(1) {
        let middle = hz(index as f64);
        if (LEVEL_HZ[0]..=LEVEL_HZ[1]).contains(&middle) {
            let octaves = ((index as f64 + 0.5) / (index as f64 - 0.5)).log2();
            power += bin.norm_sqr() * octaves;
            width += octaves;
        }
    }
    (power / width).sqrt()
}
