//! Sentences about ways of connecting loudspeakers.

use super::case::{LoadCase, LoudspeakerLoad};
use super::report::LoadReport;
use super::ways::Way;
use crate::circuit::RIGHT_RATIO;
use crate::text::digits::{fixed, percent, printed, significant, volts};

/// A mismatch up to this is usually survived (common practice, no source); a little more than 2, so
/// that rounding does not decide.
const SURVIVED: f64 = 2.1;

/// Writes the sentences of all cases.
pub fn add(report: &mut LoadReport) {
    let Some(first) = report.cases.first().cloned() else {
        return;
    };
    for case in &mut report.cases {
        case.sentences = sentences(case, &first);
    }
}

fn sentences(case: &LoadCase, first: &LoadCase) -> Vec<String> {
    let mut out = Vec::new();
    if case.unsolved > 0 {
        out.push(format!(
            "{} steps had no solution: do not rely on these figures.",
            case.unsolved
        ));
    }
    if !case.reaches_5_percent && case.nominal.is_some() {
        out.push(
            "5 % distortion lie outside the levels that were tried: clean figures are those of the strongest."
                .into(),
        );
    }
    match case.nominal {
        None => out.push(nothing(case, first)),
        Some(nominal) => {
            let seen = format!(
                "The valves see about {} instead of {}",
                ohms(nominal.primary_ohms),
                ohms(nominal.meant_primary_ohms)
            );
            if nominal.ratio > RIGHT_RATIO {
                out.push(format!(
                    "{seen}: too high. More voltage, less current: driven hard the anodes swing up to {} V{}{}.",
                    volts(case.hard.anode_high_volts),
                    instead(case, volts(first.hard.anode_high_volts), "V"),
                    screens(case),
                ));
            } else if nominal.ratio < 1.0 / RIGHT_RATIO {
                out.push(format!(
                    "{seen}: too low. More current, less voltage: driven hard a cathode carries up to {} mA{}, and an anode takes {} W{}.",
                    significant(1e3 * case.hard.peak_amps, 2),
                    instead(case, significant(1e3 * first.hard.peak_amps, 2), "mA"),
                    significant(case.hard.anode_watts, 2),
                    of_limit(case.hard.anode_percent),
                ));
            }
            if nominal.ratio.max(1.0 / nominal.ratio) > SURVIVED {
                out.push("That is more than 2 : 1 off: not for playing.".into());
            }
        }
    }
    // Of a wrong load the sentence about it has told one of these already.
    let ratio = case.nominal.map_or(1.0, |nominal| nominal.ratio);
    let over = |what: &str, share: Option<f64>, when: &str| {
        let share = share.filter(|share| *share > 100.0)?;
        Some(format!(
            "{when} {what} takes {} of its limit.",
            percent(share)
        ))
    };
    if case.nominal.is_some() {
        out.extend(over("an anode", case.clean.anode_percent, "At clean power"));
        out.extend(over(
            "a screen",
            case.clean.screen_percent,
            "At clean power",
        ));
        if ratio >= 1.0 / RIGHT_RATIO {
            out.extend(over("an anode", case.hard.anode_percent, "Driven hard"));
        }
        if ratio <= RIGHT_RATIO {
            out.extend(over("a screen", case.hard.screen_percent, "Driven hard"));
        }
    }
    out.extend(loudness(case, first));
    out.extend(case.loudspeakers.iter().filter_map(overloaded));
    out
}

/// Less than this is no difference worth a word, dB.
const NOTHING_DB: f64 = 0.5;

/// How loud it comes out beside the loudspeakers as they are.
fn loudness(case: &LoadCase, first: &LoadCase) -> Option<String> {
    if case.way == Way::AsItIs {
        return None;
    }
    let (own, as_it_is) = (case.clean_sound_db?, first.clean_sound_db?);
    let change = own - as_it_is;
    let end = match change.abs() < NOTHING_DB {
        true => "no louder and no quieter than now".into(),
        false => {
            let word = if change > 0.0 { "louder" } else { "quieter" };
            format!("{} dB {word} than now", fixed(change.abs(), 1))
        }
    };
    Some(format!(
        "At clean power {} dB at 1 m: {end}.",
        fixed(own, 0)
    ))
}

/// What happens with nothing connected.
fn nothing(case: &LoadCase, first: &LoadCase) -> String {
    let warning = "Never do this";
    let high = case.hard.anode_high_volts;
    if case.unsolved > 0 || !high.is_finite() || high <= first.hard.anode_high_volts {
        return format!(
            "{warning}: the anodes swing to voltages that break through valves, sockets and the transformer."
        );
    }
    format!(
        "{warning}: driven hard the anodes swing up to {} V (as it is {} V), and more in the instant when a note breaks off{}. That breaks through valves, sockets and the transformer.",
        volts(high),
        volts(first.hard.anode_high_volts),
        screens(case)
    )
}

/// " (as it is 410 V)", for any case but that one.
fn instead(case: &LoadCase, figure: String, unit: &str) -> String {
    match case.way {
        Way::AsItIs => String::new(),
        _ => format!(" (as it is {figure} {unit})"),
    }
}

/// " and a screen takes 2.3 W, 57 % of its limit".
fn screens(case: &LoadCase) -> String {
    case.hard.screen_watts.map_or(String::new(), |watts| {
        format!(
            ", and a screen takes {} W{}",
            significant(watts, 2),
            of_limit(case.hard.screen_percent)
        )
    })
}

fn of_limit(share: Option<f64>) -> String {
    share.map_or(String::new(), |share| {
        format!(", {} of its limit", percent(share))
    })
}

fn overloaded(load: &LoudspeakerLoad) -> Option<String> {
    let most = load.most_watts();
    (most > load.rated_watts).then(|| {
        format!(
            "{} ({}) gets up to {} W, more than the {} W that it is rated for.",
            load.designator,
            load.name,
            significant(most, 2),
            printed(load.rated_watts)
        )
    })
}

/// "8 kΩ", "800 Ω".
pub fn ohms(ohms: f64) -> String {
    if ohms >= 999.5 {
        format!("{} kΩ", printed(ohms / 1000.0))
    } else {
        format!("{} Ω", printed(ohms))
    }
}
