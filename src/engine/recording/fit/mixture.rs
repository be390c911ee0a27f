//! Outcomes of the fit under several colours, and their average.

/// Two outcomes nearer than this many standard deviations are one.
const SAME_DEVIATIONS: f64 = 0.5;
/// An outcome with less than this share of the belief is dropped.
const LEAST_SHARE: f64 = 1e-6;

/// The fit under one colour.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// Place of its posterior.
    pub posterior: usize,
    /// Which colour.
    pub colour: usize,
    /// The unknowns.
    pub x: Vec<f64>,
    /// Their covariance.
    pub covariance: Vec<Vec<f64>>,
    /// Logarithm of the evidence, the prior included.
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
    /// The outcomes of one posterior as a mixture of their own, and their share in the whole; none
    /// where it has none.
    pub fn of_posterior(&self, posterior: usize) -> Option<(f64, Mixture)> {
        let own = self.outcomes.iter().filter(|o| o.posterior == posterior);
        let outcomes: Vec<Outcome> = own.cloned().collect();
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

/// Whether two outcomes are one.
pub fn same(a: &Outcome, b: &Outcome) -> bool {
    (0..a.x.len()).all(|i| {
        let deviation = a.covariance[i][i].max(b.covariance[i][i]).sqrt();
        (a.x[i] - b.x[i]).abs() <= SAME_DEVIATIONS * deviation
    })
}

/// Keeps of outcomes that are the same the likelier one, weighs them and takes the mean.
pub fn average(found: Vec<Outcome>) -> Option<Mixture> {
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
