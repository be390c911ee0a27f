//! The pieces of a plucked string: delay, combs, the damped loop, the pick's scrape, the pickup.
//! Times are in samples unless a name says otherwise; each piece takes and gives a sample a call.

use std::f64::consts::PI;

/// The pickup's resonance with its cable, Hz, and its quality factor (common practice, no source).
pub const PICKUP_HZ: f64 = 3_800.0;
const PICKUP_Q: f64 = 1.6;

/// Corner of the loss that each period puts on the treble, Hz, so that a low E keeps its bite for about a second.
const DAMPING_HZ: f64 = 18_000.0;

/// All-pass sections that stand for the stiffness of a string.
const STIFFNESS_SECTIONS: usize = 6;

/// A delay line read between its samples by a straight line; good where loss of treble does no harm.
struct Delay {
    line: Vec<f64>,
    place: usize,
    whole: usize,
    part: f64,
}

impl Delay {
    fn new(samples: f64) -> Self {
        let whole = samples.floor() as usize;
        Delay {
            line: vec![0.0; whole + 2],
            place: 0,
            whole,
            part: samples - whole as f64,
        }
    }

    fn step(&mut self, x: f64) -> f64 {
        let length = self.line.len();
        self.line[self.place] = x;
        let near = self.line[(self.place + length - self.whole) % length];
        let far = self.line[(self.place + length - self.whole - 1) % length];
        self.place = (self.place + 1) % length;
        near + self.part * (far - near)
    }
}

/// `x(t) − x(t − delay)`: a wave and its reflection at the bridge.
pub struct Comb(Delay);

impl Comb {
    pub fn new(samples: f64) -> Self {
        Comb(Delay::new(samples))
    }

    pub fn step(&mut self, x: f64) -> f64 {
        x - self.0.step(x)
    }
}

/// First-order all-pass that delays low notes by a given number of samples.
struct AllPass {
    coefficient: f64,
    x: f64,
    y: f64,
}

impl AllPass {
    fn new(samples: f64) -> Self {
        AllPass {
            coefficient: (1.0 - samples) / (1.0 + samples),
            x: 0.0,
            y: 0.0,
        }
    }

    fn step(&mut self, x: f64) -> f64 {
        self.y = self.coefficient * (x - self.y) + self.x;
        self.x = x;
        self.y
    }
}

/// One period of delay, closed on itself through losses.
pub struct StringLoop {
    delay: Delay,
    tuning: AllPass,
    stiffness: [AllPass; STIFFNESS_SECTIONS],
    /// Gain over a period, and where it is going.
    gain: f64,
    target_gain: f64,
    /// Damping of the treble: a one-pole low-pass.
    damping: f64,
    damped: f64,
    fed_back: f64,
}

impl StringLoop {
    /// `period` in samples; `sustain` is the time to −60 dB, `stiffness` the delay of each
    /// section, s.
    pub fn new(rate: f64, period: f64, sustain: f64, stiffness: f64) -> Self {
        // The damping delays low notes by (1 − k)/k samples, the loop's own feedback by one.
        let damping = 1.0 - (-2.0 * PI * DAMPING_HZ / rate).exp();
        let spread = stiffness * rate;
        let rest = period - (1.0 - damping) / damping - 1.0 - STIFFNESS_SECTIONS as f64 * spread;
        let whole = (rest - 0.5).floor();
        let fraction = rest - whole;
        let gain = 10.0_f64.powf(-3.0 * period / rate / sustain);
        StringLoop {
            delay: Delay::new(whole),
            tuning: AllPass::new(fraction),
            stiffness: std::array::from_fn(|_| AllPass::new(spread)),
            gain,
            target_gain: gain,
            damping,
            damped: 0.0,
            fed_back: 0.0,
        }
    }

    /// The hand comes down: −60 dB within 60 ms from here.
    pub fn damp(&mut self, rate: f64, period: f64) {
        self.target_gain = 10.0_f64.powf(-3.0 * period / rate / 0.06);
    }

    pub fn step(&mut self, x: f64) -> f64 {
        // A change of loss at once would be heard as a click.
        self.gain += 0.002 * (self.target_gain - self.gain);
        let y = x + self.fed_back;
        let delayed = self.delay.step(y);
        let passed = self.tuning.step(delayed);
        let passed = self.stiffness.iter_mut().fold(passed, |x, a| a.step(x));
        self.damped += self.damping * (passed - self.damped);
        self.fed_back = self.gain * self.damped;
        y
    }
}

/// The noise of the pick on the winding: a few milliseconds, fading.
pub struct Scrape {
    state: u64,
    smooth: f64,
    pole: f64,
}

impl Scrape {
    pub fn new(seed: u64, rate: f64) -> Self {
        Scrape {
            state: seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1,
            smooth: 0.0,
            pole: 1.0 - (-2.0 * PI * 2_500.0 / rate).exp(),
        }
    }

    pub fn step(&mut self, seconds: f64) -> f64 {
        // G. Marsaglia, "Xorshift RNGs", Journal of Statistical Software 8(14), 2003.
        self.state ^= self.state << 13;
        self.state ^= self.state >> 7;
        self.state ^= self.state << 17;
        let white = (self.state >> 11) as f64 / (1_u64 << 52) as f64 - 1.0;
        self.smooth += self.pole * (white - self.smooth);
        self.smooth * (-seconds / 1.5e-3).exp()
    }
}

/// Second-order low-pass by the bilinear transform.
pub struct Resonance {
    b: [f64; 3],
    a: [f64; 2],
    state: [f64; 2],
}

impl Resonance {
    pub fn new(rate: f64) -> Self {
        let hz = PICKUP_HZ.min(0.4 * rate);
        let k = (PI * hz / rate).tan();
        let norm = 1.0 / (1.0 + k / PICKUP_Q + k * k);
        Resonance {
            b: [k * k * norm, 2.0 * k * k * norm, k * k * norm],
            a: [
                2.0 * (k * k - 1.0) * norm,
                (1.0 - k / PICKUP_Q + k * k) * norm,
            ],
            state: [0.0; 2],
        }
    }

    pub fn step(&mut self, x: f64) -> f64 {
        let y = self.b[0] * x + self.state[0];
        self.state[0] = self.b[1] * x - self.a[0] * y + self.state[1];
        self.state[1] = self.b[2] * x - self.a[1] * y;
        y
    }
}
