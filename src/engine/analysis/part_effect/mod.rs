//! What one part does: its figures at rest, where it acts, what its change alone brings, and a
//! sentence in the trade's words.
//!
//! Takes an amp at rest, a part and a path; gives a [`PartEffect`]. Whatever is said of a change
//! or of twice the value comes from solving the changed circuit, operating point included, never
//! from stretching a tangent.

mod corner;
mod idle;
mod rc_corner;
mod shift;
mod varied;
mod words;

pub use idle::{Idle, idle};
pub use varied::{AtHz, LOW_E_HZ, changed_alone};

use super::parts_list::in_words;
use super::response::{Path, axis};
use super::sensitivity;
use crate::circuit::PartId;
use crate::solve::solved::{Both, SolvedAmp, SolvedCircuit};
use serde::Serialize;
use varied::{PartInAmp, changed, largest, less, varied};

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PartEffect {
    /// Designator, such as "R14".
    pub designator: String,
    /// What it does there, as the file says; may be empty.
    pub role: String,
    /// Its stage, as the file says; may be empty.
    pub stage: String,
    /// Value or type as found; "out" if not fitted.
    pub as_found: String,
    /// The proposed one, where it differs.
    pub proposed: Option<String>,
    /// Its figures at rest; as proposed with everything that is proposed.
    pub idle: Both<Idle>,
    /// Power rating, W, if stated.
    pub rated_watts: Option<f64>,
    /// Voltage rating, V, if stated.
    pub rated_volts: Option<f64>,
    /// Frequencies of the curves, Hz.
    pub hz: Vec<f64>,
    /// Where it acts, decibels an octave of its value as found; none for parts without a value.
    pub sensitivity: Option<Vec<f64>>,
    /// What its change alone does: as found but for this part, less as found, dB. None when it is
    /// unchanged, or when the circuit so changed has no operating point.
    pub difference: Option<Vec<f64>>,
    /// The largest of it.
    pub largest: Option<AtHz>,
    /// It at the low E, [`LOW_E_HZ`], dB.
    pub low_e_db: Option<f64>,
    /// What it does, in plain words; none where nothing true can be said.
    pub sentence: Option<String>,
}

/// Makes the report.
pub fn part_effect(amp: &SolvedAmp, part: PartId, path: Path) -> PartEffect {
    let (network, found) = (&amp.network, &amp.as_found);
    let before = found.circuit.part(part);
    let after = amp.asked_for().circuit.part(part);
    let hz = axis();
    let levels = |side: &SolvedCircuit| varied::levels(network, side, path, &hz);
    let sensitivity = sensitivity::with_a_value(&found.circuit)
        .any(|id| id == part)
        .then(|| sensitivity::of_parts(network, found, path, &hz, &[part]).remove(0));
    let change = changed(amp, part);
    let other = (!change.is_empty()).then(|| varied(amp, &change));
    let stage = PartInAmp {
        amp,
        part,
        path,
        hz: &hz,
        levels: levels(found),
    };
    // Where nothing arrives there is nothing to say.
    let arrives = stage.levels.iter().all(|db| db.is_finite());
    let mut difference = None;
    let sentence = match &other {
        // The change has no operating point: nothing can be said of it.
        Some(None) => None,
        Some(Some(side)) => {
            let less = less(&levels(side), &stage.levels);
            let sentence = words::changed(&stage, side, &less);
            difference = Some(less);
            sentence
        }
        None => words::unchanged(&stage),
    };
    let low_e = |side: &SolvedCircuit| varied::levels(network, side, path, &[LOW_E_HZ])[0];
    let low_e_db = match &other {
        Some(Some(side)) => Some(low_e(side) - low_e(found)),
        _ => None,
    };
    let as_found = in_words(before);
    let idle = Both {
        as_found: idle(network, found, part),
        proposed: idle(network, amp.asked_for(), part),
    };
    let sentence = sentence.filter(|_| arrives);
    let over = words::over_rating(after, &idle.proposed);
    let sentences: Vec<String> = sentence.into_iter().chain(over).collect();
    PartEffect {
        designator: before.designator.clone(),
        role: before.particulars.role().to_string(),
        stage: before.particulars.stage().to_string(),
        proposed: Some(in_words(after)).filter(|after| *after != as_found),
        as_found,
        idle,
        rated_watts: before.particulars.rated_watts,
        rated_volts: before.particulars.rated_volts,
        largest: difference.as_deref().map(|d| largest(&hz, d)),
        low_e_db,
        sensitivity,
        difference,
        sentence: (!sentences.is_empty()).then(|| sentences.join(" ")),
        hz,
    }
}
