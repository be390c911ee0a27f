//! What other analyses found of the same amp, as far as a job needs it: what is over its rating,
//! what parts meet, what stays charged.

use super::purchase::Met;
use crate::advice::changes::ChangesReport;
use crate::advice::prices::Prices;
use crate::advice::ratings::{Finding, RatingsReport, Reservoir, When, sentences};
use crate::advice::spread::SpreadReport;
use crate::solve::solved::Both;
use serde::Serialize;

/// The reports. What is none is left out of the job.
#[derive(Clone, Copy)]
pub struct Evidence<'a> {
    /// Ratings of both sides.
    pub ratings: Both<&'a RatingsReport>,
    /// How amps of this model differ.
    pub spread: Option<&'a SpreadReport>,
    /// What each change does by itself.
    pub changes: Option<&'a ChangesReport>,
    /// What parts cost.
    pub prices: Option<&'a Prices>,
}

/// Over a rating, a sentence each.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct OverRated {
    /// As found and as proposed.
    pub still: Vec<String>,
    /// As proposed only.
    pub brought: Vec<String>,
    /// As found, and within the limit as proposed.
    pub mended: Vec<String>,
    /// As proposed over the limit for good, but within the one for moments.
    pub brief: Vec<String>,
    /// What takes the bias away when it comes loose, as proposed.
    pub loose: Vec<String>,
}

/// What is over its rating on both sides.
pub fn over_rated(ratings: &Both<&RatingsReport>) -> OverRated {
    let same = |a: &Finding, b: &Finding| a.designator == b.designator && a.what == b.what;
    let after = &ratings.proposed;
    let stays = |was: &&Finding| {
        let there = after.over.iter().chain(&after.brief);
        there.clone().any(|is| same(was, is))
    };
    let before = ratings.as_found.over.iter();
    let mended: Vec<Finding> = before.filter(|f| !stays(f)).cloned().collect();
    let (still, brought): (Vec<Finding>, Vec<Finding>) = after
        .over
        .iter()
        .cloned()
        .partition(|is| ratings.as_found.over.iter().any(|was| same(was, is)));
    let loose = after.loose.iter().filter(|l| l.loses_bias);
    OverRated {
        still: sentences(&still),
        brought: sentences(&brought),
        mended: sentences(&mended),
        brief: after.brief_sentences(),
        loose: loose.map(|l| l.in_words.clone()).collect(),
    }
}

/// What a part meets as proposed; empty for what has no such figures.
pub fn met(ratings: &RatingsReport, designator: &str) -> Met {
    let resistor = ratings
        .resistors
        .iter()
        .find(|r| r.designator == designator);
    if let Some(r) = resistor {
        let watts = [
            (Some(r.rest_watts), When::AtRest),
            (r.phrase_watts, When::Phrase),
            (r.sine_watts, When::Sine),
        ];
        let watts = watts.into_iter().filter_map(|(w, when)| Some((w?, when)));
        let most = watts.max_by(|a, b| a.0.total_cmp(&b.0));
        return Met {
            watts: most.map(|(w, _)| w),
            watts_when: most.map(|(_, when)| when),
            volts: Some(r.peak_volts),
            volts_when: Some(r.peak_when),
        };
    }
    let capacitor = ratings
        .capacitors
        .iter()
        .find(|c| c.designator == designator);
    capacitor.map_or(Met::default(), |c| Met {
        volts: Some(c.worst_volts),
        volts_when: Some(c.worst_when),
        ..Met::default()
    })
}

/// What stays charged, whichever way the amp stands: of each capacitor the worse, most energy
/// first.
pub fn charged(ratings: &Both<&RatingsReport>) -> Vec<Reservoir> {
    let mut out: Vec<Reservoir> = ratings.as_found.reservoirs.clone();
    let slower = |a: &Reservoir, b: &Reservoir| {
        let seconds = |r: &Reservoir| r.seconds.unwrap_or(f64::INFINITY);
        seconds(a) > seconds(b)
    };
    for other in &ratings.proposed.reservoirs {
        match out.iter_mut().find(|r| r.designator == other.designator) {
            Some(there) if other.joules > there.joules || slower(other, there) => {
                *there = other.clone();
            }
            Some(_) => {}
            None => out.push(other.clone()),
        }
    }
    out.sort_by(|a, b| b.joules.total_cmp(&a.joules));
    out
}
