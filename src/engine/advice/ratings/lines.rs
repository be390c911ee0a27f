//! One limited quantity of one part, in every state that it was read in.

use super::finding::{Finding, Limit, When, judge};
use super::limited::Limited;
use serde::Serialize;

/// A quantity and its limit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Line {
    /// What it is, such as "anode dissipation".
    pub what: Limited,
    /// Unit of all its figures.
    pub unit: &'static str,
    /// Without signal; the only figure of what does not change.
    pub at_rest: Option<f64>,
    /// Without signal, mains 10 % high.
    pub high_mains: Option<f64>,
    /// Valves cold or pulled, mains 10 % high.
    pub cold: Option<f64>,
    /// While the guitar plays.
    pub phrase: Option<f64>,
    /// On a steady sine at full output.
    pub sine: Option<f64>,
    /// The limit for good; none where none is printed.
    pub limit: Option<f64>,
    /// A higher limit for moments: full signal, or a valve that draws nothing.
    pub brief_limit: Option<f64>,
}

impl Line {
    /// A line without figures yet.
    pub fn new(what: Limited, unit: &'static str, limit: Option<f64>) -> Self {
        Line {
            what,
            unit,
            at_rest: None,
            high_mains: None,
            cold: None,
            phrase: None,
            sine: None,
            limit,
            brief_limit: None,
        }
    }

    /// Its figure in a state.
    pub fn figure(&self, when: When) -> Option<f64> {
        match when {
            When::AtRest => self.at_rest,
            When::HighMains => self.high_mains,
            When::Cold => self.cold,
            When::Phrase => self.phrase,
            When::Sine => self.sine,
            When::Hard => None,
        }
    }

    /// Holds the figures of some states against the limit; the worst one, if any is near.
    pub fn judge(&self, designator: &str, states: &[When], limit: &Limit) -> Option<Finding> {
        let found = states.iter().map(|&when| {
            judge(
                designator,
                self.what,
                when,
                self.figure(when)?,
                self.unit,
                limit,
            )
        });
        super::finding::worst(found)
    }
}
