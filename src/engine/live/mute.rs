//! Silence around a change of type.

/// 5 ms out, 30 ms for the new valve to settle, 20 ms in.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Mute {
    phase: Phase,
    /// Gain now, and its change a sample.
    gain: f64,
    slope: f64,
    /// Samples left of the phase.
    left: i64,
    again: bool,
}

#[derive(Clone, Copy, Debug, Default, PartialEq)]
enum Phase {
    #[default]
    Open,
    Out,
    Settling,
    In,
}

/// Lengths of the phases, s.
const OUT_SECONDS: f64 = 0.005;
const SETTLING_SECONDS: f64 = 0.030;
const IN_SECONDS: f64 = 0.020;

impl Mute {
    /// Asks for a change of types.
    pub fn ask(&mut self) {
        self.again = true;
    }

    pub fn calm(&self) -> bool {
        self.phase == Phase::Open && !self.again
    }

    /// The next sample's gain.
    #[inline]
    pub fn gain(&mut self) -> f64 {
        if self.phase == Phase::Open {
            return 1.0;
        }
        self.gain = (self.gain + self.slope).clamp(0.0, 1.0);
        self.gain
    }

    /// Begins a phase of so many samples, over which the gain changes by `change`.
    fn begin(&mut self, phase: Phase, gain: f64, change: f64, samples: f64) {
        let samples = samples.round().max(1.0);
        self.phase = phase;
        self.gain = gain;
        self.left = samples as i64;
        self.slope = change / samples;
    }

    /// Goes on by `stride` samples; whether types are to be swapped now.
    pub fn step(&mut self, stride: u64, rate: f64) -> bool {
        if self.phase == Phase::Open {
            if self.again {
                self.again = false;
                self.begin(Phase::Out, 1.0, -1.0, OUT_SECONDS * rate);
            }
            return false;
        }
        self.left -= stride as i64;
        if self.left > 0 {
            return false;
        }
        match self.phase {
            Phase::Out => {
                self.again = false;
                self.begin(Phase::Settling, 0.0, 0.0, SETTLING_SECONDS * rate);
                true
            }
            // Another type was asked for meanwhile.
            Phase::Settling if self.again => {
                self.again = false;
                self.begin(Phase::Settling, 0.0, 0.0, SETTLING_SECONDS * rate);
                true
            }
            Phase::Settling => {
                self.begin(Phase::In, 0.0, 1.0, IN_SECONDS * rate);
                false
            }
            _ => {
                *self = Mute {
                    again: self.again,
                    ..Mute::default()
                };
                false
            }
        }
    }
}
