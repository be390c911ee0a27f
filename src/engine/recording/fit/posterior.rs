//! What is believed of the unknowns, the recording being heard: the density of the values under each
//! colour that is thought possible.
//!
//! The recording `y` is taken as `M(x) + level + colour + others + noise`, all but `M` being Gauss
//! distributed; `x` too, about what was found. With everything that is not `x` in one covariance
//! `C`, the logarithm of the density is `−½·(rᵀC⁻¹r + (x − x₀)ᵀP⁻¹(x − x₀))` but for a constant, `r`
//! being the residual.

use super::colour::Colour;
use super::model::{Linearised, Model};
use super::played::Played;
use super::vectors::dot;
use crate::numeric::cholesky::Cholesky;
use crate::numeric::log_sum::log_sum;

/// The level of a recording is anybody's choice: one standard deviation of it, dB.
const LEVEL_DB: f64 = 60.0;

/// The recording as the fit sees it.
#[derive(Clone, Debug)]
pub struct Data {
    /// Levels, dB.
    pub db: Vec<f64>,
    /// Variances, dB²: noise and model, divided by the ear's weight.
    pub variance: Vec<f64>,
}

/// Everything but the unknowns under one colour, in units of one standard deviation.
pub struct Whitener {
    factors: Cholesky,
    /// Logarithm of the determinant of `C`.
    pub log_determinant: f64,
    /// Logarithm of the colour's prior.
    pub log_prior: f64,
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

    /// Logarithm of the density of a residual, times the colour's prior, but for a constant.
    pub fn log_density(&self, residual: &[f64]) -> f64 {
        self.log_prior - 0.5 * (self.factors.distance(residual) + self.log_determinant)
    }
}

/// What one recording says of one model, which is played in one way.
pub struct Posterior<'a> {
    /// The amp.
    pub model: &'a Model<'a>,
    /// The recording.
    pub data: &'a Data,
    /// What playing at the recording's level changes against small signals.
    pub played: Played,
    /// One a colour.
    pub whiteners: Vec<Whitener>,
}

impl<'a> Posterior<'a> {
    /// Prepares it; none where a covariance is no covariance.
    pub fn new(
        model: &'a Model<'a>,
        data: &'a Data,
        played: Played,
        others: &[Vec<f64>],
        colours: &[Colour],
    ) -> Option<Posterior<'a>> {
        let whiteners = colours.iter().map(|c| Whitener::new(data, others, c));
        Some(Posterior {
            model,
            data,
            played,
            whiteners: whiteners.collect::<Option<_>>()?,
        })
    }

    /// Recording less model with the unknowns at these numbers, dB.
    pub fn residual(&self, x: &[f64], level_db: &[f64]) -> Vec<f64> {
        let played = self.played.db(x);
        let both = self.data.db.iter().zip(&played).zip(level_db);
        both.map(|((y, played), level)| y - played - level)
            .collect()
    }

    /// Logarithm of the density of a residual, averaged over the colours, but for a constant.
    pub fn log_density(&self, residual: &[f64]) -> f64 {
        log_sum(self.whiteners.iter().map(|w| w.log_density(residual)))
    }

    /// `(x − x₀)ᵀP⁻¹(x − x₀)`.
    pub fn distance_from_prior(&self, x: &[f64]) -> f64 {
        let each = self.model.unknowns.iter().zip(x);
        each.map(|(u, x)| ((x - u.start) / u.prior).powi(2)).sum()
    }

    /// `rᵀC⁻¹r + (x − x₀)ᵀP⁻¹(x − x₀)`: less is more probable.
    pub fn cost(&self, whitener: &Whitener, at: &Linearised) -> f64 {
        whitener.factors.distance(&self.residual(&at.x, &at.db)) + self.distance_from_prior(&at.x)
    }

    /// The slopes of the level, those of what playing changes among them.
    pub fn slopes(&self, at: &Linearised) -> Vec<Vec<f64>> {
        let each = at.slopes.iter().zip(&at.x).enumerate();
        each.map(|(i, (slope, &x))| match self.played.slope(i, x) {
            Some(played) => slope.iter().zip(played).map(|(s, p)| s + p).collect(),
            None => slope.clone(),
        })
        .collect()
    }

    /// Gradient (downhill, halved) and curvature of the cost.
    pub fn normal_equations(
        &self,
        whitener: &Whitener,
        at: &Linearised,
    ) -> (Vec<f64>, Vec<Vec<f64>>) {
        let white = |row: &[f64]| whitener.factors.white(row);
        let residual = white(&self.residual(&at.x, &at.db));
        let slopes: Vec<Vec<f64>> = self.slopes(at).iter().map(|s| white(s)).collect();
        let unknowns = self.model.unknowns;
        let downhill = slopes.iter().zip(unknowns).zip(&at.x);
        let downhill = downhill
            .map(|((slope, u), x)| dot(slope, &residual) - (x - u.start) / u.prior.powi(2))
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
}
