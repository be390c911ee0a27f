//! The built-in player of the standalone: loops a recording into the amp's input, with or without
//! what is played live. In a host it does nothing.

use crate::analysis::phrase::phrase;
use crate::command_line::wav;
use crate::editor::edit;
use crate::numeric::resample::resampled;
use crossbeam_utils::atomic::AtomicCell;
use std::f64::consts::SQRT_2;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicU32, Ordering::Relaxed};
use std::sync::{Arc, Mutex};

use crate::units::DBU_VOLTS;

/// A recording at the device's rate, full scale 1, that is looped.
type Loop = Vec<[f32; 2]>;

/// What window and audio thread share of the player.
pub struct Controls {
    playing: AtomicBool,
    live: AtomicBool,
    /// A loop on its way to the audio thread, and one on its way back.
    incoming: AtomicCell<Option<Box<Loop>>>,
    outgoing: AtomicCell<Option<Box<Loop>>>,
    rate: AtomicU32,
    source: Mutex<String>,
    active: AtomicBool,
}

/// Its name for the phrase that comes with the program.
pub const PHRASE: &str = "built-in phrase";

/// The audio thread's end.
pub struct Player {
    controls: Arc<Controls>,
    /// Played as a loop; the first one is empty.
    sound: Box<Loop>,
    at: usize,
    /// Gains of loop and live input, which fade.
    gains: [f32; 2],
}

/// Change of a gain a sample: 10 ms at 48 kHz.
const FADE: f32 = 1.0 / 480.0;

impl Player {
    /// A player that plays nothing yet.
    pub fn new() -> Self {
        Player {
            controls: Arc::new(Controls {
                playing: AtomicBool::new(false),
                live: AtomicBool::new(true),
                incoming: AtomicCell::new(None),
                outgoing: AtomicCell::new(None),
                rate: AtomicU32::new(0),
                source: Mutex::new(PHRASE.into()),
                active: AtomicBool::new(false),
            }),
            sound: Box::default(),
            at: 0,
            gains: [0.0, 1.0],
        }
    }

    /// What the window may do.
    pub fn controls(&self) -> Arc<Controls> {
        self.controls.clone()
    }

    /// Begins at a rate, in the standalone, with the phrase or the recording asked for.
    pub fn activate(&mut self, rate: f32) {
        self.controls.rate.store(rate as u32, Relaxed);
        self.controls.active.store(true, Relaxed);
        let asked = super::standalone::recording();
        if edit::Player::open(&*self.controls, asked.as_deref()).is_err() {
            let _ = edit::Player::open(&*self.controls, None);
        }
    }

    /// Mixes the loop into the input of a block.
    ///
    /// # Real-time
    /// Lock-free, allocates and frees nothing.
    pub fn process(&mut self, block: &mut [&mut [f32]], inputs: usize) {
        if !self.controls.active.load(Relaxed) {
            return;
        }
        // The loop that goes waits until the window has taken the last one.
        let room = self.controls.outgoing.take();
        if room.is_some() {
            self.controls.outgoing.store(room);
        } else if (self.gains[0] <= 0.0 || self.sound.is_empty())
            && let Some(sound) = self.controls.incoming.take()
        {
            let old = std::mem::replace(&mut self.sound, sound);
            self.controls.outgoing.store(Some(old));
            self.at = 0;
        }
        let playing = self.controls.playing.load(Relaxed) && !self.sound.is_empty();
        let targets = [
            f32::from(u8::from(playing)),
            f32::from(u8::from(self.controls.live.load(Relaxed))),
        ];
        let count = block.first().map_or(0, |channel| channel.len());
        for i in 0..count {
            for (gain, target) in self.gains.iter_mut().zip(targets) {
                *gain += (target - *gain).clamp(-FADE, FADE);
            }
            let mut sample = [0.0; 2];
            if self.gains[0] > 0.0 {
                sample = self.sound[self.at];
                self.at = (self.at + 1) % self.sound.len();
            }
            for (channel, line) in block.iter_mut().enumerate().take(inputs.max(1)) {
                line[i] = line[i] * self.gains[1] + sample[channel.min(1)] * self.gains[0];
            }
        }
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

    fn send(&self, sound: Loop, name: String) {
        drop(self.outgoing.take());
        self.incoming.store(Some(Box::new(sound)));
        *self.source.lock().unwrap_or_else(|e| e.into_inner()) = name;
    }
}

/// The phrase at a rate, as samples of an input whose full scale is 0 dBu.
fn phrase_loop(rate: u32) -> Loop {
    let scale = (1.0 / (SQRT_2 * DBU_VOLTS)) as f32;
    phrase(rate).into_iter().map(|v| [v * scale; 2]).collect()
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
        let rate = self.rate.load(Relaxed);
        if rate == 0 {
            return Err("There is no audio device to play to.".into());
        }
        let Some(path) = path else {
            self.send(phrase_loop(rate), PHRASE.into());
            return Ok(());
        };
        let recording = wav::read(path).map_err(|fault| format!("{}: {fault}", path.display()))?;
        let channels = &resampled(&recording.channels, recording.rate, rate)
            .map_err(|why| format!("{}: {why}", path.display()))?;
        let sound: Loop = (0..channels[0].len())
            .map(|i| [channels[0][i], channels[channels.len() - 1][i]])
            .collect();
        if sound.is_empty() {
            return Err(format!("{} holds no sound.", path.display()));
        }
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        self.send(sound, name.into_owned());
        Ok(())
    }

    fn live_input(&self) -> bool {
        self.live.load(Relaxed)
    }

    fn set_live_input(&self, on: bool) {
        self.live.store(on, Relaxed);
    }

    fn device(&self) -> String {
        super::standalone::device()
    }
}
