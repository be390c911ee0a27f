//! The sentence about one part: computed, short, and silent where nothing true can be said.

use super::idle::idle;
use super::rc_corner::{RcCorner, rc_corner};
use super::shift;
use super::varied::{LEVEL_DB, LOW_E_HZ, PartInAmp, largest, levels};
use crate::analysis::parts_list::in_words;
use crate::circuit::{GROUND, Part, PartKind};
use crate::solve::solved::SolvedCircuit;
use crate::text::digits::{hertz, printed, signed_db, significant};

/// Less than this everywhere is nothing to speak of, dB.
const NOTHING_DB: f64 = 0.1;
/// A second extreme of the other sign counts from here, dB and share of the first.
const SECOND_DB: f64 = 0.5;
const SECOND_SHARE: f64 = 0.4;
/// A level that is told as one number is at least this, dB.
const LEAST_LEVEL_DB: f64 = 0.15;
/// Changes of one sign of which the smallest is so large a share of the largest are told together.
const ALIKE_SHARE: f64 = 0.6;
/// The middle of a guitar's range, and the upper end of what its loudspeakers give well, Hz
/// (common practice, no source).
const MIDDLE_HZ: f64 = 1000.0;
const TREBLE_HZ: f64 = 4000.0;
/// Without a part that takes so much with it, next to nothing comes through, dB.
const GONE_DB: f64 = -40.0;
/// A capacitor from ground to a node with so much direct voltage holds it steady, V.
const DECOUPLED_VOLTS: f64 = 5.0;

/// Of a part at the jack without a guitar.
const WITHOUT_GUITAR: &str =
    "What it does with a guitar in the jack is not counted: none is assumed.";

/// What must be said of a part that makes next to no difference.
fn caveat(stage: &PartInAmp<'_>, difference: &[f64]) -> Option<String> {
    let nothing = largest(stage.hz, difference).db.abs() < NOTHING_DB;
    let wants = stage.amp.as_found.circuit.wants_guitar(stage.part);
    (nothing && wants).then(|| WITHOUT_GUITAR.into())
}

/// About a part that is to change; `difference` is what its change alone does, dB.
pub fn changed(stage: &PartInAmp<'_>, side: &SolvedCircuit, difference: &[f64]) -> Option<String> {
    let (before, after) = (stage.before(), stage.after());
    let at = at_value(before, after);
    let mut out = Vec::new();
    let corner = rc_corner(stage);
    let mut stated = false;
    if let Some(corner) = &corner {
        let new = corner.again(stage, side);
        stated = new.is_some();
        let end = new.map_or(String::new(), |new| format!("; {}: {new}", lower(&at)));
        out.push(format!("{}{end}.", corner.in_words()));
    }
    let level = level(stage.hz, difference, stage.low_e(side));
    let facts = facts(stage, side);
    if stated && facts.is_empty() {
        out.push(format!("Largest effect {level}.").replace("Largest effect within", "Within"));
    } else {
        let left_out = left_out(stage, &corner);
        out.push(format!("{at}: {}{left_out}.", joined(facts, level)));
    }
    out.extend(caveat(stage, difference));
    Some(out.join(" "))
}

/// About a part that stays.
pub fn unchanged(stage: &PartInAmp<'_>) -> Option<String> {
    let part = stage.before();
    let mut out = Vec::new();
    let (lead, other) = what_if(part)?;
    let corner = rc_corner(stage);
    out.extend(
        corner
            .as_ref()
            .map(|corner| format!("{}.", corner.in_words())),
    );
    let left_out = left_out(stage, &corner);
    // A capacitor whose part in the sound has no plain shape is told by what is missing without it.
    if corner.is_none()
        && left_out.is_empty()
        && part.fitted
        && matches!(part.kind, PartKind::Capacitor { .. })
    {
        out.extend(without(stage));
    }
    if let Some((side, difference)) = stage.with(&[(stage.part, other)]) {
        let level = level(stage.hz, &difference, stage.low_e(&side));
        out.push(format!(
            "{lead}: {}{left_out}.",
            joined(facts(stage, &side), level)
        ));
        out.extend(caveat(stage, &difference));
    }
    (!out.is_empty()).then(|| out.join(" "))
}

/// "Without it: −5.3 dB at 280 Hz."
fn without(stage: &PartInAmp<'_>) -> Option<String> {
    let mut gone = stage.before().clone();
    gone.fitted = false;
    let (side, difference) = stage.with(&[(stage.part, gone)])?;
    let most = largest(stage.hz, &difference).db.abs();
    (most >= NOTHING_DB).then(|| {
        let level = level(stage.hz, &difference, stage.low_e(&side));
        format!("Without it: {level}.")
    })
}

/// What the sum leaves out, for a capacitor from ground to a node with direct voltage that makes no
/// corner: of a supply its ripple, of a cathode what a loud signal does to the bias.
fn left_out(stage: &PartInAmp<'_>, job: &Option<RcCorner>) -> &'static str {
    let PartKind::Capacitor { between, .. } = &stage.before().kind else {
        return "";
    };
    let idle = idle(&stage.amp.network, &stage.amp.as_found, stage.part);
    let holds = idle.volts.is_some_and(|volts| volts > DECOUPLED_VOLTS);
    if job.is_some() || !between.contains(&GROUND) || !holds {
        return "";
    }
    let circuit = &stage.amp.as_found.circuit;
    let at_cathode = circuit.parts().iter().any(|other| match &other.kind {
        PartKind::Triode { cathode, .. } | PartKind::Pentode { cathode, .. } => {
            *cathode != GROUND && between.contains(cathode)
        }
        _ => false,
    });
    if at_cathode {
        "; how it steadies the bias of a loud signal is not counted"
    } else {
        "; what it does against hum is not counted"
    }
}

/// "It takes 0.9 W at rest, more than the 0.5 W it is rated for.": none within its ratings.
pub fn over_rating(part: &Part, idle: &super::Idle) -> Option<String> {
    let rated = &part.particulars;
    let (value, limit, verb, unit) = match part.kind {
        PartKind::Capacitor { .. } => (idle.volts?, rated.rated_volts?, "stands at", "V"),
        _ => (idle.watts?, rated.rated_watts?, "takes", "W"),
    };
    (value > limit).then(|| {
        let value = significant(value, 2);
        let limit = printed(limit);
        format!("At rest it {verb} {value} {unit}, over its rating of {limit} {unit}.")
    })
}

impl PartInAmp<'_> {
    /// Difference at the low E, dB.
    fn low_e(&self, side: &SolvedCircuit) -> f64 {
        let at = |side| levels(&self.amp.network, side, self.path, &[LOW_E_HZ])[0];
        at(side) - at(&self.amp.as_found)
    }
}

/// What to try on a part that stays, and what to call it.
fn what_if(part: &Part) -> Option<(String, Part)> {
    let mut other = part.clone();
    if !part.fitted {
        other.fitted = true;
        return Some((format!("Put in at {}", in_words(&other)), other));
    }
    match &mut other.kind {
        PartKind::Resistor { ohms: value, .. }
        | PartKind::Pot { ohms: value, .. }
        | PartKind::Capacitor { farads: value, .. }
        | PartKind::Inductor { henries: value, .. } => *value *= 2.0,
        PartKind::Switch { closed, .. } => {
            *closed = !*closed;
            let lead = if *closed { "Closed" } else { "Open" };
            return Some((lead.into(), other));
        }
        _ => return None,
    }
    Some(("Twice the value".into(), other))
}

/// "At 22 nF", "Left out", "With ECC81".
fn at_value(before: &Part, after: &Part) -> String {
    let value = in_words(after);
    match (before.fitted, after.fitted) {
        (_, false) => "Left out".into(),
        (false, true) => format!("Put in at {value}"),
        _ => match &after.kind {
            PartKind::Switch { closed, .. } => if *closed { "Closed" } else { "Open" }.into(),
            PartKind::Triode { .. }
            | PartKind::Pentode { .. }
            | PartKind::Loudspeaker { .. }
            | PartKind::OutputTransformer(_) => format!("With {value}"),
            PartKind::Rectifier { rectifier, .. } => format!("With {}", rectifier.name),
            // The trade's minus sign.
            _ => format!("At {}", value.replacen('-', "−", 1)),
        },
    }
}

fn lower(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(|c| c.to_lowercase().to_string());
    first.unwrap_or_default() + chars.as_str()
}

fn facts(stage: &PartInAmp<'_>, side: &SolvedCircuit) -> Vec<String> {
    let heard = stage.path.to.is_none();
    let damping = || shift::damping(stage.amp, side);
    let currents = shift::currents(stage.amp, side);
    let damping = heard.then(damping).flatten();
    currents.into_iter().chain(damping).collect()
}

fn joined(mut facts: Vec<String>, level: String) -> String {
    facts.push(level);
    facts.join("; ")
}

/// "+4.5 dB at 30 Hz, +1.5 dB at the low E"; "−2.1 dB everywhere"; "within 0.1 dB everywhere …".
fn level(hz: &[f64], difference: &[f64], low_e_db: f64) -> String {
    if difference.iter().all(|&db| db <= GONE_DB) {
        return "next to nothing comes through".into();
    }
    let most = largest(hz, difference);
    let lowest = difference.iter().copied().fold(f64::INFINITY, f64::min);
    let highest = difference.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if highest - lowest <= LEVEL_DB {
        let middle = 0.5 * (highest + lowest);
        if middle.abs() >= LEAST_LEVEL_DB {
            return format!("{} dB everywhere", signed_db(middle));
        }
        // Rounded up, so that it is true.
        let within = (10.0 * most.db.abs()).ceil().max(1.0) / 10.0;
        return format!("within {within:.1} dB everywhere from 20 Hz to 20 kHz");
    }
    let (near, far) = match most.db > 0.0 {
        true => (lowest, highest),
        false => (highest, lowest),
    };
    if near * far > 0.0 && near / far >= ALIKE_SHARE {
        let (near, far) = (signed_db(near), signed_db(far));
        return format!("between {near} and {far} dB everywhere");
    }
    let mut out = format!("{} dB at {}", signed_db(most.db), hertz(most.hz));
    let mut also = |db: f64, at: &str| out += &format!(", {} dB at {at}", signed_db(db));
    let opposite: Vec<f64> = difference
        .iter()
        .map(|&db| if db * most.db < 0.0 { db } else { 0.0 })
        .collect();
    let second = largest(hz, &opposite);
    if second.db.abs() >= SECOND_DB.max(SECOND_SHARE * most.db.abs()) {
        also(second.db, &hertz(second.hz));
        return out;
    }
    // What is largest at the edge of hearing says little about a guitar: where it plays is added.
    let at = |wanted: f64| {
        let near = hz.iter().zip(difference);
        near.min_by(|a, b| {
            (a.0 / wanted)
                .ln()
                .abs()
                .total_cmp(&(b.0 / wanted).ln().abs())
        })
        .map_or(0.0, |(_, &db)| db)
    };
    if most.hz < 0.75 * LOW_E_HZ && low_e_db.abs() >= NOTHING_DB {
        also(low_e_db, "the low E");
        let middle = at(MIDDLE_HZ);
        if middle.abs() >= NOTHING_DB {
            also(middle, &hertz(MIDDLE_HZ));
        }
    } else if most.hz > 2.0 * TREBLE_HZ {
        // A change that is nearly all there in the middle is no matter of treble.
        let middle = at(MIDDLE_HZ) / most.db >= ALIKE_SHARE;
        let place = if middle { MIDDLE_HZ } else { TREBLE_HZ };
        if at(place).abs() >= NOTHING_DB {
            also(at(place), &hertz(place));
        }
    }
    out
}
