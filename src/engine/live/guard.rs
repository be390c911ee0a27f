//! Silence for an amp that sounds with nothing played.
//!
//! Takes what is played and what comes out, sample by sample; gives a gain. After a note an amp falls
//! silent; one that is still as loud half a second after the last thing that was played oscillates, and
//! is faded out until it is quiet by itself, which is a fifth of a second after its oscillation has died
//! away. While something is played nobody can tell a howl from a note: then a muted amp stays so, but
//! for one whose values are changed, which may be what mends it: it is let out on trial. The equations
//! could tell sooner, but not on the audio thread, and a value that is dragged never waits.

/// Peak at the jack from which on something is played, V: below the noise of a pickup.
const PLAYED_VOLTS: f64 = 20e-6;
/// Peak of the output, full scale 1, below which nobody is disturbed.
const DISTURBS: f64 = 0.003;
/// Seconds of silence at the jack before the amp is doubted, of each of two stretches that are
/// compared, and of the fade.
const WAIT_SECONDS: f64 = 0.3;
const STRETCH_SECONDS: f64 = 0.25;
const FADE_SECONDS: f64 = 0.02;
/// Seconds of quiet after which a muted amp is let out: longer than the pauses in an oscillation that
/// comes in bursts of a few hertz.
const CALM_SECONDS: f64 = 0.2;
/// A sound that dies away loses more than this between two stretches.
const DIES: f64 = 0.9;

/// The guard of one renderer.
#[derive(Debug, Clone)]
pub(super) struct Guard {
    rate: f64,
    /// Samples since something was played.
    quiet: u64,
    /// Samples of the stretch, its peak, and that of the one before.
    at: u64,
    peak: f64,
    before: f64,
    /// Samples since what comes out disturbed anybody, with nothing played.
    calm: u64,
    howls: bool,
    gain: f64,
}

impl Guard {
    pub fn new(rate: f64) -> Self {
        Guard {
            rate,
            quiet: 0,
            at: 0,
            peak: 0.0,
            before: 0.0,
            calm: 0,
            howls: false,
            gain: 1.0,
        }
    }

    /// Whether the amp is muted.
    pub fn howls(&self) -> bool {
        self.howls
    }

    /// A value was changed, which may have mended the amp. With nothing played the quiet that follows
    /// shows it; while something is played a muted amp is let out, to be doubted again in the next
    /// pause.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn values_changed(&mut self) {
        if self.quiet == 0 {
            self.howls = false;
        }
    }

    /// The next sample's gain, 1 as long as all is well. `played` are volts at the jack, `heard` the
    /// output before this gain.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline]
    pub fn gain(&mut self, played: f64, heard: f64) -> f64 {
        if played > PLAYED_VOLTS {
            self.quiet = 0;
            self.at = 0;
            self.peak = 0.0;
            self.before = 0.0;
            self.calm = 0;
        } else {
            self.quiet += 1;
            self.calm = if heard > DISTURBS { 0 } else { self.calm + 1 };
            if self.calm as f64 > CALM_SECONDS * self.rate {
                self.howls = false;
            }
            self.peak = self.peak.max(heard);
            let waited = self.quiet as f64 > WAIT_SECONDS * self.rate;
            self.at += u64::from(waited);
            if !waited {
                self.peak = 0.0;
            }
            if self.at as f64 > STRETCH_SECONDS * self.rate {
                let loud = self.peak > DISTURBS;
                if loud && self.before > 0.0 && self.peak > DIES * self.before {
                    self.howls = true;
                }
                self.before = self.peak;
                self.at = 0;
                self.peak = 0.0;
            }
        }
        let step = 1.0 / (FADE_SECONDS * self.rate);
        let target = if self.howls { 0.0 } else { 1.0 };
        if self.gain != target {
            self.gain += (target - self.gain).clamp(-step, step);
        }
        self.gain
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const RATE: f64 = 48e3;

    fn run(guard: &mut Guard, seconds: f64, played: f64, heard: impl Fn(f64) -> f64) -> f64 {
        let count = (seconds * RATE) as usize;
        let mut gain = guard.gain;
        for n in 0..count {
            gain = guard.gain(played, heard(n as f64 / RATE));
        }
        gain
    }

    #[test]
    fn what_sounds_by_itself_is_muted_until_it_is_quiet() {
        let mut guard = Guard::new(RATE);
        assert_eq!(run(&mut guard, 2.0, 0.1, |_| 0.5), 1.0);
        assert_eq!(run(&mut guard, 1.5, 0.0, |_| 0.5), 0.0);
        assert!(guard.howls());
        // Playing over it does not let it out.
        assert_eq!(run(&mut guard, 1.0, 0.1, |_| 0.5), 0.0);
        assert_eq!(run(&mut guard, 1.5, 0.0, |_| 0.001), 1.0);
        assert!(!guard.howls());
    }

    #[test]
    fn a_howl_that_ends_is_let_out_within_half_a_second() {
        let mut guard = Guard::new(RATE);
        run(&mut guard, 1.5, 0.0, |_| 0.5);
        assert!(guard.howls());
        // It dies away by e each 20 ms, and was muted for good until then.
        let dying = |t: f64| 0.5 * (-t / 0.02).exp();
        assert_eq!(run(&mut guard, 0.25, 0.0, dying), 0.0);
        assert_eq!(run(&mut guard, 0.15, 0.0, |t| dying(t + 0.25)), 1.0);
        // Bursts with pauses of a tenth of a second are no end.
        let mut guard = Guard::new(RATE);
        let bursts = |t: f64| if t % 0.2 < 0.1 { 0.5 } else { 0.0 };
        run(&mut guard, 1.5, 0.0, bursts);
        assert_eq!(run(&mut guard, 2.0, 0.0, bursts), 0.0);
    }

    #[test]
    fn a_change_of_values_lets_out_what_is_played_on_trial() {
        let mut guard = Guard::new(RATE);
        run(&mut guard, 1.5, 0.0, |_| 0.5);
        // With nothing played a change alone proves nothing.
        guard.values_changed();
        assert_eq!(run(&mut guard, 0.5, 0.0, |_| 0.5), 0.0);
        run(&mut guard, 0.1, 0.1, |_| 0.5);
        guard.values_changed();
        assert_eq!(run(&mut guard, 0.1, 0.1, |_| 0.5), 1.0);
        // It was not mended.
        assert_eq!(run(&mut guard, 1.0, 0.0, |_| 0.5), 0.0);
    }

    #[test]
    fn what_dies_away_is_left_alone() {
        for seconds in [0.05, 0.3, 1.0] {
            let mut guard = Guard::new(RATE);
            run(&mut guard, 1.0, 0.1, |_| 0.9);
            assert_eq!(
                run(&mut guard, 5.0, 0.0, |t| 0.9 * (-t / seconds).exp()),
                1.0
            );
            assert!(!guard.howls());
        }
    }
}
