//! The most probable values under each colour, by damped Gauss-Newton steps with the exact slopes,
//! and how far they may be off; then the average over colours.
//!
//! The most probable `x` minimises the cost ([`Posterior::cost`]), its covariance is
//! `(JᵀC⁻¹J + P⁻¹)⁻¹`, and the evidence for the colour follows by Laplace's approximation
//! (D. J. C. MacKay, "Information Theory, Inference, and Learning Algorithms", 2003, ch. 27 and 28,
//! from memory).

use super::mixture::{Mixture, Outcome, average, same};
use super::model::Linearised;
use super::posterior::Posterior;
use super::vectors::{dot, quadratic_form};
use crate::numeric::cholesky::Cholesky;
use crate::numeric::parallel::{GoOn, on_all_cores};

/// Steps of one fit, and how often one is shortened.
const STEPS: usize = 12;
const SHORTENINGS: usize = 6;
/// A step that promises less than this of `rᵀC⁻¹r` is not worth its time: a tenth of a standard
/// deviation is 0.01.
const WORTH: f64 = 0.01;
/// Longest step of one unknown, in logarithms: a factor of three.
const LONGEST: f64 = 1.1;
/// Most outcomes that are followed, and how far below the best one's the logarithm of the evidence
/// may lie.
const MOST_MODES: usize = 4;
pub const HOPELESS: f64 = 14.0;

/// The most probable values under one colour, from `start` on.
pub fn descend(
    posterior: &Posterior<'_>,
    colour: usize,
    start: &Linearised,
) -> Option<(Outcome, Linearised)> {
    let whitener = &posterior.whiteners[colour];
    let mut at = start.clone();
    let mut cost = posterior.cost(whitener, &at);
    // Levenberg's damping, as a share of the curvature.
    let mut damping = 0.0;
    'steps: for _ in 0..STEPS {
        let (downhill, curvature) = posterior.normal_equations(whitener, &at);
        for _ in 0..SHORTENINGS {
            let mut damped = curvature.clone();
            for (i, row) in damped.iter_mut().enumerate() {
                row[i] *= 1.0 + damping;
            }
            let mut step = Cholesky::new(&damped)?.solve(&downhill);
            let longest = step.iter().fold(0.0f64, |m, s| m.max(s.abs()));
            let scale = (LONGEST / longest).min(1.0);
            let mut x = at.x.clone();
            for ((x, step), u) in x.iter_mut().zip(&mut step).zip(posterior.model.unknowns) {
                let to = (*x + *step * scale).clamp(u.range[0], u.range[1]);
                *step = to - *x;
                *x = to;
            }
            // What the step promises, by the curvature without damping.
            let promised = 2.0 * dot(&downhill, &step) - quadratic_form(&curvature, &step);
            if promised < WORTH && damping == 0.0 {
                break 'steps;
            }
            let new = posterior.model.linearised(&x, &at.side.point.solution);
            let better = new.map(|new| (posterior.cost(whitener, &new), new));
            match better.filter(|(c, _)| *c < cost) {
                Some((lower, new)) => {
                    let gained = cost - lower;
                    (cost, at) = (lower, new);
                    damping = if gained > 0.25 * promised {
                        0.0
                    } else {
                        f64::max(damping, 0.1)
                    };
                    continue 'steps;
                }
                None => damping = f64::max(0.1, damping * 8.0),
            }
        }
        break;
    }
    let (_, curvature) = posterior.normal_equations(whitener, &at);
    let factors = Cholesky::new(&curvature)?;
    let priors = posterior.model.unknowns.iter().map(|u| u.prior.ln());
    let log_evidence = whitener.log_prior
        - 0.5 * (cost + whitener.log_determinant + factors.log_determinant())
        - priors.sum::<f64>();
    let outcome = Outcome {
        posterior: 0,
        colour,
        x: at.x.clone(),
        covariance: factors.inverse(),
        log_evidence,
        share: 0.0,
    };
    Some((outcome, at))
}

/// Where the descents lead under the middle colour: what differs, the likeliest first, each with
/// the place of its posterior. With one for all every start is tried with it, else each with its own.
pub fn modes(
    posteriors: &[Posterior<'_>],
    starts: &[Linearised],
    hopeless: f64,
) -> Vec<(usize, Linearised)> {
    let found = on_all_cores(starts.len(), &mut |_| true, &|index, _| {
        let place = if posteriors.len() == 1 { 0 } else { index };
        let posterior = &posteriors[place];
        let found = descend(posterior, posterior.whiteners.len() / 2, &starts[index]);
        Some(found.map(|(outcome, seen)| (place, outcome, seen)))
    });
    let mut modes: Vec<(usize, Outcome, Linearised)> = Vec::new();
    for new in found.into_iter().flatten().flatten() {
        if !modes.iter().any(|(_, old, _)| same(old, &new.1)) {
            modes.push(new);
        }
    }
    modes.sort_by(|a, b| b.1.log_evidence.total_cmp(&a.1.log_evidence));
    let best = modes.first().map_or(0.0, |(_, o, _)| o.log_evidence);
    modes.retain(|(_, o, _)| o.log_evidence > best - hopeless);
    modes.truncate(MOST_MODES);
    let modes = modes.into_iter();
    modes.map(|(place, _, seen)| (place, seen)).collect()
}

/// The average over all colours, each fitted from every mode. `go_on` is told the share that is done;
/// none when it says no, or where nothing could be fitted.
pub fn mixture(
    posteriors: &[Posterior<'_>],
    modes: &[(usize, Linearised)],
    go_on: GoOn<'_>,
) -> Option<Mixture> {
    let colours = posteriors.first()?.whiteners.len();
    let jobs: Vec<(usize, usize)> = (0..colours)
        .flat_map(|colour| (0..modes.len()).map(move |mode| (colour, mode)))
        .collect();
    let found = on_all_cores(jobs.len(), go_on, &|index, go_on| {
        let (colour, mode) = jobs[index];
        let (place, start) = &modes[mode];
        let found = || {
            let (outcome, _) = descend(&posteriors[*place], colour, start)?;
            Some(Outcome {
                posterior: *place,
                ..outcome
            })
        };
        go_on(0.0).then(found)
    })?;
    average(found.into_iter().flatten().collect())
}
