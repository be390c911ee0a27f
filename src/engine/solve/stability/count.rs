//! How many natural frequencies lie in the right half-plane, by the argument principle.
//!
//! The determinant of the nodal equations is a polynomial over the product of the coils'
//! denominators, whose zeros are those of passive branches and lie on the left. So the turns that it
//! makes along the border of the right half-plane count the natural frequencies that grow (H. W. Bode,
//! Network Analysis and Feedback Amplifier Design, 1945, chapter VIII; from memory). The border is
//! the imaginary axis up to a radius far above what valves and wiring can do, and an arc from there.
//! Being real on the real axis, the determinant turns by as much below it: one half is walked.

use super::pencil::Pencil;
use num_complex::Complex64;
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Radius of the arc, rad/s.
const RADIUS: f64 = 1e12;
/// Where the axis ends above the origin, rad/s: below the slowest corner of any coil.
const LEAST: f64 = 1e-9;
/// Points a decade, and on the arc, at the start.
const A_DECADE: usize = 8;
const ON_ARC: usize = 8;
/// Largest turn between two points, rad.
const TURN: f64 = 0.7;
/// How far the logarithm of the size may lie off the line between its neighbours. A natural frequency
/// on the axis lies within half a step of some point, and there it comes to 0.55 or more.
const BEND: f64 = 0.2;
/// How far the sum may lie off a whole number.
const WHOLE: f64 = 1e-2;
/// Rounds of halving: natural frequencies nearer to the axis than 2⁻⁴⁰ of a step are not told apart
/// from those on it.
const ROUNDS: usize = 40;
/// Points beyond which the walk is given up: where rounding decides (values of parts that are far from
/// any amp's), halving finds no end. An amp takes some hundreds.
const MOST_STEPS: usize = 4000;

/// A point of the walk, its place along it, and the logarithm of the determinant there, its angle less
/// the one that the power of the frequency that it goes with far out turns by.
pub(super) struct Step {
    place: f64,
    pub s: Complex64,
    pub log: Complex64,
}

/// The walk from the real axis over the arc down to the origin.
pub(super) struct Walk {
    pub steps: Vec<Step>,
    /// Natural frequencies inside, those of a pair counted singly; none if the walk is in doubt.
    pub inside: Option<usize>,
}

/// Along the walk, 0 to 1 is the arc, 1 to 2 the axis downwards by its logarithm, 2 the origin.
fn at(place: f64) -> Complex64 {
    if place <= 1.0 {
        return Complex64::from_polar(RADIUS, place * FRAC_PI_2);
    }
    if place >= 2.0 {
        return Complex64::ZERO;
    }
    let omega = RADIUS * (LEAST / RADIUS).powf(place - 1.0);
    Complex64::new(0.0, omega)
}

/// The shorter way round from one angle to another.
pub(super) fn turn(from: f64, to: f64) -> f64 {
    let difference = to - from;
    difference - TAU * (difference / TAU).round()
}

/// Walks round the right half-plane.
pub(super) fn walk(pencil: &Pencil) -> Walk {
    let Half {
        steps,
        turned,
        sure,
    } = half(pencil);
    let inside = sure.then(|| whole(turned / PI)).flatten();
    Walk { steps, inside }
}

/// How many natural frequencies lie inside when the equations are not real: `conjugate` holds their
/// complex conjugates, whose walk is the lower half.
pub(super) fn inside_of_complex(pencil: &Pencil, conjugate: &Pencil) -> Option<usize> {
    let [upper, lower] = [pencil, conjugate].map(half);
    let sum = upper.turned + lower.turned;
    let sure = upper.sure && lower.sure;
    sure.then(|| whole(sum / TAU)).flatten()
}

/// The walk over the upper half.
struct Half {
    steps: Vec<Step>,
    /// What the determinant turned by, rad.
    turned: f64,
    /// Whether the steps are fine enough.
    sure: bool,
}

/// The power of the frequency that the determinant goes with far out: on the arc it turns the
/// determinant faster than any reasonable number of points would show.
fn power(pencil: &Pencil) -> f64 {
    let [near, far] = [RADIUS, 2.0 * RADIUS].map(|s| pencil.log_determinant(s.into()).re);
    ((far - near) / std::f64::consts::LN_2).round()
}

fn whole(turns: f64) -> Option<usize> {
    let count = turns.round();
    ((turns - count).abs() < WHOLE && count >= 0.0).then_some(count as usize)
}

fn half(pencil: &Pencil) -> Half {
    let power = power(pencil);
    let new = |place: f64| {
        let s = at(place);
        let mut log = pencil.log_determinant(s);
        log.im -= power * FRAC_PI_2 * place.min(1.0);
        Step { place, s, log }
    };
    let decades = (RADIUS / LEAST).log10().round() as usize;
    let axis = A_DECADE * decades;
    let arc = (0..ON_ARC).map(|k| k as f64 / ON_ARC as f64);
    let down = (0..=axis).map(|k| 1.0 + k as f64 / axis as f64);
    let mut steps: Vec<Step> = arc.chain(down).map(new).collect();
    let mut sure = false;
    for _ in 0..ROUNDS {
        let rough = rough(&steps);
        sure = !rough.contains(&true);
        let lost = steps.iter().any(|step| !step.log.is_finite());
        if sure || lost || steps.len() > MOST_STEPS {
            break;
        }
        let mut finer = Vec::with_capacity(2 * steps.len());
        for (index, step) in steps.into_iter().enumerate() {
            if index > 0 && rough[index - 1] {
                let before: &Step = finer.last().expect("one before");
                finer.push(new(0.5 * (before.place + step.place)));
            }
            finer.push(step);
        }
        steps = finer;
    }
    let pairs = steps.windows(2);
    let sum: f64 = pairs.map(|w| turn(w[0].log.im, w[1].log.im)).sum();
    Half {
        steps,
        turned: sum + power * FRAC_PI_2,
        sure,
    }
}

/// For each interval, whether it is to be halved.
fn rough(steps: &[Step]) -> Vec<bool> {
    let turned = |w: &[Step]| {
        let size = turn(w[0].log.im, w[1].log.im).abs();
        // Not a number is rough as well.
        size.is_nan() || size > TURN
    };
    let mut rough: Vec<bool> = steps.windows(2).map(turned).collect();
    for (index, w) in steps.windows(3).enumerate() {
        let [a, b, c] = [&w[0], &w[1], &w[2]];
        let share = (b.place - a.place) / (c.place - a.place);
        let line = a.log.re + share * (c.log.re - a.log.re);
        let bend = (b.log.re - line).abs();
        if bend.is_nan() || bend > BEND {
            rough[index] = true;
            rough[index + 1] = true;
        }
    }
    rough
}
