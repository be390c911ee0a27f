//! Every resistor and pot: watts against its rating, volts against what its body stands.

use super::finding::{Finding, Limit, When, judge, own_rating, worst};
use super::limited::{LimitSource, Limited};
use super::valves::Seen;
use crate::circuit::{PartId, PartKind};
use crate::units::Quantity;
use serde::Serialize;

/// One resistor or pot.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ResistorRatings {
    /// Designator.
    pub designator: String,
    /// What it does; may be empty.
    pub role: String,
    /// Its value, Ω; of a pot, of the whole track.
    pub ohms: f64,
    /// Without signal, W.
    pub rest_watts: f64,
    /// Mean in the heaviest second while the guitar plays, W.
    pub phrase_watts: Option<f64>,
    /// Mean on a steady sine at full output, W.
    pub sine_watts: Option<f64>,
    /// What it is rated for, W; none where the file does not say.
    pub rated_watts: Option<f64>,
    /// Smallest usual size of twice the watts that it gets, W (common practice, no source).
    pub wanted_watts: f64,
    /// Highest voltage across it in any state, V.
    pub peak_volts: f64,
    /// In which.
    pub peak_when: When,
    /// What its body stands, V; none where the file states neither volts nor watts.
    pub body_volts: Option<f64>,
    /// Whether that is assumed from its watts.
    pub body_assumed: bool,
}

/// Usual sizes of resistors, W (common practice, no source).
pub const SIZES: [f64; 11] = [0.125, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 25.0, 50.0];

/// Voltage that a resistor's body stands, by its size in W (makers' sheets, from memory; they
/// differ from type to type, so it is called assumed).
const BODIES: [(f64, f64); 4] = [(0.25, 250.0), (0.5, 350.0), (1.0, 500.0), (2.0, 500.0)];

/// The voltage that a body of so many watts is taken to stand, V.
pub fn assumed_volts(watts: f64) -> f64 {
    let fits = |&&(size, _): &&(f64, f64)| watts >= size * 0.999;
    let row = BODIES.iter().rev().find(fits).unwrap_or(&BODIES[0]);
    // Below the smallest size of the table the body is smaller still: in proportion.
    row.1 * (watts / row.0).min(1.0)
}

/// States in which a part may stand a voltage.
pub const ALL: [When; 5] = [
    When::AtRest,
    When::HighMains,
    When::Cold,
    When::Phrase,
    When::Sine,
];

/// A fitted resistor or pot, and what is over or near its ratings; none for other parts.
pub fn resistor(seen: &Seen<'_>, id: PartId) -> Option<(ResistorRatings, Vec<Finding>)> {
    let part = seen.side.circuit.part(id);
    let (PartKind::Resistor { ohms, .. } | PartKind::Pot { ohms, .. }) = part.kind else {
        return None;
    };
    if !part.fitted {
        return None;
    }
    let watts = |when| seen.part(id, when).map(|s| s.watts);
    let volts = |when: &When| Some((*when, seen.part(id, *when)?.peak_volts()));
    let peak = ALL.iter().filter_map(volts);
    let (peak_when, peak_volts) = peak
        .max_by(|a, b| a.1.total_cmp(&b.1))
        .unwrap_or((When::AtRest, 0.0));
    let rated = part.particulars.rated_watts;
    let stated_volts = part.particulars.rated_volts;
    let body_volts = stated_volts.or(rated.map(assumed_volts));
    let name = part.designator.as_str();
    let mut found = Vec::new();
    if let Some(rated) = rated {
        let limit = stated(rated);
        let states = [When::AtRest, When::Phrase, When::Sine];
        let judged = states.map(|w| judge(name, Limited::Dissipation, w, watts(w)?, "W", &limit));
        found.extend(worst(judged));
    }
    if let Some(stands) = body_volts {
        let limit = match stated_volts {
            Some(_) => stated(stands),
            None => assumed(rated, stands),
        };
        found.extend(judge(
            name,
            Limited::VoltageAcross,
            peak_when,
            peak_volts,
            "V",
            &limit,
        ));
    }
    let states = [When::AtRest, When::Phrase, When::Sine];
    let most = states.iter().filter_map(|&w| watts(w)).fold(0.0, f64::max);
    let report = ResistorRatings {
        designator: name.into(),
        role: part.particulars.role().to_string(),
        ohms,
        rest_watts: watts(When::AtRest).unwrap_or(0.0),
        phrase_watts: watts(When::Phrase),
        sine_watts: watts(When::Sine),
        rated_watts: rated,
        wanted_watts: size_for(most),
        peak_volts,
        peak_when,
        body_volts,
        body_assumed: stated_volts.is_none() && body_volts.is_some(),
    };
    Some((report, found))
}

/// The smallest usual size of twice so many watts; W.
pub fn size_for(watts: f64) -> f64 {
    let enough = |size: &&f64| **size >= 2.0 * watts;
    let size = SIZES.iter().find(enough).copied();
    size.unwrap_or(2.0 * watts)
}

/// A rating that the file states.
pub fn stated(value: f64) -> Limit {
    Limit {
        value,
        name: own_rating(),
        system: LimitSource::Stated,
        source: "The circuit's file.".into(),
    }
}

fn assumed(rated_watts: Option<f64>, volts: f64) -> Limit {
    let size = rated_watts.map_or(String::new(), |w| Quantity::RatedPower.in_words(w));
    Limit {
        value: volts,
        name: format!("what a {size} resistor is assumed to stand, ").into(),
        system: LimitSource::AssumedFromSize,
        source:
            "Makers' sheets, from memory: 250 V for 0.25 W, 350 V for 0.5 W, 500 V from 1 W up. \
                 They differ from type to type."
                .into(),
    }
}
