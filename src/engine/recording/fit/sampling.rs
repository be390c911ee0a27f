//! How far the values may be off, by trying many.
//!
//! About the best fit the belief is seldom a bell: a tone network's parts trade along curves. So
//! values are drawn about the outcomes of the fit, each is put into the circuit, and weighed by how
//! likely the recording makes it against how often it is drawn (importance sampling; D. J. C. MacKay,
//! "Information Theory, Inference, and Learning Algorithms", 2003, ch. 29, from memory). Once to see
//! where the belief lies, once more from there. What is stated is the root of the mean square
//! distance from the best fit, so a best fit beside the middle counts as doubt too.

use super::mixture::Mixture;
use super::model::Linearised;
use super::posterior::Posterior;
use crate::numeric::cholesky::Cholesky;
use crate::numeric::log_sum::log_sum;
use crate::numeric::parallel::{GoOn, on_all_cores};
use crate::numeric::random::Random;

/// Draws of the first and of the second round.
const DRAWS: [usize; 2] = [160, 480];
/// Degrees of freedom of the distribution that is drawn from, Student's: heavier tails than a bell,
/// so that no weight runs away.
const FREEDOM: f64 = 5.0;
/// The second round widens what the first saw, variance.
const WIDER: f64 = 1.3;
/// Share of the second round that is drawn as in the first, should that have missed something.
const DEFENSIVE: f64 = 0.3;
/// With fewer draws that count than this the fit's own estimate is kept.
const LEAST_COUNT: f64 = 12.0;
/// Draws that are put into the circuit as one piece of work.
const PIECE: usize = 16;
/// Seed of the draws.
const SEED: u64 = 20;

/// Where values are drawn.
struct Proposal {
    share: f64,
    mean: Vec<f64>,
    factors: Cholesky,
    log_determinant: f64,
}

impl Proposal {
    fn new(share: f64, mean: &[f64], covariance: &[Vec<f64>]) -> Option<Proposal> {
        let factors = Cholesky::new(covariance)?;
        Some(Proposal {
            share,
            mean: mean.to_vec(),
            log_determinant: factors.log_determinant(),
            factors,
        })
    }

    fn draw(&self, random: &mut Random) -> Vec<f64> {
        let normal: Vec<f64> = self.mean.iter().map(|_| random.normal()).collect();
        // A chi-squared number of as many degrees of freedom.
        let chi: f64 = (0..FREEDOM as usize).map(|_| random.normal().powi(2)).sum();
        let scale = (FREEDOM / chi).sqrt();
        let moved = self.factors.coloured(&normal);
        let both = self.mean.iter().zip(moved);
        both.map(|(mean, moved)| mean + scale * moved).collect()
    }

    /// Logarithm of the density, times the share, but for a constant that all have in common.
    fn log_density(&self, x: &[f64]) -> f64 {
        let off: Vec<f64> = x.iter().zip(&self.mean).map(|(x, m)| x - m).collect();
        let distance = self.factors.distance(&off);
        let power = 0.5 * (FREEDOM + x.len() as f64);
        self.share.ln() - 0.5 * self.log_determinant - power * (distance / FREEDOM).ln_1p()
    }
}

/// A value that was drawn, and its weight.
struct Drawn {
    x: Vec<f64>,
    weight: f64,
}

/// The mean square distance from `best` of values that the recording allows: a covariance about it.
/// `widened` is by what factor all variances grow. The mixture's own where too few draws count. None
/// when `go_on` says no.
pub fn spread_about(
    posteriors: &[Posterior<'_>],
    mixture: &Mixture,
    best: &Linearised,
    widened: f64,
    go_on: GoOn<'_>,
) -> Option<Vec<Vec<f64>>> {
    let mut sum: Vec<Vec<f64>> = Vec::new();
    for (place, posterior) in posteriors.iter().enumerate() {
        let Some((share, own)) = mixture.of_posterior(place) else {
            continue;
        };
        let spread = of_one(posterior, &own, best, widened, go_on)?;
        sum.resize(spread.len(), vec![0.0; spread.len()]);
        for (sum, row) in sum.iter_mut().zip(spread) {
            for (sum, entry) in sum.iter_mut().zip(row) {
                *sum += share * entry;
            }
        }
    }
    Some(sum)
}

/// The same of one posterior's outcomes.
fn of_one(
    posterior: &Posterior<'_>,
    mixture: &Mixture,
    best: &Linearised,
    widened: f64,
    go_on: GoOn<'_>,
) -> Option<Vec<Vec<f64>>> {
    let about = |x: &[f64]| -> Vec<f64> { x.iter().zip(&best.x).map(|(x, b)| x - b).collect() };
    let own = || {
        second_moment(mixture.outcomes.iter().map(|o| {
            let off = about(&o.x);
            (o.share, off, Some(&o.covariance))
        }))
    };
    let first: Option<Vec<Proposal>> = mixture
        .outcomes
        .iter()
        .map(|o| Proposal::new(o.share, &o.x, &scaled(&o.covariance, widened)))
        .collect();
    let Some(mut proposals) = first else {
        return Some(scaled(&own(), widened));
    };
    let mut random = Random::new(SEED, 0);
    let mut on = |share: f64| go_on(0.25 * share);
    let drawn = round(
        posterior,
        &proposals,
        DRAWS[0],
        best,
        widened,
        &mut random,
        &mut on,
    )?;
    let count = mixture.mean.len();
    let mean: Vec<f64> = (0..count)
        .map(|i| drawn.iter().map(|d| d.weight * d.x[i]).sum())
        .collect();
    if counting(&drawn) > 2.0 * count as f64 {
        let off = |d: &Drawn| d.x.iter().zip(&mean).map(|(x, m)| x - m).collect();
        let seen = second_moment(drawn.iter().map(|d| (d.weight, off(d), None)));
        // What few draws have seen is not trusted to be narrower than the fit's own estimate.
        let both: Vec<Vec<f64>> = seen
            .iter()
            .zip(&mixture.covariance)
            .map(|(a, b)| a.iter().zip(b).map(|(a, b)| 0.8 * a + 0.2 * b).collect())
            .collect();
        proposals.iter_mut().for_each(|p| p.share *= DEFENSIVE);
        proposals.extend(Proposal::new(1.0 - DEFENSIVE, &mean, &scaled(&both, WIDER)));
    }
    let mut on = |share: f64| go_on(0.25 + 0.75 * share);
    let drawn = round(
        posterior,
        &proposals,
        DRAWS[1],
        best,
        widened,
        &mut random,
        &mut on,
    )?;
    if counting(&drawn) < LEAST_COUNT {
        return Some(own());
    }
    Some(second_moment(
        drawn.iter().map(|d| (d.weight, about(&d.x), None)),
    ))
}

fn scaled(matrix: &[Vec<f64>], factor: f64) -> Vec<Vec<f64>> {
    let row = |row: &Vec<f64>| row.iter().map(|x| x * factor).collect();
    matrix.iter().map(row).collect()
}

/// How many draws the weights amount to: `1/Σw²`.
fn counting(drawn: &[Drawn]) -> f64 {
    1.0 / drawn
        .iter()
        .map(|d| d.weight * d.weight)
        .sum::<f64>()
        .max(f64::MIN_POSITIVE)
}

/// Weighted mean of `offset·offsetᵀ`, each with a covariance of its own if it has one.
fn second_moment<'c>(
    each: impl Iterator<Item = (f64, Vec<f64>, Option<&'c Vec<Vec<f64>>>)>,
) -> Vec<Vec<f64>> {
    let mut sum: Vec<Vec<f64>> = Vec::new();
    for (weight, off, own) in each {
        let count = off.len();
        sum.resize(count, vec![0.0; count]);
        for i in 0..count {
            for j in 0..count {
                sum[i][j] += weight * (off[i] * off[j] + own.map_or(0.0, |own| own[i][j]));
            }
        }
    }
    sum
}

/// Draws, and weighs what was drawn; the weights add up to 1.
fn round(
    posterior: &Posterior<'_>,
    proposals: &[Proposal],
    draws: usize,
    best: &Linearised,
    widened: f64,
    random: &mut Random,
    go_on: GoOn<'_>,
) -> Option<Vec<Drawn>> {
    let total: f64 = proposals.iter().map(|p| p.share).sum();
    let unknowns = posterior.model.unknowns;
    let points: Vec<Vec<f64>> = (0..draws)
        .map(|index| {
            // Each proposal gets its share, evenly over the draws.
            let place = (index as f64 + 0.5) / draws as f64 * total;
            let mut before = 0.0;
            let chosen = proposals.iter().find(|p| {
                before += p.share;
                place < before
            });
            chosen.unwrap_or(&proposals[0]).draw(random)
        })
        .collect();
    let pieces: Vec<&[Vec<f64>]> = points.chunks(PIECE).collect();
    let scores = on_all_cores(pieces.len(), go_on, &|index, go_on| {
        let near = &best.side.point.solution;
        let score = |x: &Vec<f64>| {
            let inside = x.iter().zip(unknowns);
            let inside = inside
                .clone()
                .all(|(x, u)| (u.range[0]..=u.range[1]).contains(x));
            let side = inside.then(|| posterior.model.side(x, near)).flatten();
            side.map(|side| {
                let residual = posterior.residual(x, &posterior.model.level(&side));
                posterior.log_density(&residual) / widened - 0.5 * posterior.distance_from_prior(x)
            })
        };
        go_on(0.0).then(|| pieces[index].iter().map(score).collect::<Vec<_>>())
    })?;
    let logs: Vec<f64> = points
        .iter()
        .zip(scores.into_iter().flatten())
        .map(|(x, score)| {
            let drawn = log_sum(proposals.iter().map(|p| p.log_density(x)));
            score.map_or(f64::NEG_INFINITY, |s| s - drawn)
        })
        .collect();
    let sum = log_sum(logs.iter().copied());
    let weigh = |(x, log): (Vec<f64>, f64)| {
        let weight = (log - sum).exp();
        Drawn {
            x,
            weight: if weight.is_finite() { weight } else { 0.0 },
        }
    };
    Some(points.into_iter().zip(logs).map(weigh).collect())
}
