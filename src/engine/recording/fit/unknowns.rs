//! What is to be found: values of parts and positions of controls, each as one number that may run
//! freely.
//!
//! Takes names from the owner and a circuit. A value runs as its natural logarithm. A pot's track is
//! known and its wiper is not: it runs as the logit `ln(s/(1 − s))` of the share `s` of the track
//! below the wiper, in which a log pot's kink at half rotation does not show. Pots of one control
//! turn together.

use crate::circuit::diagnostics::nearest;
use crate::circuit::{
    Circuit, ControlValue, Diagnostic, Kind, Part, PartId, PartKind, Setting, Taper,
};
use crate::network::{BranchValue, Network};
use crate::solve::solved::SolvedCircuit;
use crate::units::Quantity;
use std::f64::consts::LN_10;

/// Most parts that are varied at once; the recording has about a hundred figures.
pub const MOST_VARIED: usize = 24;

/// What is believed of a value before the recording is heard: as found, within a factor of three
/// either way (one standard deviation of its logarithm). Amps of one model get changed by such
/// factors, not by a hundred (own choice, no source).
pub const PRIOR_LOG: f64 = 1.098_612_288_668_109_8;
/// The same of a control, in the logit of its track's share: from the middle, one standard deviation
/// reaches from 12 to 88 % of the track (own choice, no source).
const PRIOR_LOGIT: f64 = 2.0;
/// A value is sought within a tenth and ten times of what was found.
const REACH_LOG: f64 = LN_10;
/// A wiper is sought between half a per cent and 99.5 % of its track.
const END_SHARE: f64 = 0.005;

/// What one unknown is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum UnknownKind {
    /// A resistor's, capacitor's or inductor's value.
    Value(Quantity),
    /// The position of pots, 0 to 1; the taper of the first.
    Rotation(Taper),
}

/// One unknown.
#[derive(Clone, Debug, PartialEq)]
pub struct Unknown {
    /// Designator of the part; of a control, its name.
    pub name: String,
    /// The part, or the pots of the control.
    pub parts: Vec<PartId>,
    /// What it is.
    pub kind: UnknownKind,
    /// As found.
    pub start: f64,
    /// Least and greatest.
    pub range: [f64; 2],
    /// One standard deviation of what was believed before.
    pub prior: f64,
}

impl Unknown {
    /// Value in SI units, or rotation from 0 to 1.
    pub fn value(&self, x: f64) -> f64 {
        match self.kind {
            UnknownKind::Value(_) => round(x.exp()),
            UnknownKind::Rotation(taper) => taper.rotation(share(x)),
        }
    }

    /// The number for a value or a rotation.
    pub fn number(&self, value: f64) -> f64 {
        match self.kind {
            UnknownKind::Value(_) => value.ln(),
            UnknownKind::Rotation(taper) => logit(taper.share(value)),
        }
    }

    /// Whether it is a position, which need not be bought.
    pub fn is_position(&self) -> bool {
        matches!(self.kind, UnknownKind::Rotation(_))
    }

    /// The part or parts at this number.
    fn place(&self, circuit: &Circuit, x: f64, into: &mut Vec<(PartId, Part)>) {
        for &id in &self.parts {
            let mut part = circuit.part(id).clone();
            match &mut part.kind {
                PartKind::Resistor { ohms: value, .. }
                | PartKind::Capacitor { farads: value, .. }
                | PartKind::Inductor { henries: value, .. }
                | PartKind::Pot { set: value, .. } => *value = self.value(x),
                _ => debug_assert!(false, "only parts with a value are unknowns"),
            }
            into.push((id, part));
        }
    }

    /// Its branches, each with the derivative of the logarithm of the branch's ohms, farads or
    /// henries.
    pub fn motion(&self, network: &Network, side: &SolvedCircuit, x: f64) -> Vec<(usize, f64)> {
        let mut motion = Vec::new();
        for &id in &self.parts {
            let range = network.branches_of(id);
            let PartKind::Pot {
                ohms, taper, set, ..
            } = side.circuit.part(id).kind
            else {
                motion.extend(range.map(|branch| (branch, 1.0)));
                continue;
            };
            let UnknownKind::Rotation(first) = self.kind else {
                continue;
            };
            // Ohms of the lower track for the logit of the first pot's share.
            let s = share(x);
            let slope = slope(taper, set) / slope(first, set) * s * (1.0 - s) * ohms;
            for (branch, slope) in range.zip([-slope, slope]) {
                if let BranchValue::Resistive { siemens, .. } = side.values.branches[branch] {
                    motion.push((branch, slope * siemens));
                }
            }
        }
        motion
    }
}

/// Without the last digits, which a logarithm and back leave in disorder: 4.7 nF stays 4.7 nF.
fn round(value: f64) -> f64 {
    format!("{value:.10e}").parse().unwrap_or(value)
}

/// Share of the track for its logit.
fn share(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}

fn logit(share: f64) -> f64 {
    let share = share.clamp(END_SHARE, 1.0 - END_SHARE);
    (share / (1.0 - share)).ln()
}

/// Share of the track per rotation. The two pieces of a taper are straight, so a small difference
/// is exact but across the kink, where it is the mean of both.
fn slope(taper: Taper, set: f64) -> f64 {
    const STEP: f64 = 1e-6;
    let [low, high] = [(set - STEP).max(0.0), (set + STEP).min(1.0)];
    (taper.share(high) - taper.share(low)) / (high - low)
}

/// The circuit with every unknown at its number.
pub fn placed(circuit: &Circuit, unknowns: &[Unknown], x: &[f64]) -> Circuit {
    let mut parts = Vec::new();
    for (unknown, &x) in unknowns.iter().zip(x) {
        unknown.place(circuit, x, &mut parts);
    }
    circuit.with_parts(&parts)
}

/// Steps of a rotation that a proposal tells apart: a hundredth, as finely as a knob is set.
const ROTATIONS: f64 = 100.0;

/// The setting of a control at a rotation, as a proposal lists it.
pub fn setting(circuit: &Circuit, unknown: &Unknown, rotation: f64) -> Setting {
    Setting {
        // Those that are not fitted turn too.
        parts: circuit.parts_of_control(&unknown.name),
        value: ControlValue::Rotation((rotation * ROTATIONS).round() / ROTATIONS),
    }
}

/// The unknowns that names stand for: designators of parts, and designators or controls of pots.
///
/// # Errors
/// A fault for every name that stands for nothing that can be found, all at once.
pub fn unknowns(circuit: &Circuit, names: &[String]) -> Result<Vec<Unknown>, Vec<Diagnostic>> {
    let mut found: Vec<Unknown> = Vec::new();
    let mut faults = Vec::new();
    for name in names.iter().map(|n| n.trim()).filter(|n| !n.is_empty()) {
        match unknown(circuit, name) {
            Ok(new) if found.iter().any(|old| old.parts == new.parts) => {
                let message = "is named twice";
                faults.push(Diagnostic::error(message, "name each part once").part(name));
            }
            Ok(new) => found.push(new),
            Err(fault) => faults.push(fault.part(name)),
        }
    }
    if faults.is_empty() && found.is_empty() {
        faults.push(Diagnostic::error(
            "no part is named that may be varied",
            "name some, such as R14,C7,Volume",
        ));
    }
    if found.len() > MOST_VARIED {
        let message = format!("{} parts are too many at once", found.len());
        let remedy = format!("name at most {MOST_VARIED}: those that you think of changing");
        faults.push(Diagnostic::error(message, remedy));
    }
    if faults.is_empty() {
        Ok(found)
    } else {
        Err(faults)
    }
}

fn unknown(circuit: &Circuit, name: &str) -> Result<Unknown, Diagnostic> {
    let ids = (0..circuit.parts().len()).map(|i| PartId(i as u16));
    let controlled: Vec<PartId> = ids
        .filter(|&id| {
            let control = circuit.part(id).kind.control();
            control.is_some_and(|c| c.eq_ignore_ascii_case(name))
        })
        .collect();
    let first = circuit
        .find_part(name)
        .or_else(|| controlled.first().copied());
    let Some(first) = first else {
        let parts = circuit.parts().iter().map(|p| p.designator.as_str());
        let names = parts.chain(circuit.controls());
        let remedy = match nearest(name, names) {
            Some(near) => format!("did you mean {near}?"),
            None => "name parts of this circuit, or its controls".into(),
        };
        return Err(Diagnostic::error("is not a part of this circuit", remedy));
    };
    let part = circuit.part(first);
    if !part.fitted {
        return Err(Diagnostic::error(
            "is not fitted",
            format!("put it in first, with --set {}=in", part.designator),
        ));
    }
    let (quantity, value) = match part.kind {
        PartKind::Resistor { ohms, .. } => (Quantity::Resistance, ohms),
        PartKind::Capacitor { farads, .. } => (Quantity::Capacitance, farads),
        PartKind::Inductor { henries, .. } => (Quantity::Inductance, henries),
        PartKind::Pot { .. } => return Ok(position(circuit, first)),
        _ => {
            let kind = part.kind.kind();
            let remedy = match kind {
                Kind::Switch => "match once with it open and once with it closed, with --control",
                _ => "name resistors, capacitors, inductors or pots",
            };
            let message = format!("a {} has no value that a fit could move", kind.in_words());
            return Err(Diagnostic::error(message, remedy));
        }
    };
    let start = value.ln();
    let (least, greatest) = quantity.range();
    Ok(Unknown {
        name: part.designator.clone(),
        parts: vec![first],
        kind: UnknownKind::Value(quantity),
        start,
        range: [
            (start - REACH_LOG).max(least.ln()),
            (start + REACH_LOG).min(greatest.ln()),
        ],
        prior: PRIOR_LOG,
    })
}

/// The position of a pot and of all that turn with it.
fn position(circuit: &Circuit, first: PartId) -> Unknown {
    let control = circuit.part(first).kind.control().unwrap_or_default();
    let ids = (0..circuit.parts().len()).map(|i| PartId(i as u16));
    let parts: Vec<PartId> = ids
        .filter(|&id| {
            let part = circuit.part(id);
            let same = part
                .kind
                .control()
                .is_some_and(|c| c.eq_ignore_ascii_case(control));
            same && part.fitted && matches!(part.kind, PartKind::Pot { .. })
        })
        .collect();
    let (taper, set) = match circuit.part(parts[0]).kind {
        PartKind::Pot { taper, set, .. } => (taper, set),
        _ => (Taper::Linear, 0.5),
    };
    let most = logit(1.0);
    Unknown {
        name: control.to_string(),
        parts,
        kind: UnknownKind::Rotation(taper),
        start: logit(taper.share(set)),
        range: [-most, most],
        prior: PRIOR_LOGIT,
    }
}
