//! How far the recording tells each part: known, roughly known, or not at all, with the sentence
//! that says so, and which parts it tells only together.

use super::certainty::{Certainty, certainty};
use super::fitted::Fitted;
use super::judge::Judged;
use super::unknowns::Unknown;
use super::words::{in_words, range_in_words};
use crate::circuit::PartKind;
use crate::text::digits::{fixed, significant};
use crate::text::list::listed;
use serde::Serialize;
use std::f64::consts::LN_2;

/// Parts whose deviations are correlated by more than this are told together.
const TRADES: f64 = 0.95;
/// An effect on the tone below this for a doubled value is lost in any recording, dB.
const LITTLE_DB: f64 = 0.3;

/// One part that was varied.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PartEstimate {
    /// Designator, or the control of a pot.
    pub name: String,
    /// Its role in the file.
    pub role: String,
    /// Whether it is the position of a control, 0 to 1, and not a value.
    pub position: bool,
    /// As found, SI units or position.
    pub as_found: f64,
    /// What fits, before it is rounded.
    pub fitted: f64,
    /// One standard deviation below and above that.
    pub range: [f64; 2],
    /// One standard deviation of its natural logarithm; of a position, of the logit of its share of
    /// the track.
    pub deviation: f64,
    /// How far the recording tells it.
    pub certainty: Certainty,
    /// The part that exists, or the position; as found where the recording tells nothing, and none
    /// where no combination stays within its limits.
    pub rounded: Option<f64>,
    /// The largest change of the tone between any two frequencies of the recording if it were
    /// doubled (a track's share: its odds), dB, at the present rate.
    pub effect_db: f64,
    /// As found, what fits and what exists, in words.
    pub shown: [String; 3],
    /// All of it in words.
    pub sentence: String,
}

/// Two parts that the recording tells only together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Trade {
    /// Both.
    pub parts: [String; 2],
    /// Correlation of their deviations, −1 to 1.
    pub correlation: f64,
    /// All of it in words.
    pub sentence: String,
}

impl Fitted<'_> {
    /// The parts, in the order that they were named in. `chosen`: the combination that was chosen.
    pub fn parts(&self, chosen: Option<&Judged>) -> Vec<PartEstimate> {
        let trades = self.trades();
        (0..self.fitted.x.len())
            .map(|i| self.part(i, chosen, &trades))
            .collect()
    }

    fn part(&self, i: usize, chosen: Option<&Judged>, trades: &[Trade]) -> PartEstimate {
        let unknown = &self.request.unknowns[i];
        let mean = self.fitted.x[i];
        let deviation = self.covariance[i][i].sqrt();
        let certainty = certainty(unknown, mean, deviation);
        let part = self.request.circuit.part(unknown.parts[0]);
        let role = match &part.kind {
            PartKind::Pot { .. } => part.designator.clone(),
            _ => part.particulars.role().to_string(),
        };
        let [low, high] = unknown.range;
        let bounded = |x: f64| unknown.value(x.clamp(low, high));
        let slope = &self.fitted.slopes[i];
        let most = slope.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let least = slope.iter().copied().fold(f64::INFINITY, f64::min);
        let as_found = unknown.value(unknown.start);
        let fitted = unknown.value(mean);
        let rounded = chosen.map(|judged| unknown.value(judged.x[i]));
        let mut out = PartEstimate {
            name: unknown.name.clone(),
            role,
            position: unknown.is_position(),
            as_found,
            fitted,
            range: [bounded(mean - deviation), bounded(mean + deviation)],
            deviation,
            certainty,
            rounded,
            effect_db: (most - least) * LN_2,
            shown: [
                in_words(unknown.kind, as_found),
                in_words(unknown.kind, fitted),
                rounded.map_or_else(|| "–".into(), |value| in_words(unknown.kind, value)),
            ],
            sentence: String::new(),
        };
        out.sentence = self.sentence(unknown, mean, &out, trades);
        out
    }

    fn sentence(
        &self,
        unknown: &Unknown,
        mean: f64,
        part: &PartEstimate,
        trades: &[Trade],
    ) -> String {
        let name = &part.name;
        let edge = {
            let [low, high] = unknown.range;
            let near = 0.02 * (high - low);
            mean <= low + near || mean >= high - near
        };
        let range = range_in_words(unknown.kind, part.range);
        let mut sentence = match part.certainty {
            Certainty::Firm if part.position => {
                format!("{name}: the recording tells its position, {range}.")
            }
            Certainty::Firm => format!(
                "{name}: the recording tells it, {} give or take {} %.",
                part.shown[1],
                significant(100.0 * (part.deviation.exp() - 1.0), 2)
            ),
            Certainty::Roughly => format!("{name}: told roughly, {range}."),
            Certainty::Nothing => {
                let partners: Vec<&str> = trades
                    .iter()
                    .filter(|t| t.parts.contains(name))
                    .flat_map(|t| &t.parts)
                    .filter(|p| *p != name)
                    .map(String::as_str)
                    .collect();
                let why = if part.effect_db < LITTLE_DB {
                    format!(
                        "{} it would change the tone by {} dB at most",
                        if part.position { "moving" } else { "doubling" },
                        fixed(part.effect_db.max(0.1), 1)
                    )
                } else if partners.is_empty() {
                    "the rest of the amp within its tolerances, or what stands behind the amp, can do what it does".into()
                } else {
                    format!("{} can do what it does", listed(&partners))
                };
                format!("{name}: the recording says nothing about it ({why}); it is left as it is.")
            }
        };
        if edge && part.certainty != Certainty::Nothing {
            sentence.push_str(" It stands at the edge of what was tried.");
        }
        sentence
    }

    /// Parts that are told only together.
    pub fn trades(&self) -> Vec<Trade> {
        let covariance = &self.covariance;
        let unknowns = self.request.unknowns;
        let count = unknowns.len();
        let pairs = (0..count).flat_map(|i| (i + 1..count).map(move |j| (i, j)));
        let trade = |(i, j): (usize, usize)| {
            let deviations = (covariance[i][i] * covariance[j][j]).sqrt();
            let correlation = covariance[i][j] / deviations;
            if correlation.abs() <= TRADES {
                return None;
            }
            let [a, b] = [&unknowns[i].name, &unknowns[j].name];
            let way = if correlation < 0.0 {
                "more of one does what less of the other does"
            } else {
                "more of one undoes what more of the other does"
            };
            Some(Trade {
                parts: [a.clone(), b.clone()],
                correlation,
                sentence: format!(
                    "{a} and {b} are told only together: {way}. Measure one of them to know the other."
                ),
            })
        };
        pairs.filter_map(trade).collect()
    }
}
