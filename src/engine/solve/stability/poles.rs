//! The natural frequencies in the right half-plane, once their number is known.
//!
//! Newton's method on the logarithm of the determinant by the logarithm of the frequency, with those
//! that were found divided out.

use super::count::{Walk, turn};
use super::pencil::Pencil;
use num_complex::Complex64;

/// Step of the difference quotient, and where the iteration ends; shares of the frequency.
const DIFFERENCE: f64 = 1e-5;
const CLOSE: f64 = 1e-9;
/// Iterations from one start.
const MOST: usize = 40;
/// Largest move of the logarithm of the frequency.
const LONGEST: f64 = 1.0;
/// Starts a decade off the axis.
const A_DECADE: f64 = 3.0;
/// Of the walk's points at most so many are starts.
const FROM_WALK: usize = 24;
/// A frequency whose imaginary share is smaller is real.
const REAL: f64 = 1e-6;

/// The natural frequencies with a positive real part, rad/s, one of each pair, the fastest growing
/// first; fewer than there are when some are not found.
pub(super) fn poles(pencil: &Pencil, walk: &Walk, inside: usize) -> Vec<Complex64> {
    let mut found: Vec<Complex64> = Vec::new();
    for start in starts(walk) {
        let have: usize = found.iter().map(|p| if p.im == 0.0 { 1 } else { 2 }).sum();
        if have >= inside {
            break;
        }
        let Some(first) = newton(pencil, start, &found) else {
            continue;
        };
        let Some(mut pole) = newton(pencil, first, &[]) else {
            continue;
        };
        if pole.im.abs() < REAL * pole.norm() {
            pole.im = 0.0;
        }
        pole.im = pole.im.abs();
        let known = found.iter().any(|p| (p - pole).norm() < 1e-6 * pole.norm());
        if pole.re > 0.0 && !known {
            found.push(pole);
        }
    }
    found.sort_by(|a, b| b.re.total_cmp(&a.re));
    found
}

/// Where the determinant turns fastest along the axis, then a fan over the half-plane.
fn starts(walk: &Walk) -> Vec<Complex64> {
    let on_axis = walk
        .steps
        .windows(2)
        .filter(|w| w[0].s.re < 1e-3 * w[0].s.im);
    let mut axis: Vec<(f64, Complex64)> = on_axis
        .filter(|w| w[1].s.im > 0.0)
        .map(|w| {
            let middle = (w[0].s * w[1].s).norm().sqrt();
            let rate = turn(w[0].log.im, w[1].log.im) / (w[0].s.im / w[1].s.im).ln();
            (rate, Complex64::new(1e-3 * middle, middle))
        })
        .collect();
    axis.sort_by(|a, b| b.0.total_cmp(&a.0));
    let axis = axis.into_iter().take(FROM_WALK).map(|(_, s)| s);
    let fan = (0..(14.0 * A_DECADE) as usize).flat_map(|k| {
        let size = 10f64.powf(-3.0 + k as f64 / A_DECADE);
        [0.0_f64, 0.6, 1.2].map(|angle| Complex64::from_polar(size, angle))
    });
    axis.chain(fan).collect()
}

fn newton(pencil: &Pencil, start: Complex64, known: &[Complex64]) -> Option<Complex64> {
    let mut s = start;
    for _ in 0..MOST {
        let here = pencil.log_determinant(s);
        // As shares of the value here: it may be as small as it likes.
        let [up, down] = [1.0 + DIFFERENCE, 1.0 - DIFFERENCE]
            .map(|f| (pencil.log_determinant(s * f) - here).exp());
        if here.re == f64::NEG_INFINITY {
            return Some(s);
        }
        let mut slope = (up - down) / (2.0 * DIFFERENCE);
        for &pole in known {
            slope -= s / (s - pole);
            if pole.im != 0.0 {
                slope -= s / (s - pole.conj());
            }
        }
        let mut by = -slope.inv();
        if !by.is_finite() {
            return None;
        }
        if by.norm() > LONGEST {
            by *= LONGEST / by.norm();
        }
        s *= by.exp();
        if by.norm() < CLOSE {
            return Some(s);
        }
        // Left of the axis nothing is wanted.
        if !(1e-6..1e13).contains(&s.norm()) || s.re < -0.7 * s.norm() {
            return None;
        }
    }
    None
}
