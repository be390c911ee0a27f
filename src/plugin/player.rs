//! The built-in player: loops a dry guitar into the amp's input, with or without what is played live,
//! and the recording of the real amp that belongs to it beside it. In a host it does nothing until a
//! recording is given to it.

use super::handover::{AudioEnd, Handover, handover};
use crate::editor::edit;
use crate::live::recording::Track;
use crate::sound::Sound;
use crate::sound::file;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicU32, AtomicU64, Ordering::Relaxed};
use std::sync::{Arc, Mutex};

/// What window and audio thread share of the player.
pub struct Controls {
    playing: AtomicBool,
    live: AtomicBool,
    tracks: Handover<Track>,
    rate: AtomicU32,
    source: Mutex<String>,
    active: AtomicBool,
    /// Whether the recording shall be heard instead of the model.
    hears: AtomicBool,
    /// Whether the track that was sent last has a recording.
    has_recording: AtomicBool,
    /// Frames of the track that was sent last.
    frames: AtomicU64,
    /// First frame and end of what is looped, 32 bits each; all of it when both are 0.
    region: AtomicU64,
}

/// Its name for the phrase that comes with the program.
pub const PHRASE: &str = "built-in phrase";

/// The audio thread's end.
pub struct Player {
    controls: Arc<Controls>,
    tracks: AudioEnd<Track>,
    /// Played as a loop; the first one is empty.
    sound: Box<Track>,
    at: usize,
    /// Gains of loop and live input, which fade.
    gains: [f32; 2],
    /// The recording, in step with what was put into the block last.
    beside: Vec<[f32; 2]>,
    filled: usize,
}

/// Shortest region that is looped, frames.
const LEAST_REGION: u64 = 4800;

/// Change of a gain a sample: 10 ms at 48 kHz.
const FADE: f32 = 1.0 / 480.0;

impl Player {
    /// A player that plays nothing yet.
    pub fn new() -> Self {
        let (tracks, end) = handover();
        Player {
            tracks: end,
            controls: Arc::new(Controls {
                playing: AtomicBool::new(false),
                live: AtomicBool::new(true),
                tracks,
                rate: AtomicU32::new(0),
                source: Mutex::new(PHRASE.into()),
                active: AtomicBool::new(false),
                hears: AtomicBool::new(false),
                has_recording: AtomicBool::new(false),
                frames: AtomicU64::new(0),
                region: AtomicU64::new(0),
            }),
            sound: Box::default(),
            at: 0,
            gains: [0.0, 1.0],
            beside: Vec::new(),
            filled: 0,
        }
    }

    /// What the window may do.
    pub fn controls(&self) -> Arc<Controls> {
        self.controls.clone()
    }

    /// Readies it for a rate in hertz and blocks of at most so many frames.
    pub fn prepare(&mut self, rate: f32, most_frames: usize) {
        if self.controls.rate.swap(rate as u32, Relaxed) != rate as u32 {
            // A track was made for another rate.
            self.controls.tracks.cancel();
            *self.sound = Track::default();
            self.controls.has_recording.store(false, Relaxed);
        }
        self.beside = vec![[0.0; 2]; most_frames];
    }

    /// Begins in the standalone, with the phrase or the recording asked for.
    pub fn activate(&mut self) {
        self.controls.active.store(true, Relaxed);
        let asked = super::launch::recording();
        if edit::Player::open(&*self.controls, asked.as_deref()).is_err() {
            let _ = edit::Player::open(&*self.controls, None);
        }
    }

    /// Mixes the loop into the input of a block.
    ///
    /// # Real-time
    /// Lock-free, allocates and frees nothing.
    pub fn process(&mut self, block: &mut [&mut [f32]], inputs: usize) {
        self.filled = 0;
        let silent = self.gains[0] <= 0.0 || self.sound.dry.is_empty();
        if silent
            && let Some(exchange) = self.tracks.exchange()
            && let Some(sound) = exchange.take()
        {
            exchange.give_back(std::mem::replace(&mut self.sound, sound));
            self.at = 0;
        }
        let frames = self.sound.dry.len();
        if frames == 0 && !self.controls.active.load(Relaxed) {
            return;
        }
        // Another track waits until this one has faded out.
        let playing = self.controls.playing.load(Relaxed) && frames > 0 && !self.tracks.waits();
        let targets = [
            f32::from(u8::from(playing)),
            f32::from(u8::from(self.controls.live.load(Relaxed))),
        ];
        let (start, end) = self.controls.frames_of_region(frames);
        let whole = end - start == frames;
        let count = block.first().map_or(0, |channel| channel.len());
        let recorded = match self.sound.heard.is_empty() {
            true => 0,
            false => count.min(self.beside.len()),
        };
        for i in 0..count {
            for (gain, target) in self.gains.iter_mut().zip(targets) {
                *gain += (target - *gain).clamp(-FADE, FADE);
            }
            let (mut sample, mut heard) = ([0.0; 2], [0.0; 2]);
            if self.gains[0] > 0.0 {
                if !(start..end).contains(&self.at) {
                    self.at = start;
                }
                // A region cut out of the playing would click at its ends.
                let edge = (self.at - start).min(end - 1 - self.at) as f32;
                let gain = match whole {
                    true => self.gains[0],
                    false => self.gains[0] * (edge * FADE).min(1.0),
                };
                sample = self.sound.dry[self.at].map(|sample| sample * gain);
                if recorded > 0 {
                    heard = self.sound.heard[self.at].map(|sample| sample * gain);
                }
                self.at += 1;
            }
            if let Some(adjustable) = self.beside[..recorded].get_mut(i) {
                *adjustable = heard;
            }
            for (channel, line) in block.iter_mut().enumerate().take(inputs.max(1)) {
                line[i] = line[i] * self.gains[1] + sample[channel.min(1)];
            }
        }
        self.filled = if recorded == count { count } else { 0 };
    }

    /// The recording beside the block that was processed last; empty without one.
    pub fn beside(&self) -> &[[f32; 2]] {
        &self.beside[..self.filled]
    }

    /// Whether the recording shall be heard.
    pub fn hears_recording(&self) -> bool {
        self.controls.hears.load(Relaxed) && self.filled > 0
    }
}

impl Default for Player {
    fn default() -> Self {
        Self::new()
    }
}

impl Controls {
    /// Whether there is a player here: only in the standalone.
    pub fn active(&self) -> bool {
        self.active.load(Relaxed)
    }

    fn send(&self, sound: Track, name: String) {
        self.has_recording.store(!sound.heard.is_empty(), Relaxed);
        self.frames.store(sound.dry.len() as u64, Relaxed);
        self.region.store(0, Relaxed);
        self.tracks.send(Box::new(sound));
        *self.source.lock().unwrap_or_else(|e| e.into_inner()) = name;
    }

    /// First frame and end of what is looped of a track of so many frames.
    fn frames_of_region(&self, frames: usize) -> (usize, usize) {
        let region = self.region.load(Relaxed);
        let (start, end) = ((region >> 32) as usize, (region & 0xffff_ffff) as usize);
        match start < end && end <= frames {
            true => (start, end),
            false => (0, frames),
        }
    }

    fn rate(&self) -> Result<u32, String> {
        match self.rate.load(Relaxed) {
            0 => Err("There is no audio device to play to.".into()),
            rate => Ok(rate),
        }
    }
}

impl edit::Player for Controls {
    fn playing(&self) -> bool {
        self.playing.load(Relaxed)
    }

    fn play(&self, on: bool) {
        self.playing.store(on, Relaxed);
    }

    fn source(&self) -> String {
        self.source
            .lock()
            .unwrap_or_else(|e| e.into_inner())
            .clone()
    }

    fn open(&self, path: Option<&Path>) -> Result<(), String> {
        let rate = self.rate()?;
        let Some(path) = path else {
            self.send(Track::phrase(rate), PHRASE.into());
            return Ok(());
        };
        let read = file::read(path).map_err(|fault| fault.to_string())?;
        let sound = read.sound;
        self.send(Track::of(&sound, rate)?, sound.name);
        Ok(())
    }

    fn live_input(&self) -> bool {
        self.live.load(Relaxed)
    }

    fn set_live_input(&self, on: bool) {
        self.live.store(on, Relaxed);
    }

    fn device(&self) -> String {
        super::launch::device()
    }
}

impl edit::RecordingPlayer for Controls {
    fn put(&self, recording: &Sound, dry: Option<&Sound>) -> Result<(), String> {
        let track = Track::with_recording(dry, recording, self.rate()?)?;
        self.send(track, recording.name.clone());
        Ok(())
    }

    fn there(&self) -> bool {
        self.has_recording.load(Relaxed)
    }

    fn hears(&self) -> bool {
        self.there() && self.hears.load(Relaxed)
    }

    fn hear(&self, on: bool) {
        self.hears.store(on, Relaxed);
    }

    fn region(&self) -> [f64; 2] {
        let rate = f64::from(self.rate.load(Relaxed).max(1));
        let (start, end) = self.frames_of_region(self.frames.load(Relaxed) as usize);
        [start, end].map(|frame| frame as f64 / rate)
    }

    fn set_region(&self, seconds: Option<[f64; 2]>) {
        let rate = f64::from(self.rate.load(Relaxed));
        let most = self.frames.load(Relaxed).min(u64::from(u32::MAX));
        let frame = |seconds: f64| ((seconds.max(0.0) * rate) as u64).min(most);
        let [start, end] = seconds.map_or([0, 0], |seconds| seconds.map(frame));
        // Shorter than its two fades it would hardly sound.
        let region = match end >= start + LEAST_REGION {
            true => start << 32 | end,
            false => 0,
        };
        self.region.store(region, Relaxed);
    }

    fn playing(&self) -> bool {
        self.playing.load(Relaxed)
    }

    fn play(&self, on: bool) {
        self.playing.store(on, Relaxed);
    }
}
