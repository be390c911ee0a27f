//! The fit: for each colour that is thought possible the most probable values, by damped
//! Gauss-Newton steps with the exact slopes, and how far they may be off; then the average over
//! colours.
//!
//! The recording `y` is taken as `M(x) + level + colour + others + chance`, all but `M` being Gauss
//! distributed; `x` too, about what was found. With everything that is not `x` in one covariance
//! `C`, the most probable `x` minimises `rᵀC⁻¹r + (x − x₀)ᵀP⁻¹(x − x₀)`, its covariance is
//! `(JᵀC⁻¹J + P⁻¹)⁻¹`, and the evidence for the colour follows by Laplace's approximation
//! (D. J. C. MacKay, "Information Theory, Inference, and Learning Algorithms", 2003, ch. 27 and 28,
//! from memory).

use super::colour::Colour;
use super::model::{Model, Seen};
use super::played::Played;
use super::sampling::log_sum;
use crate::numeric::cholesky::Cholesky;
use crate::numeric::parallel::{GoOn, on_all_cores};

/// The level of a recording is anybody's choice: one standard deviation of it, dB.
const LEVEL_DB: f64 = 60.0;
/// Steps of one fit, and how often one is shortened.
const STEPS: usize = 12;
const SHORTENINGS: usize = 6;
/// A step that promises less than this of `rᵀC⁻¹r` is not worth its time: a tenth of a standard
/// deviation is 0.01.
const WORTH: f64 = 0.01;
/// Longest step of one unknown, in logarithms: a factor of three.
const LONGEST: f64 = 1.1;
/// Two outcomes nearer than this many standard deviations are one.
const SAME_DEVIATIONS: f64 = 0.5;
/// Most outcomes that are followed, and how far below the best one's the logarithm of the evidence
/// may lie.
const MOST_MODES: usize = 4;
pub const HOPELESS: f64 = 14.0;
/// An outcome with less than this share of the belief is dropped.
const LEAST_SHARE: f64 = 1e-6;

/// The recording as the fit sees it.
#[derive(Clone, Debug)]
pub struct Data {
    /// Levels, dB.
    pub db: Vec<f64>,
    /// Variances, dB²: chance and model, divided by the ear's weight.
    pub variance: Vec<f64>,
    /// What playing at the recording's level changes against small signals.
    pub played: Played,
}

/// The fit under one colour.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// Which fit.
    pub fit: usize,
    /// Which colour.
    pub colour: usize,
    /// The unknowns.
    pub x: Vec<f64>,
    /// Their covariance.
    pub covariance: Vec<Vec<f64>>,
    /// Logarithm of the evidence, with the belief before.
    pub log_evidence: f64,
    /// Share of the belief.
    pub share: f64,
}

/// The average over colours.
#[derive(Clone, Debug)]
pub struct Mixture {
    /// The outcomes that count.
    pub outcomes: Vec<Outcome>,
    /// Mean of the unknowns.
    pub mean: Vec<f64>,
    /// Their covariance, with how far the outcomes are apart.
    pub covariance: Vec<Vec<f64>>,
}

impl Mixture {
    /// The outcomes of one fit as a mixture of their own, and their share in the whole; none where it
    /// has none.
    pub fn of_fit(&self, fit: usize) -> Option<(f64, Mixture)> {
        let of_fit = self.outcomes.iter().filter(|o| o.fit == fit);
        let outcomes: Vec<Outcome> = of_fit.cloned().collect();
        let share = outcomes.iter().map(|o| o.share).sum();
        Some((share, weighted(outcomes)?))
    }

    /// The likeliest outcome.
    pub fn best(&self) -> &Outcome {
        let by_share = self.outcomes.iter();
        by_share
            .max_by(|a, b| a.share.total_cmp(&b.share))
            .expect("a mixture has an outcome")
    }
}

/// Everything but the unknowns, in units of one standard deviation.
pub struct Whitener {
    factors: Cholesky,
    log_determinant: f64,
    log_prior: f64,
}

impl Whitener {
    /// `others`: rows of [`Model::others`].
    fn new(data: &Data, others: &[Vec<f64>], colour: &Colour) -> Option<Whitener> {
        let count = data.db.len();
        let entry = |i: usize, j: usize| {
            let others: f64 = others.iter().map(|row| row[i] * row[j]).sum();
            let own = if i == j { data.variance[i] } else { 0.0 };
            own + others + colour.covariance[i][j] + LEVEL_DB * LEVEL_DB
        };
        let rows: Vec<Vec<f64>> = (0..count)
            .map(|i| (0..=i).map(|j| entry(i, j)).collect())
            .collect();
        let factors = Cholesky::new(&rows)?;
        Some(Whitener {
            log_determinant: factors.log_determinant(),
            factors,
            log_prior: colour.log_prior,
        })
    }

    /// `xᵀ·C⁻¹·x`.
    pub fn distance(&self, x: &[f64]) -> f64 {
        self.factors.distance(x)
    }

    /// `C⁻¹·x`.
    pub fn solve(&self, x: &[f64]) -> Vec<f64> {
        self.factors.solve(x)
    }

    /// Logarithm of the density of what a model leaves over, times the belief in the colour, but for
    /// a constant.
    pub fn log_density(&self, rest: &[f64]) -> f64 {
        self.log_prior - 0.5 * (self.factors.distance(rest) + self.log_determinant)
    }
}

/// The fit of one model to one recording.
pub struct Fit<'a> {
    /// The amp.
    pub model: &'a Model<'a>,
    /// The recording.
    pub data: Data,
    /// One a colour.
    pub whiteners: Vec<Whitener>,
}

impl<'a> Fit<'a> {
    /// Prepares it; none where a covariance is no covariance.
    pub fn new(
        model: &'a Model<'a>,
        data: &Data,
        others: &[Vec<f64>],
        colours: &[Colour],
    ) -> Option<Fit<'a>> {
        let whiteners = colours.iter().map(|c| Whitener::new(data, others, c));
        Some(Fit {
            model,
            data: data.clone(),
            whiteners: whiteners.collect::<Option<_>>()?,
        })
    }

    /// What the model leaves over with the unknowns at these numbers, dB.
    pub fn rest(&self, x: &[f64], level_db: &[f64]) -> Vec<f64> {
        let data = &self.data;
        let played = data.played.db(x);
        let both = data.db.iter().zip(&played).zip(level_db);
        both.map(|((y, played), level)| y - played - level)
            .collect()
    }

    /// Logarithm of the density of what a model leaves over, averaged over the colours, but for a
    /// constant.
    pub fn log_density(&self, rest: &[f64]) -> f64 {
        log_sum(self.whiteners.iter().map(|w| w.log_density(rest)))
    }

    /// `(x − x₀)ᵀP⁻¹(x − x₀)`.
    pub fn distance_from_before(&self, x: &[f64]) -> f64 {
        let each = self.model.unknowns.iter().zip(x);
        each.map(|(u, x)| ((x - u.start) / u.prior).powi(2)).sum()
    }

    fn cost(&self, whitener: &Whitener, seen: &Seen) -> f64 {
        whitener.factors.distance(&self.rest(&seen.x, &seen.db))
            + self.distance_from_before(&seen.x)
    }

    /// The slopes of the level, those of what playing changes among them.
    pub fn slopes(&self, seen: &Seen) -> Vec<Vec<f64>> {
        let each = seen.slopes.iter().zip(&seen.x).enumerate();
        each.map(|(i, (slope, &x))| match self.data.played.slope(i, x) {
            Some(played) => slope.iter().zip(played).map(|(s, p)| s + p).collect(),
            None => slope.clone(),
        })
        .collect()
    }

    /// Gradient (downhill, halved) and curvature of the cost.
    fn normal(&self, whitener: &Whitener, seen: &Seen) -> (Vec<f64>, Vec<Vec<f64>>) {
        let white = |row: &[f64]| whitener.factors.white(row);
        let rest = white(&self.rest(&seen.x, &seen.db));
        let slopes: Vec<Vec<f64>> = self.slopes(seen).iter().map(|s| white(s)).collect();
        let unknowns = self.model.unknowns;
        let downhill = slopes.iter().zip(unknowns).zip(&seen.x);
        let downhill = downhill
            .map(|((slope, u), x)| dot(slope, &rest) - (x - u.start) / u.prior.powi(2))
            .collect();
        let entry = |i: usize, j: usize| {
            let own = if i == j {
                unknowns[i].prior.powi(-2)
            } else {
                0.0
            };
            own + dot(&slopes[i], &slopes[j])
        };
        let count = unknowns.len();
        let row = |i: usize| (0..count).map(|j| entry(i, j)).collect();
        (downhill, (0..count).map(row).collect())
    }

    /// The most probable values under one colour, from `start` on.
    pub fn descend(&self, colour: usize, start: &Seen) -> Option<(Outcome, Seen)> {
        let whitener = &self.whiteners[colour];
        let mut at = start.clone();
        let mut cost = self.cost(whitener, &at);
        // Levenberg's damping, as a share of the curvature.
        let mut damping = 0.0;
        'steps: for _ in 0..STEPS {
            let (downhill, curvature) = self.normal(whitener, &at);
            for _ in 0..SHORTENINGS {
                let mut damped = curvature.clone();
                for (i, row) in damped.iter_mut().enumerate() {
                    row[i] *= 1.0 + damping;
                }
                let mut step = Cholesky::new(&damped)?.solve(&downhill);
                let longest = step.iter().fold(0.0f64, |m, s| m.max(s.abs()));
                let scale = (LONGEST / longest).min(1.0);
                let mut x = at.x.clone();
                for ((x, step), u) in x.iter_mut().zip(&mut step).zip(self.model.unknowns) {
                    let to = (*x + *step * scale).clamp(u.range[0], u.range[1]);
                    *step = to - *x;
                    *x = to;
                }
                // What the step promises, by the curvature without damping.
                let promised = 2.0 * dot(&downhill, &step) - form(&curvature, &step);
                if promised < WORTH && damping == 0.0 {
                    break 'steps;
                }
                let new = self.model.seen(&x, &at.side.point.solution);
                let better = new.map(|new| (self.cost(whitener, &new), new));
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
        let (_, curvature) = self.normal(whitener, &at);
        let factors = Cholesky::new(&curvature)?;
        let priors = self.model.unknowns.iter().map(|u| u.prior.ln());
        let log_evidence = whitener.log_prior
            - 0.5 * (cost + whitener.log_determinant + factors.log_determinant())
            - priors.sum::<f64>();
        let outcome = Outcome {
            fit: 0,
            colour,
            x: at.x.clone(),
            covariance: factors.inverse(),
            log_evidence,
            share: 0.0,
        };
        Some((outcome, at))
    }
}

/// Where the descents lead under the middle colour: what differs, the likeliest first, each with
/// the place of its fit. With one fit for all every start is tried with it, else each with its own.
pub fn modes(fits: &[Fit<'_>], starts: &[Seen], hopeless: f64) -> Vec<(usize, Seen)> {
    let found = on_all_cores(starts.len(), &mut |_| true, &|index, _| {
        let place = if fits.len() == 1 { 0 } else { index };
        let fit = &fits[place];
        let found = fit.descend(fit.whiteners.len() / 2, &starts[index]);
        Some(found.map(|(outcome, seen)| (place, outcome, seen)))
    });
    let mut modes: Vec<(usize, Outcome, Seen)> = Vec::new();
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
pub fn mixture(fits: &[Fit<'_>], modes: &[(usize, Seen)], go_on: GoOn<'_>) -> Option<Mixture> {
    let colours = fits.first()?.whiteners.len();
    let jobs: Vec<(usize, usize)> = (0..colours)
        .flat_map(|colour| (0..modes.len()).map(move |mode| (colour, mode)))
        .collect();
    let found = on_all_cores(jobs.len(), go_on, &|index, go_on| {
        let (colour, mode) = jobs[index];
        let (fit, start) = &modes[mode];
        let found = || {
            let (outcome, _) = fits[*fit].descend(colour, start)?;
            Some(Outcome {
                fit: *fit,
                ..outcome
            })
        };
        go_on(0.0).then(found)
    })?;
    average(found.into_iter().flatten().collect())
}

/// Whether two outcomes are one.
fn same(a: &Outcome, b: &Outcome) -> bool {
    (0..a.x.len()).all(|i| {
        let deviation = a.covariance[i][i].max(b.covariance[i][i]).sqrt();
        (a.x[i] - b.x[i]).abs() <= SAME_DEVIATIONS * deviation
    })
}

/// Keeps of outcomes that are the same the likelier one, weighs them and takes the mean.
fn average(found: Vec<Outcome>) -> Option<Mixture> {
    let mut outcomes: Vec<Outcome> = Vec::new();
    for new in found {
        let known = |old: &&mut Outcome| old.colour == new.colour && same(old, &new);
        match outcomes.iter_mut().find(known) {
            Some(old) if old.log_evidence < new.log_evidence => *old = new,
            Some(_) => {}
            None => outcomes.push(new),
        }
    }
    weighted(outcomes)
}

/// Weighs outcomes by their evidence and takes the mean.
fn weighted(mut outcomes: Vec<Outcome>) -> Option<Mixture> {
    let best = outcomes.iter().map(|o| o.log_evidence);
    let best = best.fold(f64::NEG_INFINITY, f64::max);
    let mut sum = 0.0;
    for outcome in &mut outcomes {
        outcome.share = (outcome.log_evidence - best).exp();
        sum += outcome.share;
    }
    outcomes.iter_mut().for_each(|o| o.share /= sum);
    outcomes.retain(|o| o.share >= LEAST_SHARE);
    let count = outcomes.first()?.x.len();
    let mean: Vec<f64> = (0..count)
        .map(|i| outcomes.iter().map(|o| o.share * o.x[i]).sum())
        .collect();
    let entry = |i: usize, j: usize| {
        let each = outcomes.iter().map(|o| {
            let apart = (o.x[i] - mean[i]) * (o.x[j] - mean[j]);
            o.share * (o.covariance[i][j] + apart)
        });
        each.sum()
    };
    let row = |i: usize| (0..count).map(|j| entry(i, j)).collect();
    let covariance = (0..count).map(row).collect();
    Some(Mixture {
        outcomes,
        mean,
        covariance,
    })
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// `xᵀ·A·x`.
pub fn form(matrix: &[Vec<f64>], x: &[f64]) -> f64 {
    let rows = matrix.iter().zip(x);
    rows.map(|(row, x_i)| x_i * dot(row, x)).sum()
}
