//! The amp with a part that is another, and what that does to the response.

use crate::analysis::response::{Path, gains};
use crate::circuit::{Part, PartId, PartKind};
use crate::network::Network;
use crate::solve::operating_point;
use crate::solve::solved::{SolvedAmp, SolvedCircuit};
use crate::units::decibels_from_ratio;
use serde::Serialize;

/// The low E of a guitar in standard tuning, Hz.
pub const LOW_E_HZ: f64 = 82.4;

/// Curves that vary by less than this are told in one number, dB.
pub const LEVEL_DB: f64 = 0.3;

/// A difference of levels at a frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AtHz {
    /// Difference, dB.
    pub db: f64,
    /// Frequency, Hz.
    pub hz: f64,
}

/// A part in its amp, and the path that it is judged by.
pub struct PartInAmp<'a> {
    /// The amp at rest.
    pub amp: &'a SolvedAmp,
    /// The part.
    pub part: PartId,
    /// From where to where.
    pub path: Path,
    /// Frequencies of the curves, Hz.
    pub hz: &'a [f64],
    /// As found, dB.
    pub levels: Vec<f64>,
}

impl PartInAmp<'_> {
    /// The part as found.
    pub fn before(&self) -> &Part {
        self.amp.as_found.circuit.part(self.part)
    }
    /// The part as proposed.
    pub fn after(&self) -> &Part {
        self.amp.asked_for().circuit.part(self.part)
    }
    /// Difference of the levels to as found, dB, when these parts are others; none without an
    /// operating point.
    pub fn with(&self, parts: &[(PartId, Part)]) -> Option<(SolvedCircuit, Vec<f64>)> {
        let side = varied(self.amp, parts)?;
        let levels = levels(&self.amp.network, &side, self.path, self.hz);
        Some((side, less(&levels, &self.levels)))
    }
}

/// The part as proposed if it differs, and the other half of its valve with it; controls stay as
/// found.
pub fn changed(amp: &SolvedAmp, part: PartId) -> Vec<(PartId, Part)> {
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

/// The amp as found but for one part, which is as proposed, and the other half of its valve; none
/// when it does not change or the circuit so changed has no operating point.
pub fn changed_alone(amp: &SolvedAmp, part: PartId) -> Option<SolvedCircuit> {
    let change = changed(amp, part);
    (!change.is_empty()).then(|| varied(amp, &change)).flatten()
}

/// The amp as found but for these parts; none without an operating point.
pub fn varied(amp: &SolvedAmp, parts: &[(PartId, Part)]) -> Option<SolvedCircuit> {
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

/// Small-signal levels at some frequencies, dB.
pub fn levels(network: &Network, side: &SolvedCircuit, path: Path, hz: &[f64]) -> Vec<f64> {
    let gains = gains(network, side, path, hz);
    gains
        .iter()
        .map(|g| decibels_from_ratio(g.norm()))
        .collect()
}

/// The one less the other, point by point.
pub fn less(a: &[f64], b: &[f64]) -> Vec<f64> {
    a.iter().zip(b).map(|(a, b)| a - b).collect()
}

/// The value farthest from nothing.
pub fn largest(hz: &[f64], db: &[f64]) -> AtHz {
    let nothing = AtHz { db: 0.0, hz: hz[0] };
    hz.iter().zip(db).fold(nothing, |largest, (&hz, &db)| {
        if db.abs() > largest.db.abs() {
            AtHz { db, hz }
        } else {
            largest
        }
    })
}
