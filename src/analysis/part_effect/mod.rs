//! What one part does: its figures at rest, where it acts, what its change alone brings, and a
//! sentence in the trade's words.
//!
//! Takes an amp at rest, a part and a path; gives a [`PartEffect`]. Whatever is said of a change
//! or of twice the value comes from solving the changed circuit, operating point included, never
//! from stretching a tangent.

mod corner;
mod idle;
mod job;
mod shift;
mod words;

pub use idle::{Idle, idle};

use super::parts_list::in_words;
use super::response::{Path, axis, gains};
use super::sensitivity;
use crate::circuit::{Part, PartId, PartKind};
use crate::network::Network;
use crate::solve::operating_point;
use crate::solve::solved::{Both, SolvedAmp, SolvedCircuit};
use serde::Serialize;

/// The low E of a guitar in standard tuning, Hz.
pub const LOW_E_HZ: f64 = 82.4;

/// A difference of levels at a frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AtHz {
    /// Difference, dB.
    pub db: f64,
    /// Frequency, Hz.
    pub hz: f64,
}

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
    let levels = |side: &SolvedCircuit| levels(network, side, path, &hz);
    let sensitivity = sensitivity::with_a_value(&found.circuit)
        .any(|id| id == part)
        .then(|| sensitivity::of_parts(network, found, path, &hz, &[part]).remove(0));
    let change = changed(amp, part);
    let other = (!change.is_empty()).then(|| varied(amp, &change));
    let stage = Stage {
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
    let low_e = |side: &SolvedCircuit| self::levels(network, side, path, &[LOW_E_HZ])[0];
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
        role: before.particulars.role.clone(),
        stage: before.particulars.stage.clone(),
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

/// What the sentences are about.
struct Stage<'a> {
    amp: &'a SolvedAmp,
    part: PartId,
    path: Path,
    hz: &'a [f64],
    /// As found, dB.
    levels: Vec<f64>,
}

impl Stage<'_> {
    fn before(&self) -> &Part {
        self.amp.as_found.circuit.part(self.part)
    }
    fn after(&self) -> &Part {
        self.amp.asked_for().circuit.part(self.part)
    }
    /// Difference of the levels to as found, dB, when these parts are others; none without an
    /// operating point.
    fn with(&self, parts: &[(PartId, Part)]) -> Option<(SolvedCircuit, Vec<f64>)> {
        let side = varied(self.amp, parts)?;
        let levels = levels(&self.amp.network, &side, self.path, self.hz);
        Some((side, less(&levels, &self.levels)))
    }
}

/// The part as proposed if it differs, and the other half of its bottle with it; controls stay as
/// found.
fn changed(amp: &SolvedAmp, part: PartId) -> Vec<(PartId, Part)> {
    let circuit = &amp.as_found.circuit;
    let name = &circuit.part(part).designator;
    // Both halves of a valve change together: nobody swaps one.
    let mut ids = vec![part];
    let envelope = name.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let halves = circuit.parts_named(envelope);
    if halves.contains(&part) {
        ids = halves;
    }
    ids.into_iter()
        .filter_map(|id| {
            let (before, mut after) = (circuit.part(id), amp.asked_for().circuit.part(id).clone());
            if let (PartKind::Pot { set, .. }, PartKind::Pot { set: found, .. }) =
                (&mut after.kind, &before.kind)
            {
                *set = *found;
            }
            (after.kind != before.kind || after.fitted != before.fitted).then_some((id, after))
        })
        .collect()
}

/// The amp as found but for one part, which is as proposed, and the other half of its bottle; none
/// when it does not change or the circuit so changed has no operating point.
pub fn changed_alone(amp: &SolvedAmp, part: PartId) -> Option<SolvedCircuit> {
    let change = changed(amp, part);
    (!change.is_empty()).then(|| varied(amp, &change)).flatten()
}

/// The amp as found but for these parts; none without an operating point.
fn varied(amp: &SolvedAmp, parts: &[(PartId, Part)]) -> Option<SolvedCircuit> {
    let (network, found) = (&amp.network, &amp.as_found);
    let mut values = found.values.clone();
    for (id, part) in parts {
        network.update_part(&mut values, *id, part);
    }
    let capacitors = |(_, part): &(PartId, Part)| matches!(part.kind, PartKind::Capacitor { .. });
    let point = match parts.iter().all(capacitors) {
        // Capacitors carry nothing at rest.
        true => found.point.clone(),
        false => operating_point(network, &values).ok()?,
    };
    Some(SolvedCircuit {
        circuit: found.circuit.with_parts(parts),
        values,
        point,
    })
}

fn levels(network: &Network, side: &SolvedCircuit, path: Path, hz: &[f64]) -> Vec<f64> {
    let gains = gains(network, side, path, hz);
    gains.iter().map(|g| 20.0 * g.norm().log10()).collect()
}

fn less(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a - b).collect()
}

/// The value farthest from nothing.
fn largest(hz: &[f64], db: &[f64]) -> AtHz {
    let nothing = AtHz { db: 0.0, hz: hz[0] };
    hz.iter().zip(db).fold(nothing, |largest, (&hz, &db)| {
        if db.abs() > largest.db.abs() {
            AtHz { db, hz }
        } else {
            largest
        }
    })
}
