//! A recording of the real amp beside the amp in the model: a track that holds both the dry guitar
//! and what was recorded of it, sample by sample, and the recording's way through the renderer, in
//! time with what the model makes of the dry guitar and as loud as it.

use super::fade::{Correlation, Fade};
use super::lanes::PIECE;
use super::loudness::Match;
use crate::sound::Sound;
use crate::sound::loudness::integrated_lufs;
use crate::sound::phrase::phrase;
use crate::units::peak_volts_from_dbu;

/// Loudness that a recording is brought to, as if its samples were volts, LUFS: about that of an
/// amp's output at full swing, so that the level match of the renderer has not far to go.
const RECORDED_LUFS: f64 = 15.0;

/// What a player plays: the input of the amp and, if there is one, the recording that belongs to it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Track {
    /// Left and right of what goes into the amp, full scale 1.
    pub dry: Vec<[f32; 2]>,
    /// Left and right of the recording: as long, or empty without one.
    pub heard: Vec<[f32; 2]>,
}

impl Track {
    /// The built-in phrase at a rate in hertz, for an input whose full scale is 0 dBu.
    pub fn phrase(rate: u32) -> Self {
        let scale = (1.0 / peak_volts_from_dbu(0.0)) as f32;
        let dry = phrase(rate).into_iter().map(|v| [v * scale; 2]);
        Track {
            dry: dry.collect(),
            heard: Vec::new(),
        }
    }

    /// A dry guitar at a rate in hertz.
    ///
    /// # Errors
    /// When it holds no sound or its rate cannot be converted.
    pub fn of(dry: &Sound, rate: u32) -> Result<Self, String> {
        Ok(Track {
            dry: pairs(dry, rate)?,
            heard: Vec::new(),
        })
    }

    /// A recording that stands in step with its dry track (see
    /// [`crate::recording::in_step`]); without a dry track the built-in phrase goes into the
    /// amp, over and over, while the recording lasts.
    ///
    /// # Errors
    /// When one holds no sound or its rate cannot be converted.
    pub fn with_recording(
        dry: Option<&Sound>,
        recording: &Sound,
        rate: u32,
    ) -> Result<Self, String> {
        let mut heard = pairs(recording, rate)?;
        let mut dry = match dry {
            Some(dry) => pairs(dry, rate)?,
            None => {
                let phrase = Self::phrase(rate).dry;
                phrase.into_iter().cycle().take(heard.len()).collect()
            }
        };
        let frames = dry.len().min(heard.len());
        dry.truncate(frames);
        heard.truncate(frames);
        let sides = [0, 1].map(|side| heard.iter().map(|pair| pair[side]).collect::<Vec<f32>>());
        if let Some(lufs) = integrated_lufs(&[&sides[0], &sides[1]], rate) {
            let gain = 10f64.powf((RECORDED_LUFS - lufs) / 20.0) as f32;
            heard
                .iter_mut()
                .flatten()
                .for_each(|sample| *sample *= gain);
        }
        Ok(Track { dry, heard })
    }
}

/// Left and right of a sound at a rate; both the same of a mono one.
fn pairs(sound: &Sound, rate: u32) -> Result<Vec<[f32; 2]>, String> {
    let sound = sound.at_rate(rate)?;
    let (channels, frames) = (&sound.channels, sound.frames());
    if frames == 0 {
        return Err(format!("{} holds no sound.", sound.name));
    }
    let last = channels.len() - 1;
    let pair = |i: usize| [channels[0][i], channels[last][i]];
    Ok((0..frames).map(pair).collect())
}

/// The recording's way through the renderer.
#[derive(Debug)]
pub(super) struct Beside {
    /// Held back by the amp's own delay.
    line: Vec<[f64; 2]>,
    at: usize,
    now: Box<[[f64; 2]; PIECE]>,
    matching: Match,
    fade: Fade,
    correlation: Correlation,
    /// Whether there is a recording.
    there: bool,
}

impl Beside {
    /// At first, for so many outputs; `latency` of the amp and length of a fade in samples.
    pub fn new(rate: f64, outputs: usize, latency: usize, fade: f64) -> Self {
        Beside {
            line: vec![[0.0; 2]; latency.max(1)],
            at: 0,
            now: Box::new([[0.0; 2]; PIECE]),
            matching: Match::new(rate, outputs),
            fade: Fade::new(0.0, fade),
            correlation: Correlation::new(rate),
            there: false,
        }
    }

    /// Whether there is a recording from here on, and whether it shall be heard.
    pub fn ask(&mut self, there: bool, heard: bool) {
        self.there = there;
        let target = f64::from(u8::from(there && heard));
        self.fade.aim(target, self.correlation.value());
    }

    /// As at first, heard at once if so asked.
    pub fn settle(&mut self, rate: f64, outputs: usize) {
        self.line.fill([0.0; 2]);
        self.at = 0;
        self.matching = Match::new(rate, outputs);
        self.correlation = Correlation::new(rate);
        self.fade.arrive();
    }

    /// Takes `count` samples, or as many of silence.
    pub fn feed(&mut self, samples: Option<&[[f32; 2]]>, count: usize) {
        for i in 0..count {
            let sample = samples.map_or([0.0; 2], |samples| samples[i].map(f64::from));
            let sound = sample.map(|value| if value.is_finite() { value } else { 0.0 });
            self.now[i] = std::mem::replace(&mut self.line[self.at], sound);
            self.at = (self.at + 1) % self.line.len();
        }
    }

    /// One sample: `found` is the amp as found in volts, `amp` what is heard of the model, `level`
    /// the output for a volt. The recording is brought to the loudness of the amp as found, always:
    /// its own level is that of whoever recorded it.
    #[inline]
    pub fn mix(&mut self, i: usize, found: [f64; 2], amp: [f64; 2], level: f64) -> [f64; 2] {
        if !self.there && self.fade.is_first() {
            return amp;
        }
        let recorded = self.now[i];
        if self.fade.is_first() {
            // Nobody hears it: it need not creep.
            self.matching.arrive();
        }
        let gain = 10f64.powf(self.matching.sample(found, recorded) / 20.0) * level;
        self.correlation
            .sample(amp[0] + amp[1], recorded[0] + recorded[1]);
        let [model, beside] = self.fade.gains();
        std::array::from_fn(|side| amp[side] * model + recorded[side] * gain * beside)
    }
}
