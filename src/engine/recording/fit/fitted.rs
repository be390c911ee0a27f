//! The amp with the values that fit, and how far they may be off: everything that the report is made
//! from.

use super::colour::Colour;
use super::mixture::Mixture;
use super::model::Linearised;
use super::posterior::Posterior;
use super::question::Question;
use super::sampling;
use crate::numeric::parallel::GoOn;

/// Everything that the report is made from.
pub struct Fitted<'a> {
    /// What was asked.
    pub request: Question<'a>,
    /// Places of the trusted points in the target.
    pub trusted: &'a [usize],
    /// The ear's weight of each, at most 1.
    pub weights: Vec<f64>,
    /// The posteriors of the last round.
    pub posteriors: Vec<Posterior<'a>>,
    /// What loudspeaker, microphone and room may do.
    pub colours: &'a [Colour],
    /// The average over the outcomes.
    pub mixture: Mixture,
    /// Mean square distance of the values from those that fit best.
    pub covariance: Vec<Vec<f64>>,
    /// By what factor the covariances were widened, since the residual is larger than noise leaves.
    pub widened: f64,
    /// The unknowns as found.
    pub as_found_x: Vec<f64>,
    /// By how much the last round moved the values, where that is too far to be neglected.
    pub not_converged: Option<Vec<f64>>,
    /// Level of the amp as found, dB.
    pub as_found_db: Vec<f64>,
    /// The amp with the values that fit best.
    pub fitted: Linearised,
    /// What went otherwise than it should.
    pub notes: Vec<String>,
}

impl<'a> Fitted<'a> {
    /// The posterior of the likeliest outcome.
    pub fn posterior(&self) -> &Posterior<'a> {
        &self.posteriors[self.mixture.best().posterior]
    }

    /// Works out how far the values may be off; none when `go_on` says no.
    ///
    /// Where the residual is larger than everything that was thought of explains, the doubt grows with
    /// it: the variances by what is left of `rᵀC⁻¹r` for each point (R. T. Birge, Physical Review
    /// 40, 207, 1932, from memory).
    pub fn doubt(&mut self, go_on: GoOn<'_>) -> Option<()> {
        let residual = self.posterior().residual(&self.fitted.x, &self.fitted.db);
        let free = residual.len().saturating_sub(self.fitted.x.len() + 1);
        let lost: f64 = self
            .mixture
            .outcomes
            .iter()
            .map(|o| o.share * self.posteriors[o.posterior].whiteners[o.colour].distance(&residual))
            .sum();
        self.widened = (lost / free.max(1) as f64).max(1.0);
        let widened = self.widened;
        let spread = sampling::spread_about(
            &self.posteriors,
            &self.mixture,
            &self.fitted,
            widened,
            go_on,
        )?;
        self.covariance = spread;
        if let Some(moved) = &self.not_converged {
            for (row, a) in self.covariance.iter_mut().zip(moved) {
                row.iter_mut().zip(moved).for_each(|(c, b)| *c += a * b);
            }
        }
        Some(())
    }
}
