//! What a loudspeaker radiates, as digital second-order sections: analogue sections at a rate, and
//! the filter of several lanes that runs them.
//!
//! Poles are carried over exactly (`z = e^{sT}`); the numerator is chosen so that the magnitude is
//! the analogue one at 0 Hz and two other frequencies, after M. Vicanek, "Matched Second Order
//! Digital Filters", 2016 (from memory; the two frequencies are our own choice, measured). With the
//! bilinear transform a roll-off at 5 kHz would be 3 dB low at 10 kHz at a rate of 44.1 kHz.

use crate::device::acoustics::{AnalogSection, MOST_SECTIONS};
use num_complex::Complex64;
use std::f64::consts::{PI, TAU};

/// Coefficients of one digital section, that of the newest output being 1.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Section {
    /// Of the newest input, the one before, and the one before that.
    b: [f64; 3],
    /// Of the last output and the one before, to be taken off.
    a: [f64; 2],
}

impl Section {
    fn at(&self, hz: f64, rate: f64) -> Complex64 {
        let z = Complex64::from_polar(1.0, -TAU * hz / rate);
        let Section {
            b: [b0, b1, b2],
            a: [a1, a2],
        } = self;
        (b0 + z * (b1 + z * b2)) / (1.0 + z * (a1 + z * a2))
    }
}

/// A section that leaves the sound alone.
const STRAIGHT: Section = Section {
    b: [1.0, 0.0, 0.0],
    a: [0.0, 0.0],
};

/// Where the magnitude is matched besides 0 Hz, as shares of the rate: the corner, but at most the
/// first, and the second.
const MATCHED: [(f64, f64); 3] = [(0.12, 0.24), (0.2, 0.4), (0.4, 0.5)];

/// Where a section is to be right, Hz: a loudspeaker for guitars gives next to nothing above.
const HEARD_HZ: [f64; 2] = [20.0, 10_000.0];
/// Steps in which that is looked at.
const GRID: u32 = 60;

/// One loudspeaker's sections at a rate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Voicing {
    sections: [Section; MOST_SECTIONS],
    count: usize,
}

impl Voicing {
    /// What leaves the sound alone.
    pub const STRAIGHT: Voicing = Voicing {
        sections: [STRAIGHT; MOST_SECTIONS],
        count: 0,
    };

    /// Analogue sections, at most [`MOST_SECTIONS`], at a rate in hertz. Their zeros lie in the
    /// left half-plane or at its edge, as those of all sections of [`crate::device`] do; others
    /// would be mirrored, which keeps the magnitude.
    pub fn new(analog: impl IntoIterator<Item = AnalogSection>, rate: f64) -> Self {
        let mut voicing = Voicing::STRAIGHT;
        for (place, section) in voicing.sections.iter_mut().zip(analog) {
            *place = digital(&section, rate);
            voicing.count += 1;
        }
        voicing
    }

    /// Complex gain at a frequency in hertz, at the rate in hertz that it was made for.
    pub fn at(&self, hz: f64, rate: f64) -> Complex64 {
        self.sections[..self.count]
            .iter()
            .map(|section| section.at(hz, rate))
            .product()
    }
}

/// `|n₀ + n₁·jω + n₂·(jω)²|²`.
fn power([n0, n1, n2]: [f64; 3], omega: f64) -> f64 {
    (n0 - n2 * omega * omega).powi(2) + (n1 * omega).powi(2)
}

/// Denominator with the poles of `d₀ + d₁·s + d₂·s²` after a step of `seconds`.
fn poles([d0, d1, d2]: [f64; 3], seconds: f64) -> [f64; 2] {
    if d2 == 0.0 {
        return match d1 == 0.0 {
            true => [0.0, 0.0],
            false => [-(-d0 / d1 * seconds).exp(), 0.0],
        };
    }
    let damping = d1 / (2.0 * d2);
    let square = d0 / d2 - damping * damping;
    let turn = match square >= 0.0 {
        true => (square.sqrt() * seconds).cos(),
        false => ((-square).sqrt() * seconds).cosh(),
    };
    let decay = (-damping * seconds).exp();
    [-2.0 * decay * turn, decay * decay]
}

/// An analogue section at a rate: of the ways to write it, the one whose curve is nearest where it
/// is heard.
fn digital(section: &AnalogSection, rate: f64) -> Section {
    let AnalogSection {
        numerator,
        denominator,
    } = *section;
    let a = poles(denominator, 1.0 / rate);
    let [d0, d1, d2] = denominator;
    let corner = match d2 == 0.0 {
        true => d0 / d1.abs() / TAU,
        false => (d0 / d2).sqrt() / TAU,
    };
    // What is negative throughout is a turned phase.
    let negative = numerator.iter().sum::<f64>() < 0.0;
    let sign = if negative { -1.0 } else { 1.0 };
    let matched = MATCHED.iter().filter_map(|&(low, high)| {
        let hz = [corner.min(low * rate), high * rate];
        matched(numerator, denominator, a, hz, rate)
    });
    let cut = double_zero(
        numerator,
        denominator,
        a,
        corner.min(MATCHED[0].0 * rate),
        rate,
    );
    let highest = HEARD_HZ[1].min(0.45 * rate);
    let error = |candidate: &Section| {
        (0..=GRID)
            .map(|i| HEARD_HZ[0] * (highest / HEARD_HZ[0]).powf(f64::from(i) / f64::from(GRID)))
            .map(|hz| {
                (candidate.at(hz, rate).norm() / section.at(hz).norm())
                    .ln()
                    .abs()
            })
            .fold(0.0, f64::max)
    };
    matched
        .chain(cut)
        .map(|b| Section {
            b: b.map(|b| sign * b),
            a,
        })
        .chain([bilinear(section, corner, rate)])
        .map(|candidate| (error(&candidate), candidate))
        .filter(|(error, _)| error.is_finite())
        .min_by(|(one, _), (two, _)| one.total_cmp(two))
        .map_or(STRAIGHT, |(_, candidate)| candidate)
}

/// A numerator with both zeros at 0 Hz, as a low cut has them, for the analogue magnitude at `hz`;
/// none for another section.
fn double_zero(
    numerator: [f64; 3],
    denominator: [f64; 3],
    a: [f64; 2],
    hz: f64,
    rate: f64,
) -> Option<[f64; 3]> {
    let own = Section {
        b: [1.0, -2.0, 1.0],
        a,
    };
    let wanted = (power(numerator, TAU * hz) / power(denominator, TAU * hz)).sqrt();
    let gain = wanted / own.at(hz, rate).norm();
    let low_cut = numerator[0] == 0.0 && numerator[1] == 0.0;
    low_cut.then(|| own.b.map(|b| gain * b))
}

/// The numerator whose magnitude over the denominator `a` is the analogue one at 0 Hz and two other
/// frequencies, all zeros inside the unit circle or on it; none where there is none.
///
/// With `φ = sin²(πf/rate)` the square of the magnitude of `b₀ + b₁z⁻¹ + b₂z⁻²` is
/// `B₀(1−φ) + B₁φ + B₂·4φ(1−φ)`, where `B₀ = (b₀+b₁+b₂)²`, `B₁ = (b₀−b₁+b₂)²`, `B₂ = −4b₀b₂`:
/// linear in the three, which are then solved for the coefficients.
fn matched(
    numerator: [f64; 3],
    denominator: [f64; 3],
    a: [f64; 2],
    hz: [f64; 2],
    rate: f64,
) -> Option<[f64; 3]> {
    let [a1, a2] = a;
    let at_zero = (1.0 + a1 + a2).powi(2);
    let analogue = |hz: f64| power(numerator, TAU * hz) / power(denominator, TAU * hz);
    let sum = analogue(0.0) * at_zero;
    let [one, two] = hz.map(|hz| {
        let phi = (PI * hz / rate).sin().powi(2);
        let psi = 4.0 * phi * (1.0 - phi);
        let below = at_zero * (1.0 - phi) + (1.0 - a1 + a2).powi(2) * phi - 4.0 * a2 * psi;
        (phi, psi, analogue(hz) * below - sum * (1.0 - phi))
    });
    let determinant = one.0 * two.1 - one.1 * two.0;
    let difference = (one.2 * two.1 - one.1 * two.2) / determinant;
    let product = (one.0 * two.2 - one.2 * two.0) / determinant;
    if difference.is_nan() || difference < 0.0 {
        return None;
    }
    let half = 0.5 * (sum.sqrt() + difference.sqrt());
    let root = half * half + product;
    let b0 = 0.5 * (half + root.max(0.0).sqrt());
    let usable = root >= 0.0 && b0 > 0.0;
    usable.then(|| {
        let b1 = 0.5 * (sum.sqrt() - difference.sqrt());
        [b0, b1, -product / (4.0 * b0)]
    })
}

/// The bilinear transform, exact at the corner as far as it lies below 0.45 of the rate.
fn bilinear(section: &AnalogSection, corner: f64, rate: f64) -> Section {
    let hz = corner.min(0.45 * rate);
    let k = match hz > 0.0 {
        true => TAU * hz / (PI * hz / rate).tan(),
        false => 2.0 * rate,
    };
    let turned = |[c0, c1, c2]: [f64; 3]| {
        [
            c0 + c1 * k + c2 * k * k,
            2.0 * (c0 - c2 * k * k),
            c0 - c1 * k + c2 * k * k,
        ]
    };
    let b = turned(section.numerator);
    let [a0, a1, a2] = turned(section.denominator);
    Section {
        b: b.map(|b| b / a0),
        a: [a1 / a0, a2 / a0],
    }
}

/// Coefficients and memory of one section in all lanes; transposed direct form II.
#[derive(Clone, Copy, Debug)]
struct Stage<const N: usize> {
    b: [[f64; N]; 3],
    a: [[f64; N]; 2],
    memory: [[f64; N]; 2],
}

/// The filter of `N` lanes, each with a loudspeaker of its own. It adds no delay.
#[derive(Clone, Debug)]
pub struct Sections<const N: usize> {
    stages: [Stage<N>; MOST_SECTIONS],
    counts: [usize; N],
}

impl<const N: usize> Sections<N> {
    /// At rest, with a loudspeaker a lane.
    pub fn new(voicings: [&Voicing; N]) -> Self {
        let straight = Stage {
            b: [[1.0; N], [0.0; N], [0.0; N]],
            a: [[0.0; N]; 2],
            memory: [[0.0; N]; 2],
        };
        let mut sections = Sections {
            stages: [straight; MOST_SECTIONS],
            counts: [0; N],
        };
        for (lane, voicing) in voicings.into_iter().enumerate() {
            sections.set(lane, voicing);
        }
        sections
    }

    /// Puts another loudspeaker into a lane from the next sample on. What still rings goes on
    /// through it, so this belongs into a silence.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn set(&mut self, lane: usize, voicing: &Voicing) {
        self.counts[lane] = voicing.count;
        for (stage, section) in self.stages.iter_mut().zip(&voicing.sections) {
            for (place, value) in stage.b.iter_mut().zip(section.b) {
                place[lane] = value;
            }
            for (place, value) in stage.a.iter_mut().zip(section.a) {
                place[lane] = value;
            }
        }
    }

    /// Back to rest.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn reset(&mut self) {
        for stage in &mut self.stages {
            stage.memory = [[0.0; N]; 2];
        }
    }

    /// Filters in place, one line a lane, all of one length.
    ///
    /// # Real-time
    /// Allocates nothing; the result does not depend on how a signal is cut into blocks.
    pub fn process(&mut self, lines: &mut [&mut [f64]; N]) {
        let count = self.counts.iter().copied().max().unwrap_or(0);
        let length = lines.first().map_or(0, |line| line.len());
        (0..length).for_each(|i| {
            let mut x: [f64; N] = std::array::from_fn(|lane| lines[lane][i]);
            for Stage { b, a, memory } in &mut self.stages[..count] {
                let mut y = [0.0; N];
                for lane in 0..N {
                    y[lane] = b[0][lane] * x[lane] + memory[0][lane];
                    memory[0][lane] = b[1][lane] * x[lane] - a[0][lane] * y[lane] + memory[1][lane];
                    memory[1][lane] = b[2][lane] * x[lane] - a[1][lane] * y[lane];
                }
                x = y;
            }
            for (lane, value) in x.into_iter().enumerate() {
                lines[lane][i] = value;
            }
        });
    }
}
