//! Combinations of parts that exist, put into the circuit and judged: how likely the recording makes
//! them, and whether every part and valve stays within its limits.

use super::certainty::{Certainty, certainty};
use super::fitted::Fitted;
use super::rounding::{Choice, candidates, combinations, completed, each_alone};
use crate::advice::ratings::{Driven, Finding, ratings, sentences};
use crate::numeric::parallel::{GoOn, on_all_cores};
use crate::solve::solved::SolvedCircuit;

/// Alternatives that are shown beside the choice.
const ALTERNATIVES: usize = 3;
/// A limit that was exceeded as found may be exceeded by so much more, per cent of it: rounding.
const NO_WORSE_PERCENT: f64 = 0.5;

/// A control stays where it stands unless the fit moves it by more than so many of its deviations. So
/// does everything of which nothing is told.
const STAYS: f64 = 1.0;

/// A combination in the circuit.
#[derive(Clone)]
pub struct Judged {
    /// The unknowns.
    pub x: Vec<f64>,
    /// At rest.
    pub side: SolvedCircuit,
    /// Level, dB.
    pub db: Vec<f64>,
    /// Logarithm of its probability but for a constant.
    pub score: f64,
}

/// What came of it.
pub struct Verdict {
    /// The best and its alternatives, the best first; empty if none stays within its limits.
    pub kept: Vec<Judged>,
    /// Each part rounded by itself.
    pub each_alone: Option<Judged>,
    /// What was left out for a limit that it breaks, a sentence each.
    pub left_out: Vec<String>,
}

impl Fitted<'_> {
    /// Rounds and judges; none when `go_on` says no.
    pub fn judged(&self, as_found: &SolvedCircuit, go_on: GoOn<'_>) -> Option<Verdict> {
        let unknowns = self.request.unknowns;
        let (mean, covariance) = (&self.fitted.x, &self.covariance);
        let stays: Vec<bool> = unknowns
            .iter()
            .enumerate()
            .map(|(i, unknown)| {
                let deviation = covariance[i][i].sqrt();
                let moved = (mean[i] - unknown.start).abs() / deviation;
                certainty(unknown, mean[i], deviation) == Certainty::Nothing
                    || (unknown.is_position() && moved <= STAYS)
            })
            .collect();
        let choice = self.request.choice;
        let options = candidates(unknowns, mean, &stays, choice);
        // About the best fit by the doubt over all, and by the curvature there.
        let mut ways = combinations(mean, covariance, &options, choice);
        let near = self.mixture.best();
        for way in combinations(mean, &near.covariance, &options, choice) {
            if !ways.contains(&way) {
                ways.push(way);
            }
        }
        let alone = each_alone(mean, &options);
        // By itself a part may take a piece of a drawer that another has taken.
        if matches!(choice, Choice::Series(_)) && !ways.contains(&alone) {
            ways.push(alone.clone());
        }
        let place =
            |chosen: &[usize]| completed(unknowns, mean, &near.covariance, &options, chosen);
        let judged = on_all_cores(ways.len() + 1, go_on, &|index, go_on| {
            let x = match ways.get(index) {
                Some(chosen) => place(chosen),
                None => place(&alone),
            };
            go_on(0.0).then(|| self.judge(x))
        })?;
        let mut judged = judged;
        let each_alone = judged.pop().flatten();
        let mut all: Vec<Judged> = judged.into_iter().flatten().collect();
        all.sort_by(|a, b| b.score.total_cmp(&a.score));
        let limits = Limits::new(self, as_found);
        let mut verdict = Verdict {
            kept: Vec::new(),
            each_alone,
            left_out: Vec::new(),
        };
        for judged in all {
            if !go_on(0.0) {
                return None;
            }
            match limits.broken(&judged.side) {
                None => verdict.kept.push(judged),
                Some(why) => {
                    if !verdict.left_out.contains(&why) {
                        verdict.left_out.push(why);
                    }
                }
            }
            if verdict.kept.len() > ALTERNATIVES {
                break;
            }
        }
        Some(verdict)
    }

    /// The circuit with the unknowns at these numbers; none without an operating point.
    fn judge(&self, x: Vec<f64>) -> Option<Judged> {
        let model = self.posterior().model;
        let side = model.side(&x, &self.fitted.side.point.solution)?;
        let db = model.level(&side);
        let residual = self.posterior().residual(&x, &db);
        Some(Judged {
            score: self.posterior().log_density(&residual) / self.widened
                - 0.5 * self.posterior().distance_from_prior(&x),
            x,
            side,
            db,
        })
    }
}

/// The limits that the amp as found keeps or breaks.
struct Limits<'a> {
    fitted: &'a Fitted<'a>,
    as_found: Vec<Finding>,
}

impl<'a> Limits<'a> {
    fn new(fitted: &'a Fitted<'a>, as_found: &SolvedCircuit) -> Self {
        let report = ratings(
            fitted.posterior().model.network,
            as_found,
            &Driven::default(),
        );
        Limits {
            fitted,
            as_found: report.over,
        }
    }

    /// The limits that a circuit breaks and the amp as found does not, or not so far; a sentence.
    fn broken(&self, side: &SolvedCircuit) -> Option<String> {
        let network = self.fitted.posterior().model.network;
        let report = ratings(network, side, &Driven::default());
        let new: Vec<Finding> = report
            .over
            .into_iter()
            .filter(|finding| {
                let same = |b: &&Finding| {
                    b.designator == finding.designator
                        && b.what == finding.what
                        && b.when == finding.when
                };
                let as_found = self.as_found.iter().find(same);
                as_found.is_none_or(|b| finding.percent > b.percent + NO_WORSE_PERCENT)
            })
            .collect();
        (!new.is_empty()).then(|| sentences(&new).join(" "))
    }
}
