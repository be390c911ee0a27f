//! What a loudspeaker has to take beside what it is rated for.

use super::finding::{Finding, Limit, When, judge, own_rating, worst};
use super::limited::{LimitSource, Limited};
use crate::analysis::drive::{Drive, HARD_FACTOR, HZ, full_output, shared_out};
use crate::circuit::PartKind;
use crate::network::Network;
use crate::solve::solved::SolvedCircuit;
use serde::Serialize;

/// A fitted loudspeaker.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoudspeakerRatings {
    /// Designator.
    pub designator: String,
    /// Its name.
    pub name: String,
    /// Rated impedance, Ω.
    pub rated_ohms: f64,
    /// On a steady tone at full output, W.
    pub sine_watts: f64,
    /// On a steady tone with the amp driven hard, W.
    pub hard_watts: f64,
    /// Its rating, W.
    pub rated_watts: f64,
}

/// Every fitted loudspeaker, and what is over or near its rating.
pub fn loudspeakers(
    network: &Network,
    side: &SolvedCircuit,
    drive: &Drive,
) -> (Vec<LoudspeakerRatings>, Vec<Finding>) {
    let at_full = full_output(drive);
    let full = at_full.map_or(0.0, |level| level.input_volts);
    let sine = at_full.and_then(|level| level.watts).unwrap_or(0.0);
    let hard = drive.levels.iter();
    let hard = hard.filter(|level| level.input_volts <= HARD_FACTOR * full);
    let hard = hard.filter_map(|level| level.watts).fold(sine, f64::max);
    let mut all = Vec::new();
    let mut found = Vec::new();
    for (id, share) in shared_out(network, side, HZ) {
        let part = side.circuit.part(id);
        let PartKind::Loudspeaker { driver, .. } = &part.kind else {
            continue;
        };
        let ratings = LoudspeakerRatings {
            designator: part.designator.clone(),
            name: driver.name.clone(),
            rated_ohms: driver.rated_ohms,
            sine_watts: share * sine,
            hard_watts: share * hard,
            rated_watts: driver.rated_watts,
        };
        let limit = Limit {
            value: driver.rated_watts,
            name: own_rating(),
            system: LimitSource::Stated,
            source: "The loudspeaker's file.".into(),
        };
        let of = [
            (When::Sine, ratings.sine_watts),
            (When::Hard, ratings.hard_watts),
        ];
        let judged = of
            .map(|(when, watts)| judge(&part.designator, Limited::Power, when, watts, "W", &limit));
        found.extend(worst(judged));
        all.push(ratings);
    }
    (all, found)
}
