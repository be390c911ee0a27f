//! What a change does, in sentences.

use super::effect::{NOTICEABLE_DB, NOTICEABLE_WATTS};
use super::{Caveat, ChangeRow, ChangedPart, Dissipation, Doing, Effect, Item, PartLimit};
use crate::advice::prices::Prices;
use crate::advice::ratings::Limited;
use crate::analysis::audibility::Heard;
use crate::analysis::headroom::StageHeadroom;
use crate::device::Electrode;
use crate::text::digits::{fixed, percent, printed, significant};
use crate::text::list::listed;

/// The whole sentence of a row.
pub fn row(row: &ChangeRow) -> String {
    let Some(effect) = &row.alone else {
        let start = "It does not go alone: without the other changes the amp has no solution.";
        return match &row.beside_others {
            Some(effect) => format!("{start} Beside them: {}", lower(&in_words(effect))),
            None => start.into(),
        };
    };
    let mut out = in_words(effect);
    if let Some(beside) = &row.beside_others {
        out += &beside_others(effect, beside);
    }
    // A loudspeaker that does nothing to the amp may still be another loudspeaker.
    if !row.worth_it && row.caveat != Some(Caveat::OwnSound) {
        out += match row.doing {
            Doing::Turn => " It does nothing worth turning it for.",
            Doing::Swap => " It does nothing worth its price.",
            Doing::Solder => " It does nothing worth opening the chassis for.",
        };
    }
    if let Some(caveat) = row.caveat {
        out += " ";
        out += caveat.in_words();
    }
    out
}

/// "R505 (bias load, 12 kΩ → 15 kΩ)", "Controls (Volume 0.6 → 0.5)".
pub fn what(item: &Item) -> String {
    let moves = |p: &ChangedPart| format!("{} → {}", p.as_found, p.proposed);
    if item.is_controls() {
        let each = item.parts.iter();
        let each: Vec<String> = each
            .map(|p| format!("{} {}", p.designator, moves(p)))
            .collect();
        return format!("Controls ({})", each.join(", "));
    }
    match item.parts.first() {
        Some(first) => format!("{} ({}, {})", item.name(), first.role, moves(first)),
        None => item.name(),
    }
}

/// All changes at once.
pub fn together(rows: &[ChangeRow], effect: &Effect) -> String {
    match rows.len() {
        0 => "The proposal changes nothing.".into(),
        1 => in_words(effect),
        _ => format!("All together: {}", lower(&in_words(effect))),
    }
}

/// What must be said before all else: limits that do not hold when everything is done.
pub fn warnings(effect: &Effect) -> Vec<String> {
    let list = |limits: &[PartLimit]| {
        let limits: Vec<&PartLimit> = limits.iter().collect();
        (!limits.is_empty()).then(|| by_limit(&limits))
    };
    let stays = list(&effect.stays_over)
        .map(|l| format!("As found the {l} is OVER the limit, and the proposal leaves it there."));
    let takes =
        list(&effect.takes_over).map(|l| format!("The proposal takes the {l} OVER the limit."));
    takes.into_iter().chain(stays).collect()
}

/// "anode dissipation of V3 and V4".
fn by_limit(limits: &[&PartLimit]) -> String {
    let mut groups: Vec<(Limited, Vec<&str>)> = Vec::new();
    for limit in limits {
        match groups.iter_mut().find(|(what, _)| *what == limit.what) {
            Some((_, parts)) => parts.push(&limit.part),
            None => groups.push((limit.what, vec![&limit.part])),
        }
    }
    let groups = groups.iter();
    let each: Vec<String> = groups
        .map(|(what, parts)| format!("{what} of {}", listed(parts)))
        .collect();
    each.join(", ")
}

/// What the prices are, from the file's own words.
pub fn about_prices(prices: &Prices) -> String {
    match prices.about() {
        "" => format!("Prices in {}, from the price file.", prices.currency()),
        about => format!("Prices in {}. {about}", prices.currency()),
    }
}

/// An effect in sentences.
fn in_words(effect: &Effect) -> String {
    let mut out = vec![heard(effect)];
    out.extend(quiet_notes(effect));
    out.extend(louder(effect));
    if effect.sounds != [true, false] {
        out.extend(headroom(effect));
    }
    out.extend(effect.dissipation.iter().filter_map(dissipation));
    out.extend(other_limits(effect));
    out.join(" ")
}

/// Of parts at the jack without a guitar.
const DEPENDS_ON_GUITAR: &str = "Its effect depends on the guitar, and none is assumed: choose one \
                                 (--guitar humbucker or single-coil; in the window under Settings).";

fn heard(effect: &Effect) -> String {
    match &effect.played {
        None if effect.depends_on_guitar => DEPENDS_ON_GUITAR.into(),
        None => match effect.sounds {
            [true, false] => "Next to nothing is heard any more.".into(),
            [false, true] => "Without it next to nothing is heard.".into(),
            _ => "Too little is heard to compare.".into(),
        },
        Some(audibility) => upper(&audibility.in_words) + ".",
    }
}

/// What the response says beyond the sound: a quiet note against hard playing.
fn quiet_notes(effect: &Effect) -> Option<String> {
    let (played, response) = (effect.played.as_ref()?, effect.response.as_ref()?);
    match (played.verdict, response.verdict) {
        (Heard::ClearlyAudible | Heard::Borderline, Heard::NotAudible) => {
            Some("Quiet notes keep their tone: it is heard when the amp is driven hard.".into())
        }
        (played, quiet) if quiet > played => {
            Some(format!("On quiet notes it is {}.", response.in_words))
        }
        _ => None,
    }
}

fn louder(effect: &Effect) -> Option<String> {
    let db = effect.played.as_ref()?.louder_db;
    (db.abs() >= NOTICEABLE_DB).then(|| {
        let word = if db > 0.0 { "louder" } else { "quieter" };
        let by = fixed(db.abs(), 1);
        let place = match effect.other_loudspeaker {
            true => "At the loudspeaker's terminals",
            false => "With the controls as they stand",
        };
        format!("{place} it comes out {by} LU {word}.")
    })
}

fn headroom(effect: &Effect) -> Option<String> {
    let headroom = &effect.headroom;
    let stage = |s: &StageHeadroom| s.stage.to_lowercase();
    let level = |s: &StageHeadroom| {
        let volts = s.clips_at_input_volts.unwrap_or(f64::NAN);
        match volts < 1.0 {
            true => format!("{} mV", significant(1e3 * volts, 2)),
            false => format!("{} V", significant(volts, 2)),
        }
    };
    match (&headroom.before, &headroom.after, headroom.change_db) {
        (Some(before), Some(after), Some(db)) if db.abs() >= NOTICEABLE_DB => {
            let by = fixed(db.abs(), 1);
            let more = if db > 0.0 { "more" } else { "less" };
            Some(match before.stage == after.stage {
                true => format!(
                    "Headroom before clipping: {by} dB {more}; the {} clips from {} peak at the jack, not {}.",
                    stage(after),
                    level(after),
                    level(before),
                ),
                false => format!(
                    "Headroom before clipping: {by} dB {more}; now the {} clips first, from {} peak at the \
                     jack, and no longer the {}, from {}.",
                    stage(after),
                    level(after),
                    stage(before),
                    level(before),
                ),
            })
        }
        (Some(before), None, _) => Some(format!(
            "The {} no longer clips at any level that a guitar gives.",
            stage(before)
        )),
        (None, Some(after), _) => Some(format!(
            "The {} now clips, from {} peak at the jack.",
            stage(after),
            level(after)
        )),
        _ => None,
    }
}

fn dissipation(group: &Dissipation) -> Option<String> {
    let change = group.change();
    let (was, is) = (group.before_percent, group.after_percent);
    let crosses = was.is_some_and(|p| p > 100.0) != is.is_some_and(|p| p > 100.0);
    // Screens follow their anodes; they are told where their limit is at stake.
    let stated = change.abs() >= NOTICEABLE_WATTS && group.electrode == Electrode::Anode;
    if !stated && !crosses {
        return None;
    }
    let (noun, verb) = match group.valves.len() {
        1 => (group.electrode.to_string(), "idles"),
        _ => (format!("{}s", group.electrode), "idle"),
    };
    let names: Vec<&str> = group.valves.iter().map(String::as_str).collect();
    let watts = |w: f64| format!("{} W", significant(w, if w >= 10.0 { 3 } else { 2 }));
    let share = match (was, is, group.limit_watts) {
        (Some(was), Some(is), Some(limit)) => format!(
            " ({} of the limit of {} W instead of {})",
            percent(is),
            printed(limit),
            percent(was)
        ),
        _ => String::new(),
    };
    let start = format!(
        "The {noun} of {} {verb} at {} instead of {}{share}",
        listed(&names),
        watts(group.after_watts),
        watts(group.before_watts),
    );
    let over = |p: Option<f64>| p.is_some_and(|p| p > 100.0);
    let (valves, sooner) = match names.len() {
        1 => ("the valve lasts", "the valve wears"),
        _ => ("the valves last", "the valves wear"),
    };
    let end = match (over(was), over(is), change < 0.0) {
        (_, true, true) => ": still over the limit.".to_string(),
        (true, true, false) => ": further over the limit.".into(),
        (false, true, _) => ": OVER the limit.".into(),
        (true, false, _) => format!(": within the limit, and {valves} longer."),
        (false, false, true) => format!("; cooler, and {valves} longer."),
        (false, false, false) => format!("; within the limit, but hotter: {sooner} sooner."),
    };
    Some(start + &end)
}

/// Limits crossed that the dissipation of the output valves has not told.
fn other_limits(effect: &Effect) -> Vec<String> {
    let stated = |limit: &PartLimit| {
        effect.dissipation.iter().any(|d| {
            let heat = match d.electrode {
                Electrode::Screen => Limited::ScreenDissipation,
                _ => Limited::AnodeDissipation,
            };
            limit.what == heat && d.valves.contains(&limit.part)
        })
    };
    let list = |limits: &[PartLimit]| {
        let left: Vec<&PartLimit> = limits.iter().filter(|l| !stated(l)).collect();
        (!left.is_empty()).then(|| by_limit(&left))
    };
    let mut out = Vec::new();
    out.extend(list(&effect.brings_within).map(|l| format!("It brings the {l} within the limit.")));
    out.extend(list(&effect.takes_over).map(|l| format!("It takes the {l} OVER the limit.")));
    out
}

/// What differs beside the other changes, if the verdict does.
fn beside_others(alone: &Effect, beside: &Effect) -> String {
    let verdict = |e: &Effect| e.played.as_ref().map(|a| a.verdict);
    match (verdict(alone), &beside.played) {
        (Some(was), Some(is)) if was != is.verdict => {
            format!(" Beside the other changes it is {}.", is.in_words)
        }
        _ => String::new(),
    }
}

fn upper(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(|c| c.to_uppercase().to_string());
    first.unwrap_or_default() + chars.as_str()
}

fn lower(text: &str) -> String {
    let mut chars = text.chars();
    let first = chars.next().map(|c| c.to_lowercase().to_string());
    first.unwrap_or_default() + chars.as_str()
}
