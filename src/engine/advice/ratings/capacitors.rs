//! Every capacitor: the worst voltage across it against its rating.
//!
//! The worst is looked for at rest, at rest with the mains 10 % high, and with the valves cold and
//! the mains 10 % high (no valve drawing, so that every supply stands at its voltage without load).
//! While something is played its swing, as read at nominal mains, is added to rest at high mains.

use super::finding::{Finding, When, judge};
use super::limited::Limited;
use super::resistors::stated;
use super::valves::Seen;
use crate::circuit::{PartId, PartKind};
use serde::Serialize;

/// One capacitor.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct CapacitorRatings {
    /// Designator.
    pub designator: String,
    /// What it does; may be empty.
    pub role: String,
    /// Its value, F.
    pub farads: f64,
    /// Without signal, V (magnitude).
    pub idle_volts: f64,
    /// Highest direct voltage in any state without signal, V (magnitude).
    pub direct_volts: f64,
    /// How far a signal moves the voltage from rest, V.
    pub swing_volts: Option<f64>,
    /// The worst of all, V.
    pub worst_volts: f64,
    /// When.
    pub worst_when: When,
    /// What it is rated for, V; none where the file does not say.
    pub rated_volts: Option<f64>,
    /// Smallest usual rating that covers the worst voltage, V.
    pub wanted_volts: f64,
}

/// Usual voltage ratings, V (common practice, no source).
pub const USUAL_VOLTS: [f64; 17] = [
    16.0, 25.0, 35.0, 50.0, 63.0, 100.0, 160.0, 200.0, 250.0, 350.0, 400.0, 450.0, 500.0, 550.0,
    630.0, 1000.0, 1600.0,
];

/// A signal is named as the worst moment where it adds more than a hundredth.
const LEAST_RATIO: f64 = 1.01;

/// A fitted capacitor, and what is over or near its rating; none for other parts.
pub fn capacitor(seen: &Seen<'_>, id: PartId) -> Option<(CapacitorRatings, Option<Finding>)> {
    let part = seen.side.circuit.part(id);
    let PartKind::Capacitor {
        farads,
        between: [a, b],
    } = part.kind
    else {
        return None;
    };
    if !part.fitted {
        return None;
    }
    let direct = |when| seen.volts(when, a, b);
    let rest = direct(When::AtRest).unwrap_or(0.0);
    let high = direct(When::HighMains).unwrap_or(rest);
    let swing = |when| {
        let stress = seen.part(id, when)?;
        Some((stress.low_volts - rest, stress.high_volts - rest))
    };
    let moved = |when| {
        let (low, high_swing) = swing(when)?;
        Some((high + low).abs().max((high + high_swing).abs()))
    };
    let mut worst = (When::AtRest, rest.abs());
    let mut direct_volts = rest.abs();
    for when in [When::HighMains, When::Cold] {
        let volts = direct(when).map_or(0.0, f64::abs);
        direct_volts = direct_volts.max(volts);
        if volts > worst.1 {
            worst = (when, volts);
        }
    }
    for when in [When::Phrase, When::Sine] {
        if let Some(volts) = moved(when).filter(|&volts| volts > LEAST_RATIO * worst.1) {
            worst = (when, volts);
        }
    }
    let swings = [When::Phrase, When::Sine].into_iter().filter_map(swing);
    let swing_volts = swings.map(|(l, h)| l.abs().max(h.abs())).reduce(f64::max);
    let (worst_when, worst_volts) = worst;
    let name = part.designator.as_str();
    let rated = part.particulars.rated_volts;
    let finding = rated.and_then(|rated| {
        let limit = stated(rated);
        judge(
            name,
            Limited::VoltageAcross,
            worst_when,
            worst_volts,
            "V",
            &limit,
        )
    });
    let wanted = USUAL_VOLTS.iter().find(|v| **v >= worst_volts);
    let report = CapacitorRatings {
        designator: name.into(),
        role: part.particulars.role().to_string(),
        farads,
        idle_volts: rest.abs(),
        direct_volts,
        swing_volts,
        worst_volts,
        worst_when,
        rated_volts: rated,
        wanted_volts: wanted.copied().unwrap_or(worst_volts),
    };
    Some((report, finding))
}
