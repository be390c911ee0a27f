//! How much later a recording is than the dry track, and whether it is upside down: first by
//! cross-correlation at a low rate, then to a fraction of a sample by the peak of the correlation
//! that the averaged cross spectra make, and how far two recorders' clocks drift apart.

use super::spectra::{Spectra, Sums, Windows, total};
use num_complex::Complex64;
use std::f64::consts::TAU;

/// The rate that the first search is done at, Hz, or up to twice that.
const COARSE_RATE: u32 = 8000;
/// The band that the searches look at, Hz: where a guitar amp speaks.
const COARSE_BAND: [f64; 2] = [70.0, 3400.0];
const FINE_BAND: [f64; 2] = [100.0, 5000.0];
/// Width that spectra are evened out over before they are levelled, Hz: wide against the spacing of
/// a guitar's overtones, or rests between them would be blown up.
const EVEN_HZ: f64 = 200.0;
/// Coherence that a line is credited with at most in the fine search.
const MOST_COHERENCE: f64 = 0.99;
/// Most drift that is looked for, a share: two cheap quartz clocks differ by less than 100 ppm
/// (common practice, no source).
const MOST_DRIFT: f64 = 200e-6;
/// Drift that adds up to less than this over the whole is none, s: 9° at 5 kHz.
const NO_DRIFT_SECONDS: f64 = 5e-6;

/// Where in the recording the dry track is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Delay {
    /// Samples that the recording is later at the dry track's first sample.
    pub samples: f64,
    /// Samples by which it is later still with every sample.
    pub drift: f64,
    /// Whether it is upside down.
    pub inverted: bool,
}

impl Delay {
    /// How much later what begins at a sample is: a whole number of samples and a fraction from
    /// −0.5 to 0.5.
    pub fn at(&self, start: usize) -> (i64, f64) {
        let later = self.samples + self.drift * start as f64;
        (later.round() as i64, later - later.round())
    }
}

/// Finds the delay; none when there is no correlation at all (silence). `least` is the number of
/// samples that the two must have in common.
pub fn find(
    dry: &[f32],
    heard: &[f32],
    rate: u32,
    windows: &Windows,
    least: usize,
) -> Option<Delay> {
    let step = (rate / COARSE_RATE).max(1) as usize;
    let coarse = coarse(dry, heard, rate, step, least)?;
    let windows = windows.unsorted();
    let by_time = |delay: Delay| {
        let spectra = Spectra::new(dry, heard, rate, &windows, |start| delay.at(start));
        spectra.all()
    };
    let mut delay = Delay {
        samples: coarse as f64,
        drift: 0.0,
        inverted: false,
    };
    let mut groups = by_time(delay);
    let drift = drift(&groups, rate, windows.length);
    let mut reach = 2 * step + 2;
    if drift.abs() * dry.len() as f64 / f64::from(rate) > NO_DRIFT_SECONDS {
        delay.drift = drift;
        // The correlation has seen the middle of it, or any other place.
        let half = drift * 0.5 * dry.len() as f64;
        delay.samples -= half;
        reach += half.abs() as usize;
        groups = by_time(delay);
    }
    let (later, inverted) = fine(&total(&groups), rate, windows.length, reach);
    delay.samples += later;
    delay.inverted = inverted;
    Some(delay)
}

/// The lag of the highest peak of the correlation, to the nearest `step` samples.
fn coarse(dry: &[f32], heard: &[f32], rate: u32, step: usize, least: usize) -> Option<i64> {
    let slower = |samples: &[f32]| -> Vec<f64> {
        let mean = |piece: &[f32]| piece.iter().map(|&s| f64::from(s)).sum::<f64>() / step as f64;
        samples.chunks(step).map(mean).collect()
    };
    let (dry, heard, least) = (slower(dry), slower(heard), least / step);
    let length = (dry.len() + heard.len()).next_power_of_two();
    let forward = fourier::forward(length);
    let spectrum = |samples: &[f64]| {
        let mut padded = samples.to_vec();
        padded.resize(length, 0.0);
        let mut lines = forward.make_output_vec();
        forward.process(&mut padded, &mut lines).ok()?;
        Some(lines)
    };
    let (x, y) = (spectrum(&dry)?, spectrum(&heard)?);
    let spacing = f64::from(rate) / step as f64 / length as f64;
    let width = (EVEN_HZ / spacing) as usize + 1;
    let (level_x, level_y) = (evened(&x, width), evened(&y, width));
    let mut product: Vec<Complex64> = x
        .iter()
        .zip(&y)
        .enumerate()
        .map(|(k, (x, y))| {
            let scale = (level_x[k] * level_y[k]).sqrt();
            let inside = (COARSE_BAND[0]..COARSE_BAND[1]).contains(&(k as f64 * spacing));
            match inside && scale > 0.0 {
                true => x.conj() * y / scale,
                false => Complex64::ZERO,
            }
        })
        .collect();
    let inverse = fourier::inverse(length);
    let mut correlation = inverse.make_output_vec();
    inverse.process(&mut product, &mut correlation).ok()?;
    let lag = |i: usize| match i < heard.len() {
        true => i as i64,
        false => i as i64 - length as i64,
    };
    let common = |lag: i64| {
        let end = (dry.len() as i64 + lag).min(heard.len() as i64);
        end - lag.max(0)
    };
    let (lag, peak) = correlation
        .iter()
        .enumerate()
        .map(|(i, value)| (lag(i), value.abs()))
        .filter(|(lag, _)| common(*lag) >= least as i64)
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    (peak > 0.0).then_some(lag * step as i64)
}

/// Powers of a spectrum, evened out over so many lines.
fn evened(lines: &[Complex64], width: usize) -> Vec<f64> {
    let mut sums = vec![0.0];
    for line in lines {
        sums.push(sums[sums.len() - 1] + line.norm_sqr());
    }
    (0..lines.len())
        .map(|k| {
            let [low, high] = [
                k.saturating_sub(width / 2),
                (k + width / 2 + 1).min(lines.len()),
            ];
            (sums[high] - sums[low]) / (high - low) as f64
        })
        .collect()
}

/// The lines of a transform that the fine searches look at.
fn fine_lines(rate: u32, length: usize) -> std::ops::Range<usize> {
    let line = |hz: f64| (hz * length as f64 / f64::from(rate)) as usize;
    line(FINE_BAND[0])..line(FINE_BAND[1]).min(length / 2)
}

/// Delay that is left over in averaged cross spectra, samples, sought within `reach` either way,
/// and whether the correlation's peak is negative.
///
/// Lines are weighted by γ²/(1 − γ²) (E. Hannan, P. Thomson; C. Knapp, G. Carter, IEEE Trans. ASSP
/// 24(4), 1976; from memory). Of a mere delay every line has the same phase at the peak, whatever the
/// weights: the peak of the sum, which is not bound to whole samples, has no bias.
fn fine(sums: &Sums, rate: u32, length: usize, reach: usize) -> (f64, bool) {
    let weighted: Vec<(f64, Complex64)> = fine_lines(rate, length)
        .filter(|&k| sums.cross[k].norm_sqr() > 0.0)
        .map(|k| {
            let power = sums.input[k] * sums.output[k];
            let coherence = (sums.cross[k].norm_sqr() / power).min(MOST_COHERENCE);
            let weight = coherence / (1.0 - coherence) / sums.cross[k].norm();
            (TAU * k as f64 / length as f64, sums.cross[k] * weight)
        })
        .collect();
    let at = |later: f64| -> f64 {
        let turned = weighted
            .iter()
            .map(|(w, s)| (s * Complex64::cis(w * later)).re);
        turned.sum()
    };
    // Half a sample is a twentieth of the band's shortest period at 48 kHz.
    let start = (-2 * reach as i64..=2 * reach as i64)
        .map(|i| i as f64 * 0.5)
        .max_by(|a, b| at(*a).abs().total_cmp(&at(*b).abs()))
        .unwrap_or(0.0);
    let sign = at(start).signum();
    (
        peak(|later| sign * at(later), start - 0.5, start + 0.5),
        sign < 0.0,
    )
}

/// The place of the highest value between two, by golden section, to a thousandth of the interval's
/// thousandth.
fn peak(value: impl Fn(f64) -> f64, mut low: f64, mut high: f64) -> f64 {
    const GOLDEN: f64 = 0.618_033_988_749_895;
    // 0.618^30 is 5e-7.
    for _ in 0..30 {
        let (a, b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
        match value(a) > value(b) {
            true => high = b,
            false => low = a,
        }
    }
    0.5 * (low + high)
}

/// By how much the delay grows with time, samples a sample: from the phases between groups of
/// windows that follow one another, in which the amp's own phase cancels. First between neighbours,
/// then ever further apart.
fn drift(groups: &[Sums], rate: u32, length: usize) -> f64 {
    let groups: Vec<&Sums> = groups.iter().filter(|g| g.windows > 0).collect();
    let time = |group: &Sums| group.starts / group.windows as f64;
    let lines = fine_lines(rate, length);
    let omega = |k: usize| TAU * k as f64 / length as f64;
    let highest = omega(lines.end);
    let mut best = 0.0;
    let mut width = MOST_DRIFT;
    let mut apart = 1;
    while apart < groups.len() {
        let pairs: Vec<(f64, Vec<(f64, Complex64)>)> = groups
            .iter()
            .zip(&groups[apart..])
            .map(|(a, b)| {
                let product = |k: usize| {
                    let power = a.input[k] * a.output[k] * b.input[k] * b.output[k];
                    let line = b.cross[k] * a.cross[k].conj();
                    (
                        omega(k),
                        if power > 0.0 {
                            line / power.sqrt()
                        } else {
                            Complex64::ZERO
                        },
                    )
                };
                // Every fourth line is enough: neighbours hang together.
                (
                    time(b) - time(a),
                    lines.clone().step_by(4).map(product).collect(),
                )
            })
            .collect();
        let at = |drift: f64| -> f64 {
            let of_pair = |(time, lines): &(f64, Vec<(f64, Complex64)>)| -> f64 {
                let turned = lines
                    .iter()
                    .map(|(w, s)| (s * Complex64::cis(w * drift * time)).re);
                turned.sum()
            };
            pairs.iter().map(of_pair).sum()
        };
        let longest = pairs.iter().fold(1.0, |most: f64, pair| most.max(pair.0));
        // An eighth of the highest line's period from one place to the next.
        let step = TAU / 8.0 / (highest * longest);
        let steps = (width / step).ceil() as i64;
        best = (-steps..=steps)
            .map(|i| best + i as f64 * step)
            .max_by(|a, b| at(*a).total_cmp(&at(*b)))
            .unwrap_or(best);
        best = peak(at, best - step, best + step);
        width = 2.0 * step;
        apart *= 2;
    }
    best
}
