//! A circuit pair that waits to take over from the one that plays.

use super::circuit_pair::CircuitPair;
use super::fade::Fade;
use super::lanes::Lines;

/// Time that a new pair runs unheard before it takes over, s: coupling capacitors have charged to
/// the sound by then.
const WARM_UP_SECONDS: f64 = 0.05;

/// See the module.
#[derive(Debug)]
pub struct IncomingPair {
    /// The pair.
    pub pair: Box<CircuitPair>,
    /// Samples that it still runs unheard.
    warm_up: f64,
    fade: Fade,
}

impl IncomingPair {
    /// A pair that begins to run, at a rate in hertz, and is faded to within so many seconds.
    pub fn new(pair: Box<CircuitPair>, rate: f64, fade_seconds: f64) -> Self {
        IncomingPair {
            pair,
            warm_up: WARM_UP_SECONDS * rate,
            fade: Fade::new(0.0, fade_seconds * rate),
        }
    }

    /// Whether it has taken over.
    pub fn done(&self) -> bool {
        self.warm_up <= 0.0 && !self.fade.moves()
    }

    /// Takes over at once, from its operating point.
    pub fn jump(&mut self) {
        self.pair.settle();
        self.warm_up = 0.0;
        self.fade.jump(1.0);
    }

    /// Fades from what plays, the first of each two, to this one.
    pub fn join(&mut self, mut ways: [(&mut Lines, &Lines); 2], count: usize) {
        for i in 0..count {
            if self.warm_up > 0.0 {
                self.warm_up -= 1.0;
                if self.warm_up <= 0.0 {
                    self.fade.aim(1.0, 0.0);
                }
            }
            let [old, new] = self.fade.gains();
            for (now, next) in &mut ways {
                for (now, next) in now.iter_mut().zip(next.iter()) {
                    now[i] = now[i] * old + next[i] * new;
                }
            }
        }
    }
}
