//! Samples in, samples out: two amps side by side, what of them is heard, matched in loudness,
//! bypassed, and replaced while they play.

use super::cabinets::{Cabinets, Response};
use super::circuit_pair::{CircuitPair, Format};
use super::fade::{Correlation, Fade};
use super::guard::Guard;
use super::incoming_pair::IncomingPair;
use super::lanes::{AS_FOUND, LANES, Lines, PIECE, PROPOSED};
use super::loudness::Match;
use super::meters::Meters;
use super::recording::Beside;
pub use super::render_settings::{Heard, RenderSettings};
use super::smoother::Smoother;
use crate::units::ratio_from_decibels;
use std::sync::atomic::Ordering::Relaxed;

/// Length of a cross-fade, s.
const FADE_SECONDS: f64 = 0.010;
/// Time that levels take to a new value, s.
const LEVEL_SECONDS: f64 = 0.020;
/// Time that the match takes to come in or go, s.
const ENGAGE_SECONDS: f64 = 0.1;
/// No sample leaves beyond this, four times what the loudest built-in amp gives with the output level
/// at 0 dB. It does not keep the output within full scale: the level does.
const BOUND: f64 = 16.0;

/// See the module.
#[derive(Debug)]
pub struct Renderer {
    pair: Box<CircuitPair>,
    next: Option<IncomingPair>,
    fresh: bool,
    rate: f64,
    outputs: usize,
    heard: [Fade; 2],
    correlation: [Correlation; 2],
    middle: Smoother,
    matching: Match,
    engaged: Smoother,
    input_volts: Smoother,
    output_gain: Smoother,
    bypass: Fade,
    dry_correlation: Correlation,
    dry: Vec<[f64; 2]>,
    dry_at: usize,
    delayed: Box<[[f64; 2]; PIECE]>,
    cabinets: Cabinets,
    beside: Beside,
    guard: Guard,
    /// Volts at the output and what is radiated of them, of the circuit pair and of the next one.
    sound: [Box<Lines>; 2],
    other: [Box<Lines>; 2],
    input: Box<[[f64; PIECE]; 2]>,
}

impl Renderer {
    /// A renderer at its operating point for so many output channels (1 or 2).
    pub fn new(pair: Box<CircuitPair>, outputs: usize) -> Self {
        let rate = pair.format().rate;
        let fade = || Fade::new(0.0, FADE_SECONDS * rate);
        let lines = || [0, 1].map(|_| Box::new([[0.0; PIECE]; LANES]));
        Renderer {
            heard: [fade(), fade()],
            correlation: [Correlation::new(rate); 2],
            middle: Smoother::at(0.0),
            matching: Match::new(rate, outputs),
            engaged: Smoother::at(0.0),
            input_volts: Smoother::at(1.0),
            output_gain: Smoother::at(1.0),
            bypass: fade(),
            dry_correlation: Correlation::new(rate),
            dry: vec![[0.0; 2]; Format::latency(rate).max(1)],
            dry_at: 0,
            delayed: Box::new([[0.0; 2]; PIECE]),
            cabinets: Cabinets::new(rate),
            beside: Beside::new(rate, outputs, Format::latency(rate), FADE_SECONDS * rate),
            guard: Guard::new(rate),
            sound: lines(),
            other: lines(),
            input: Box::new([[0.0; PIECE]; 2]),
            next: None,
            fresh: true,
            outputs,
            rate,
            pair,
        }
    }

    /// The circuit pair that plays.
    pub fn pair(&self) -> &CircuitPair {
        &self.pair
    }

    /// Delay from input to output, samples.
    pub fn latency(&self) -> usize {
        Format::latency(self.rate)
    }

    /// To the operating point; the next sample finds everything where it is asked to be.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn reset(&mut self) {
        self.fresh = true;
    }

    /// Whether a circuit pair may be given.
    pub fn takes_pair(&self) -> bool {
        self.next.is_none()
    }

    /// Gives a circuit pair that takes over: at once from its operating point, else after a moment
    /// by a cross-fade. Returns what is to be thrown away elsewhere. Call only if
    /// [`Renderer::takes_pair`].
    ///
    /// # Real-time
    /// Allocates and frees nothing.
    pub fn give(&mut self, pair: Box<CircuitPair>) -> Option<Box<CircuitPair>> {
        if self.fresh {
            return Some(std::mem::replace(&mut self.pair, pair));
        }
        self.next = Some(IncomingPair::new(pair, self.rate, FADE_SECONDS));
        None
    }

    /// The circuit pair that a finished take-over has left, to be thrown away elsewhere.
    ///
    /// # Real-time
    /// Allocates and frees nothing.
    pub fn finished(&mut self) -> Option<Box<CircuitPair>> {
        let next = self.next.take_if(|next| next.done())?;
        Some(std::mem::replace(&mut self.pair, next.pair))
    }

    /// Whether an impulse response may be given.
    pub fn takes_response(&self) -> bool {
        self.cabinets.takes()
    }

    /// Gives an impulse response, or word that there is none, in the place of the last one. Returns
    /// what is to be thrown away elsewhere. Call only if [`Renderer::takes_response`].
    ///
    /// # Real-time
    /// Allocates and frees nothing.
    pub fn give_response(&mut self, response: Box<Response>) -> Option<Box<Response>> {
        self.cabinets.give(response)
    }

    /// The impulse response that is no longer heard, to be thrown away elsewhere.
    ///
    /// # Real-time
    /// Allocates and frees nothing.
    pub fn finished_response(&mut self) -> Option<Box<Response>> {
        self.cabinets.finished()
    }

    /// Processes a block in place, one or two channels, from `inputs` of them. `positions` are
    /// those of the host's parameters (see [`CircuitPair::follow`]).
    ///
    /// # Real-time
    /// Allocates nothing; the result does not depend on how a signal is cut into blocks.
    pub fn process(
        &mut self,
        settings: &RenderSettings,
        positions: &[f32],
        block: &mut [&mut [f32]],
        inputs: usize,
        meters: &Meters,
    ) {
        self.process_beside(settings, positions, block, inputs, meters, &[]);
    }

    /// [`Renderer::process`] with a recording of the real amp beside it: `beside` has left and
    /// right of what was recorded of the same input samples, one a frame, or is empty.
    ///
    /// # Real-time
    /// As [`Renderer::process`].
    pub fn process_beside(
        &mut self,
        settings: &RenderSettings,
        positions: &[f32],
        block: &mut [&mut [f32]],
        inputs: usize,
        meters: &Meters,
        beside: &[[f32; 2]],
    ) {
        let there = !beside.is_empty();
        self.beside.ask(there, settings.heard == Heard::Recording);
        self.follow(settings, positions);
        let count = block.first().map_or(0, |channel| channel.len());
        let mut start = 0;
        while start < count {
            let end = (start + PIECE).min(count);
            self.beside.feed(beside.get(start..end), end - start);
            self.piece(block, inputs, start..end, meters);
            start = end;
        }
        let lufs = |meter: &super::loudness::Meter| meter.lufs() as f32;
        meters
            .as_found_lufs
            .store(lufs(&self.matching.as_found), Relaxed);
        meters
            .proposed_lufs
            .store(lufs(&self.matching.proposed), Relaxed);
        let match_db = self.matching.gain_db() * self.engaged.now();
        meters.match_db.store(match_db as f32, Relaxed);
    }

    fn follow(&mut self, settings: &RenderSettings, positions: &[f32]) {
        let glide = match self.fresh {
            true => 0.0,
            false => settings.glide_milliseconds.max(0.0),
        };
        let serial = settings.serial;
        let follow = |pair: &mut CircuitPair| {
            pair.parameter_map().serial() == serial && pair.follow(positions, glide)
        };
        let mut changed = follow(&mut self.pair);
        if let Some(next) = &mut self.next {
            changed |= follow(&mut next.pair);
            if self.fresh {
                next.jump();
            }
        }
        if changed {
            self.guard.values_changed();
            self.matching.values_changed();
        }
        let [left, right] = match settings.heard {
            Heard::AsFound | Heard::Recording => [0.0, 0.0],
            Heard::Proposed => [1.0, 1.0],
            Heard::Pair if self.outputs == 1 => [0.5, 0.5],
            Heard::Pair => [0.0, 1.0],
        };
        self.cabinets.ask(settings.through);
        let middle = f64::from(u8::from(settings.heard == Heard::Pair));
        let engaged = f64::from(u8::from(settings.matched));
        let bypass = f64::from(u8::from(settings.bypass));
        if self.fresh {
            self.fresh = false;
            self.pair.settle();
            self.cabinets.settle();
            self.beside.settle(self.rate, self.outputs);
            self.heard[0].jump(left);
            self.heard[1].jump(right);
            self.bypass.jump(bypass);
            self.middle = Smoother::at(middle);
            self.engaged = Smoother::at(engaged);
            self.input_volts = Smoother::at(settings.input_volts);
            self.output_gain = Smoother::at(settings.output_gain);
            self.matching = Match::new(self.rate, self.outputs);
            self.correlation = [Correlation::new(self.rate); 2];
            self.dry_correlation = Correlation::new(self.rate);
            self.dry.fill([0.0; 2]);
            self.dry_at = 0;
        } else {
            for (side, target) in [left, right].into_iter().enumerate() {
                self.heard[side].aim(target, self.correlation[side].value());
            }
            self.bypass.aim(bypass, self.dry_correlation.value());
            let steps = |seconds: f64| (seconds * self.rate).round() as u32;
            let aim = |glide: &mut Smoother, target: f64, seconds: f64| {
                if glide.target() != target {
                    glide.aim(target, steps(seconds));
                }
            };
            aim(&mut self.middle, middle, FADE_SECONDS);
            aim(&mut self.engaged, engaged, ENGAGE_SECONDS);
            aim(&mut self.input_volts, settings.input_volts, LEVEL_SECONDS);
            aim(&mut self.output_gain, settings.output_gain, LEVEL_SECONDS);
        }
    }

    fn piece(
        &mut self,
        block: &mut [&mut [f32]],
        inputs: usize,
        range: std::ops::Range<usize>,
        meters: &Meters,
    ) {
        let count = range.len();
        let (mut peak_in, mut peak_volts) = (0f64, 0f64);
        for i in 0..count {
            let sample = |channel: usize| {
                let value = f64::from(block[channel][range.start + i]);
                if value.is_finite() { value } else { 0.0 }
            };
            let left = sample(0);
            let right = if inputs > 1 { sample(1) } else { left };
            peak_in = peak_in.max(left.abs()).max(right.abs());
            // What went in a latency ago comes out again beside the sound.
            let delayed = std::mem::replace(&mut self.dry[self.dry_at], [left, right]);
            self.dry_at = (self.dry_at + 1) % self.dry.len();
            self.delayed[i] = delayed;
            let volts = self.input_volts.step();
            let middle = 0.5 * self.middle.step();
            let [l, r] = [left * volts, right * volts];
            self.input[0][i] = l + (r - l) * middle;
            self.input[1][i] = r + (l - r) * middle;
            peak_volts = peak_volts
                .max(self.input[0][i].abs())
                .max(self.input[1][i].abs());
        }
        let [left, right] = &*self.input;
        let input = [&left[..count], &right[..count]];
        let [sound, radiated] = &mut self.sound;
        self.pair.process(input, sound, radiated);
        if let Some(next) = &mut self.next {
            let [other, other_radiated] = &mut self.other;
            next.pair.process(input, other, other_radiated);
            next.join(
                [
                    (&mut **sound, &**other),
                    (&mut **radiated, &**other_radiated),
                ],
                count,
            );
        }
        // Another cabinet may make another difference in loudness.
        let changed = self.cabinets.process(sound, radiated, count);
        let mut peak_out = 0f64;
        for i in 0..count {
            if changed == Some(i) {
                self.matching.values_changed();
            }
            let sound = self.mixed(i);
            for (channel, &value) in sound.iter().enumerate().take(self.outputs) {
                let mut value = value;
                if !value.is_finite() {
                    value = 0.0;
                    meters.silenced.fetch_add(1, Relaxed);
                    self.fresh = true;
                }
                value = value.clamp(-BOUND, BOUND);
                peak_out = peak_out.max(value.abs());
                block[channel][range.start + i] = value as f32;
            }
        }
        meters.howls.store(self.guard.howls(), Relaxed);
        Meters::raise(&meters.input, peak_in as f32);
        Meters::raise(&meters.input_volts, peak_volts as f32);
        Meters::raise(&meters.output, peak_out as f32);
    }

    /// One sample of the mix, left and right.
    #[inline]
    fn mixed(&mut self, i: usize) -> [f64; 2] {
        let lanes: [f64; LANES] = std::array::from_fn(|lane| self.sound[0][lane][i]);
        let found = [lanes[2 * AS_FOUND], lanes[2 * AS_FOUND + 1]];
        let mut proposed = [lanes[2 * PROPOSED], lanes[2 * PROPOSED + 1]];
        let db = self.matching.sample(found, proposed) * self.engaged.step();
        let gain = ratio_from_decibels(db);
        proposed = proposed.map(|sample| sample * gain);
        let level = self.output_gain.step();
        let amp: [f64; 2] = std::array::from_fn(|side| {
            self.correlation[side].sample(found[side], proposed[side]);
            let [first, second] = self.heard[side].gains();
            (found[side] * first + proposed[side] * second) * level
        });
        let played = self.input[0][i].abs().max(self.input[1][i].abs());
        let gain = self.guard.gain(played, amp[0].abs().max(amp[1].abs()));
        let amp = self.beside.mix(i, found, amp.map(|x| x * gain), level);
        let dry = self.delayed[i];
        self.dry_correlation
            .sample(amp[0] + amp[1], dry[0] + dry[1]);
        let [wet, straight] = self.bypass.gains();
        std::array::from_fn(|side| amp[side] * wet + dry[side] * straight)
    }
}
