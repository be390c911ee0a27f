//! Half-band filters that double or halve the sampling rate, with linear phase.
//!
//! Windowed-sinc design with the Kaiser window (J. F. Kaiser, "Nonrecursive digital filter design
//! using the I0-sinh window function", Proc. IEEE ISCAS, 1974; formulas from memory): every other
//! coefficient is zero but the middle one, and the delay is a whole number of samples.

use crate::numeric::real::Real;

/// Coefficients of one half-band filter: those at odd distances 1, 3, 5, … from the middle.
#[derive(Clone, Debug)]
struct Design {
    odd: Vec<f64>,
}

fn bessel_i0(x: f64) -> f64 {
    let (mut sum, mut term) = (1.0, 1.0);
    for k in 1..60 {
        term *= (x / (2.0 * k as f64)).powi(2);
        sum += term;
    }
    sum
}

impl Design {
    /// `reach`: number of coefficients at each side; the filter has `4·reach − 1` taps.
    fn new(reach: usize, beta: f64) -> Self {
        let half = 2.0 * reach as f64;
        let odd: Vec<f64> = (0..reach)
            .map(|k| {
                let distance = (2 * k + 1) as f64;
                let angle = std::f64::consts::FRAC_PI_2 * distance;
                let window =
                    bessel_i0(beta * (1.0 - (distance / half).powi(2)).sqrt()) / bessel_i0(beta);
                angle.sin() / (std::f64::consts::PI * distance) * window
            })
            .collect();
        Design { odd }
    }
}

/// Kaiser's β for about 105 dB of stop-band attenuation.
const BETA: f64 = 10.6;

/// Coefficients a side of the first, second and third doubling. The first passes up to 0.42 of
/// the lower rate (20.2 kHz at 48 kHz); the others have a wider transition to spend.
const REACHES: [usize; 3] = [22, 8, 6];

/// Samples held at the lower rate, newest last, in a buffer that is copied down when full.
#[derive(Clone, Debug)]
struct Line<T> {
    samples: Vec<T>,
    length: usize,
    end: usize,
}

impl<T: Real> Line<T> {
    fn new(length: usize) -> Self {
        Line {
            samples: vec![T::ZERO; length + 256],
            length,
            end: length,
        }
    }

    #[inline(always)]
    fn push(&mut self, x: T) -> &[T] {
        if self.end == self.samples.len() {
            self.samples
                .copy_within(self.end - self.length + 1..self.end, 0);
            self.end = self.length - 1;
        }
        self.samples[self.end] = x;
        self.end += 1;
        &self.samples[self.end - self.length..self.end]
    }

    fn fill(&mut self, level: T) {
        self.samples.fill(level);
    }
}

/// `Σ odd[k]·(centre right + centre left)` over the samples around the middle of `taps`.
#[inline(always)]
fn symmetric<T: Real>(odd: &[f64], taps: &[T]) -> T {
    let reach = odd.len();
    let mut sum = T::ZERO;
    for (k, &c) in odd.iter().enumerate() {
        sum = sum.plus_product(taps[reach + k] + taps[reach - 1 - k], T::splat(c));
    }
    sum
}

/// Doubles the rate.
#[derive(Clone, Debug)]
struct Doubler<T> {
    design: Design,
    line: Line<T>,
}

impl<T: Real> Doubler<T> {
    fn new(stage: usize) -> Self {
        let reach = REACHES[stage];
        Doubler {
            design: Design::new(reach, BETA),
            line: Line::new(2 * reach),
        }
    }

    /// Gives the two samples that follow on `x`, older first.
    #[inline(always)]
    fn push(&mut self, x: T) -> [T; 2] {
        let reach = self.design.odd.len();
        let taps = self.line.push(x);
        // The older output lies on the sample in the middle, the newer half-way to its successor.
        [
            taps[reach - 1],
            symmetric(&self.design.odd, taps) * T::splat(2.0),
        ]
    }
}

/// Halves the rate.
#[derive(Clone, Debug)]
struct Halver<T> {
    design: Design,
    even: Line<T>,
    odd: Line<T>,
}

impl<T: Real> Halver<T> {
    fn new(stage: usize) -> Self {
        let reach = REACHES[stage];
        Halver {
            design: Design::new(reach, BETA),
            even: Line::new(reach),
            odd: Line::new(2 * reach),
        }
    }

    /// Takes two samples, older first, and gives one.
    #[inline(always)]
    fn push(&mut self, pair: [T; 2]) -> T {
        let middle = self.even.push(pair[0])[0];
        let taps = self.odd.push(pair[1]);
        (middle * T::splat(0.5)) + symmetric(&self.design.odd, taps)
    }
}

/// Raises the rate by 2, 4 or 8 and brings it down again.
#[derive(Clone, Debug)]
pub struct Oversampler<T> {
    up: Vec<Doubler<T>>,
    down: Vec<Halver<T>>,
}

impl<T: Real> Oversampler<T> {
    /// `doublings`: 1, 2 or 3 for a factor of 2, 4 or 8.
    pub fn new(doublings: usize) -> Self {
        Oversampler {
            up: (0..doublings).map(Doubler::new).collect(),
            down: (0..doublings).map(Halver::new).collect(),
        }
    }

    /// Factor between the rates.
    pub fn factor(&self) -> usize {
        1 << self.up.len()
    }

    /// Delay of a signal that goes up and down again, in samples of the higher rate.
    pub fn delay(&self) -> usize {
        delay(self.up.len())
    }

    /// Fills `out[..factor]` with the samples of the higher rate that follow on `x`.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn raise(&mut self, x: T, out: &mut [T; 8]) {
        out[0] = x;
        let mut count = 1;
        for doubler in &mut self.up {
            for index in (0..count).rev() {
                // Later samples must be pushed after earlier ones; keep them apart first.
                out[2 * index] = out[index];
            }
            for index in 0..count {
                let [a, b] = doubler.push(out[2 * index]);
                out[2 * index] = a;
                out[2 * index + 1] = b;
            }
            count *= 2;
        }
    }

    /// Gives one sample for `samples[..factor]`.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn lower(&mut self, samples: &mut [T; 8]) -> T {
        let mut count = self.factor();
        for halver in self.down.iter_mut().rev() {
            count /= 2;
            for index in 0..count {
                samples[index] = halver.push([samples[2 * index], samples[2 * index + 1]]);
            }
        }
        samples[0]
    }

    /// Forgets what was played: silence came in, and `level` is what stood at the output.
    pub fn settle(&mut self, level: T) {
        self.up.iter_mut().for_each(|d| d.line.fill(T::ZERO));
        for halver in &mut self.down {
            halver.even.fill(level);
            halver.odd.fill(level);
        }
    }
}

/// Delay of `doublings` doublings and halvings together, in samples of the highest rate.
pub fn delay(doublings: usize) -> usize {
    // A stage of reach r delays by 2r samples of its higher rate on the way up, and by 2r − 2 on
    // the way down, where a pair of samples has arrived before one is given.
    (0..doublings)
        .map(|stage| (4 * REACHES[stage] - 2) << (doublings - 1 - stage))
        .sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn response(doublings: usize, cycles_per_sample: f64) -> (f64, f64) {
        // Gain and delay in samples of the lower rate, by a long sine and a Hann window.
        let mut over = Oversampler::<f64>::new(doublings);
        let (mut re, mut im, mut total) = (0.0, 0.0, 0.0);
        let count = 20_000;
        for n in 0..count + 500 {
            let phase = std::f64::consts::TAU * cycles_per_sample * n as f64;
            let mut buffer = [0.0; 8];
            over.raise(phase.cos(), &mut buffer);
            let y = over.lower(&mut buffer);
            if n >= 500 {
                let w = 1.0 - (std::f64::consts::TAU * (n - 500) as f64 / count as f64).cos();
                re += y * w * phase.cos();
                im += y * w * phase.sin();
                total += w;
            }
        }
        let (re, im) = (2.0 * re / total, 2.0 * im / total);
        (
            re.hypot(im),
            im.atan2(re) / std::f64::consts::TAU / cycles_per_sample,
        )
    }

    #[test]
    fn there_and_back_is_a_pure_delay_in_the_pass_band() {
        for doublings in 1..=3 {
            let expected = delay(doublings) as f64 / (1 << doublings) as f64;
            let (_, late) = response(doublings, 0.001);
            assert!(
                (late - expected).abs() < 1e-3,
                "{doublings}: {late} {expected}"
            );
            for frequency in [0.001, 0.02, 0.1, 0.2, 0.3, 0.4, 0.415] {
                let (gain, _) = response(doublings, frequency);
                let decibels = 20.0 * gain.log10();
                assert!(
                    decibels.abs() < 0.001,
                    "{doublings} {frequency}: {decibels} dB"
                );
            }
        }
    }

    #[test]
    fn images_are_a_hundred_decibels_down() {
        // A tone at 0.3 of the lower rate has its first image at 0.7; measure it at the double rate.
        for doublings in 1..=3 {
            let mut over = Oversampler::<f64>::new(doublings);
            let factor = over.factor();
            let mut samples = Vec::new();
            for n in 0..8_000 {
                let mut buffer = [0.0; 8];
                over.raise((std::f64::consts::TAU * 0.3 * n as f64).cos(), &mut buffer);
                samples.extend_from_slice(&buffer[..factor]);
            }
            let samples = &samples[1000 * factor..];
            for image in 1..factor {
                let frequency =
                    (image as f64 + if image % 2 == 1 { -0.3 } else { 0.3 }) / factor as f64;
                for frequency in [
                    frequency,
                    (image as f64 - 0.3) / factor as f64,
                    (image as f64 + 0.3) / factor as f64,
                ] {
                    if (frequency * factor as f64 - 0.3).abs() < 1e-9 || frequency > 0.5 {
                        continue;
                    }
                    let (mut re, mut im, mut total) = (0.0, 0.0, 0.0);
                    for (n, &y) in samples.iter().enumerate() {
                        // Hann squared: side lobes far below what is looked for.
                        let w = (1.0
                            - (std::f64::consts::TAU * n as f64 / samples.len() as f64).cos())
                        .powi(2);
                        let phase = std::f64::consts::TAU * frequency * n as f64;
                        re += y * w * phase.cos();
                        im += y * w * phase.sin();
                        total += w;
                    }
                    let level = 20.0 * (2.0 * re.hypot(im) / total).log10();
                    assert!(level < -98.0, "{doublings} at {frequency}: {level} dB");
                }
            }
        }
    }
}
