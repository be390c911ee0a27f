//! Averaged auto and cross spectra of what went into an amp and what came out: Hann windows of
//! about 0.17 s that overlap by half, sorted by how loud the input is in each.
//!
//! P. D. Welch, IEEE Trans. Audio Electroacoust. 15(2), 1967, for the averaging; J. Bendat,
//! A. Piersol, Random Data (4th ed., chapter 6; from memory) for what the spectra are good for.

use num_complex::Complex64;
use std::f64::consts::TAU;
use std::ops::{AddAssign, SubAssign};

/// Least length of a window, s: 8192 samples at 48 kHz, lines 5.9 Hz apart.
const WINDOW_SECONDS: f64 = 0.17;
/// Groups that the windows of a class are put into by time, for the jackknife.
pub const GROUPS: usize = 12;
/// Playing stands at most so far below its loud windows, dB; what lies below is a rest, in which
/// only hum and hiss are heard.
const REST_DB: f64 = 40.0;
/// The loud windows: this share of all from below.
const LOUD_SHARE: f64 = 0.95;
/// Least number of windows of a class that says something by itself: with 24 averages a coherence of
/// nothing comes out as 1/24 before its bias is taken off.
pub const LEAST_WINDOWS: usize = 24;

/// Length of a window at a rate in hertz, samples: a power of two.
pub fn window_length(rate: u32) -> usize {
    ((WINDOW_SECONDS * f64::from(rate)) as usize).next_power_of_two()
}

/// How loud the input is in a window.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Class {
    /// No playing, or outside the sound.
    Rest,
    /// The quiet third of the playing.
    Quiet,
    /// Between, or all of it where thirds would be too small.
    Middle,
    /// The loud third.
    Loud,
}

/// The windows of an input: where they are and how loud.
#[derive(Clone, Debug)]
pub struct Windows {
    /// Samples in a window.
    pub length: usize,
    /// Mean square of the input under each window's own weighting; they start half a length apart.
    pub powers: Vec<f64>,
    /// Their classes.
    pub classes: Vec<Class>,
    /// Largest mean square of the quiet class; none where there are no classes.
    pub quiet_below: Option<f64>,
}

/// The weights of a window.
pub fn hann(length: usize) -> Vec<f64> {
    let at = |n: usize| 0.5 * (1.0 - (TAU * n as f64 / length as f64).cos());
    (0..length).map(at).collect()
}

impl Windows {
    /// Sorts the windows of an input.
    pub fn new(input: &[f32], rate: u32) -> Self {
        let length = window_length(rate);
        let hop = length / 2;
        let weights = hann(length);
        let whole: f64 = weights.iter().map(|w| w * w).sum();
        let count = (input.len() + hop).saturating_sub(length) / hop;
        let powers: Vec<f64> = (0..count)
            .map(|i| {
                let piece = &input[i * hop..i * hop + length];
                let sum: f64 = piece
                    .iter()
                    .zip(&weights)
                    .map(|(&s, w)| (f64::from(s) * w).powi(2))
                    .sum();
                sum / whole
            })
            .collect();
        let mut sorted = powers.clone();
        sorted.sort_by(f64::total_cmp);
        let loud = sorted
            .get((LOUD_SHARE * count as f64) as usize)
            .copied()
            .unwrap_or(0.0);
        let floor = loud * 10f64.powf(-REST_DB / 10.0);
        sorted.retain(|&power| power > floor);
        let third = sorted.len() / 3;
        let edges =
            (third >= LEAST_WINDOWS).then(|| [sorted[third - 1], sorted[sorted.len() - third]]);
        let class = |power: f64| match edges {
            _ if power <= floor => Class::Rest,
            Some([quiet, _]) if power <= quiet => Class::Quiet,
            Some([_, loud]) if power >= loud => Class::Loud,
            _ => Class::Middle,
        };
        Windows {
            classes: powers.iter().map(|&power| class(power)).collect(),
            quiet_below: edges.map(|[quiet, _]| quiet),
            powers,
            length,
        }
    }

    /// The same windows without thirds, so that groups follow one another in time.
    pub fn unsorted(&self) -> Self {
        let unsorted = |class: &Class| match class {
            Class::Rest => Class::Rest,
            _ => Class::Middle,
        };
        Windows {
            classes: self.classes.iter().map(unsorted).collect(),
            ..self.clone()
        }
    }

    /// The rests alone, as if they were played.
    pub fn rests(&self) -> Self {
        let rest = |class: &Class| match class {
            Class::Rest => Class::Middle,
            _ => Class::Rest,
        };
        Windows {
            classes: self.classes.iter().map(rest).collect(),
            ..self.clone()
        }
    }

    /// How many windows of a class.
    pub fn count(&self, class: Class) -> usize {
        self.classes.iter().filter(|c| **c == class).count()
    }

    /// Mean power of a class.
    pub fn power(&self, class: Class) -> f64 {
        let of_class = self.classes.iter().zip(&self.powers);
        let sum: f64 = of_class.filter(|(c, _)| **c == class).map(|(_, p)| p).sum();
        sum / self.count(class).max(1) as f64
    }
}

/// Sums over windows, a value a line of the transform.
#[derive(Clone, Debug, Default)]
pub struct Sums {
    /// How many windows.
    pub windows: usize,
    /// Sum of their starts, samples.
    pub starts: f64,
    /// |X|² of the input.
    pub input: Vec<f64>,
    /// |Y|² of the output.
    pub output: Vec<f64>,
    /// X*·Y.
    pub cross: Vec<Complex64>,
}

impl Sums {
    fn zero(lines: usize) -> Self {
        Sums {
            windows: 0,
            starts: 0.0,
            input: vec![0.0; lines],
            output: vec![0.0; lines],
            cross: vec![Complex64::ZERO; lines],
        }
    }
}

fn each<T: Copy>(to: &mut [T], from: &[T], act: impl Fn(&mut T, T)) {
    to.iter_mut()
        .zip(from)
        .for_each(|(to, from)| act(to, *from));
}

impl AddAssign<&Sums> for Sums {
    fn add_assign(&mut self, other: &Sums) {
        self.windows += other.windows;
        self.starts += other.starts;
        each(&mut self.input, &other.input, |a, b| *a += b);
        each(&mut self.output, &other.output, |a, b| *a += b);
        each(&mut self.cross, &other.cross, |a, b| *a += b);
    }
}

impl SubAssign<&Sums> for Sums {
    fn sub_assign(&mut self, other: &Sums) {
        self.windows -= other.windows;
        self.starts -= other.starts;
        each(&mut self.input, &other.input, |a, b| *a -= b);
        each(&mut self.output, &other.output, |a, b| *a -= b);
        each(&mut self.cross, &other.cross, |a, b| *a -= b);
    }
}

/// The sums of a measurement, by class and group.
#[derive(Clone, Debug)]
pub struct Spectra {
    /// Rate, Hz.
    pub rate: u32,
    /// Samples in a window.
    pub length: usize,
    /// Quiet, middle, loud; in each, [`GROUPS`] groups of as many windows that follow one another.
    sums: [Vec<Sums>; 3],
}

const CLASSES: [Class; 3] = [Class::Quiet, Class::Middle, Class::Loud];

impl Spectra {
    /// Adds up the windows of `input` and those of `output` that belong to them: `later(start)` tells
    /// how many samples later the output of a window is that begins at `start`, a whole number and a
    /// fraction. Windows that reach beyond the output are left out.
    pub fn new(
        input: &[f32],
        output: &[f32],
        rate: u32,
        windows: &Windows,
        later: impl Fn(usize) -> (i64, f64),
    ) -> Self {
        let length = windows.length;
        let weights = hann(length);
        let transform = fourier::forward(length);
        let mut samples = vec![0.0; length];
        let [mut x, mut y] = [transform.make_output_vec(), transform.make_output_vec()];
        let mut scratch = transform.make_scratch_vec();
        let mut spectrum = |piece: &[f32], lines: &mut [Complex64]| {
            for ((slot, &sample), weight) in samples.iter_mut().zip(piece).zip(&weights) {
                *slot = f64::from(sample) * weight;
            }
            // The lengths come from the plan itself.
            let done = transform.process_with_scratch(&mut samples, lines, &mut scratch);
            debug_assert!(done.is_ok());
        };
        let sums = CLASSES.map(|class| {
            let starts: Vec<(usize, usize, f64)> = windows
                .classes
                .iter()
                .enumerate()
                .filter(|(_, c)| **c == class)
                .filter_map(|(i, _)| {
                    let start = i * length / 2;
                    let (whole, fraction) = later(start);
                    let heard = usize::try_from(start as i64 + whole).ok()?;
                    (heard + length <= output.len()).then_some((start, heard, fraction))
                })
                .collect();
            let mut groups = vec![Sums::zero(length / 2 + 1); GROUPS];
            for (i, &(start, heard, fraction)) in starts.iter().enumerate() {
                let sums = &mut groups[i * GROUPS / starts.len()];
                spectrum(&input[start..start + length], &mut x);
                spectrum(&output[heard..heard + length], &mut y);
                let turn = TAU * fraction / length as f64;
                sums.windows += 1;
                sums.starts += start as f64;
                for (k, (x, y)) in x.iter().zip(&y).enumerate() {
                    let mut cross = x.conj() * y;
                    if fraction != 0.0 {
                        cross *= Complex64::cis(turn * k as f64);
                    }
                    sums.input[k] += x.norm_sqr();
                    sums.output[k] += y.norm_sqr();
                    sums.cross[k] += cross;
                }
            }
            groups
        });
        Spectra { rate, length, sums }
    }

    /// The groups of some classes: group by group, the classes added.
    pub fn groups(&self, classes: &[Class]) -> Vec<Sums> {
        let mut groups = vec![Sums::zero(self.length / 2 + 1); GROUPS];
        for (of_class, class) in self.sums.iter().zip(CLASSES) {
            if classes.contains(&class) {
                groups.iter_mut().zip(of_class).for_each(|(g, s)| *g += s);
            }
        }
        groups
    }

    /// Everything but rests.
    pub fn all(&self) -> Vec<Sums> {
        self.groups(&CLASSES)
    }
}

/// The sum of groups.
pub fn total(groups: &[Sums]) -> Sums {
    let mut sum = groups[0].clone();
    groups[1..].iter().for_each(|group| sum += group);
    sum
}
