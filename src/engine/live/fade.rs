//! Cross-fades of constant power between sounds that may be alike.
//!
//! Gains cos and sin keep the power of sounds that have nothing in common. Two amps that play the
//! same guitar have nearly everything in common, and would swell by up to 3 dB half way. With the
//! correlation ρ of the two, power `a² + b² + 2ρab = 1` is kept by dividing by its root (signals of
//! equal level assumed).

/// How alike two sounds are, over the last few ten milliseconds.
#[derive(Clone, Copy, Debug)]
pub struct Correlation {
    cross: f64,
    first: f64,
    second: f64,
    keep: f64,
}

/// Time over which correlation is judged, s.
const SECONDS: f64 = 0.03;

impl Correlation {
    /// At a rate.
    pub fn new(rate: f64) -> Self {
        Correlation {
            cross: 0.0,
            first: 0.0,
            second: 0.0,
            keep: (-1.0 / (SECONDS * rate)).exp(),
        }
    }

    /// Takes a sample of each.
    #[inline]
    pub fn sample(&mut self, first: f64, second: f64) {
        self.cross = self.cross * self.keep + first * second;
        self.first = self.first * self.keep + first * first;
        self.second = self.second * self.keep + second * second;
    }

    /// Correlation, within ±1; 1 for silence, where it does not matter.
    pub fn value(&self) -> f64 {
        let power = (self.first * self.second).sqrt();
        if power > 1e-20 {
            (self.cross / power).clamp(-1.0, 1.0)
        } else {
            1.0
        }
    }
}

/// A fade between two sounds.
#[derive(Clone, Copy, Debug)]
pub struct Fade {
    /// 0 all of the first, 1 all of the second.
    place: f64,
    target: f64,
    step: f64,
    correlation: f64,
}

impl Fade {
    /// At a place, with so many samples from end to end.
    pub fn new(place: f64, samples: f64) -> Self {
        Fade {
            place,
            target: place,
            step: 1.0 / samples.max(1.0),
            correlation: 1.0,
        }
    }

    /// Whether it is under way.
    pub fn moves(&self) -> bool {
        self.place != self.target
    }

    /// Whether only the first is heard, and stays so.
    pub fn is_first(&self) -> bool {
        self.place <= 0.0 && self.target <= 0.0
    }

    /// Is at once where it was sent.
    pub fn arrive(&mut self) {
        self.place = self.target;
    }

    /// Sends it to an end; `correlation` is that of the two sounds now.
    pub fn aim(&mut self, target: f64, correlation: f64) {
        if target != self.target {
            self.target = target;
            // Opposite sounds would need infinite gain half way.
            self.correlation = correlation.max(-0.5);
        }
    }

    /// Goes to an end at once.
    pub fn jump(&mut self, target: f64) {
        self.place = target;
        self.target = target;
    }

    /// Gains of the two for the next sample.
    #[inline]
    pub fn gains(&mut self) -> [f64; 2] {
        if self.place != self.target {
            let way = self.target - self.place;
            self.place += way.clamp(-self.step, self.step);
            if (self.target - self.place).abs() < 1e-9 {
                self.place = self.target;
            }
        }
        if self.place == 0.0 {
            return [1.0, 0.0];
        }
        if self.place == 1.0 {
            return [0.0, 1.0];
        }
        // Bent at the ends, so that the gains begin and end level.
        let smooth = self.place * self.place * (3.0 - 2.0 * self.place);
        let (second, first) = (smooth * std::f64::consts::FRAC_PI_2).sin_cos();
        let power = 1.0 + 2.0 * self.correlation * first * second;
        let scale = 1.0 / power.sqrt();
        [first * scale, second * scale]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn power_stays_whatever_the_correlation() {
        for correlation in [-0.4, 0.0, 0.5, 1.0] {
            let mut fade = Fade::new(0.0, 100.0);
            fade.aim(1.0, correlation);
            for _ in 0..100 {
                let [a, b] = fade.gains();
                let power = a * a + b * b + 2.0 * correlation * a * b;
                assert!((power - 1.0).abs() < 1e-12);
            }
            assert_eq!(fade.gains(), [0.0, 1.0]);
            assert!(!fade.moves());
        }
    }

    #[test]
    fn correlation_tells_equal_from_unrelated_and_opposite() {
        let judge = |second: fn(usize) -> f64| {
            let mut correlation = Correlation::new(48_000.0);
            for i in 0..9600 {
                correlation.sample((i as f64 * 0.05).sin(), second(i));
            }
            correlation.value()
        };
        assert!(judge(|i| 0.3 * (i as f64 * 0.05).sin()) > 0.999);
        assert!(judge(|i| (i as f64 * 0.05).cos()).abs() < 0.05);
        assert!(judge(|i| -(i as f64 * 0.05).sin()) < -0.999);
    }
}
