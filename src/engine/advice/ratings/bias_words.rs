//! The bias advice in words.

use super::bias_advice::{BiasAdvice, BiasChoice, IdlePoint};
use super::bias_method::{BiasMethod, CATHODE_BIAS_PERCENT, FIXED_BIAS_PERCENT, SINGLE_PERCENT};
use crate::device::{RatingSystem, Ratings};
use crate::text::digits::{fixed, percent, printed, significant};
use crate::text::list::listed;
use crate::units::Quantity;

/// Idle that is aimed at, per cent of the anode's limit, and what common practice says (bias notes
/// and load-matching pages, seen as secondary copies; makers' own cathode-biased EL84 conditions lie
/// at 65 to 100 %, seen). None of it is a rating.
pub fn practice(method: BiasMethod, output_valves: usize) -> (f64, &'static str) {
    match (method, output_valves) {
        (BiasMethod::Cathode, _) => (CATHODE_BIAS_PERCENT, "65 to 100 % with cathode bias"),
        (_, 1) => (
            SINGLE_PERCENT,
            "about 85 % for a single valve in class A with fixed bias",
        ),
        _ => (
            FIXED_BIAS_PERCENT,
            "about 70 % for class AB with fixed bias, 60 % for a long life",
        ),
    }
}

/// What the target is.
pub fn target(method: BiasMethod, output_valves: usize, target: f64) -> String {
    format!(
        "The aim is {} of the anode's limit at idle. Common practice, not a rating: {}.",
        percent(target),
        practice(method, output_valves).1
    )
}

/// How hot an output valve idles, beside common practice; put the designator and a colon before it.
pub fn idle(
    method: BiasMethod,
    output_valves: usize,
    watts: f64,
    ratings: &Ratings,
) -> Option<String> {
    let limit = ratings.anode_watts?;
    Some(format!(
        "the anode idles at {} of its {} limit of {} W. Common practice, not a rating: {}.",
        percent(100.0 * watts / limit),
        ratings.system,
        printed(limit),
        practice(method, output_valves).1
    ))
}

/// "15 kΩ", or "0.62 of its rotation".
fn value(advice: &BiasAdvice, value: f64) -> String {
    match advice.rotation {
        true => format!("{} of its rotation", fixed(value, 2)),
        false => Quantity::Resistance.in_words(value),
    }
}

/// A value that was computed, to three digits.
fn rounded(advice: &BiasAdvice, exact: f64) -> String {
    match advice.rotation {
        true => value(advice, exact),
        false => value(advice, format!("{exact:.2e}").parse().unwrap_or(exact)),
    }
}

fn watts(point: &IdlePoint) -> String {
    significant(point.watts, if point.watts >= 10.0 { 3 } else { 2 })
}

/// Puts the sentences of an advice and of its choices.
pub fn fill(advice: &mut BiasAdvice) {
    let names = |list: &[String]| listed(&list.iter().map(String::as_str).collect::<Vec<_>>());
    let (parts, valves) = (names(&advice.parts), names(&advice.valves));
    let role = match (advice.role.as_str(), advice.parts.len()) {
        ("", _) | (_, 2..) => String::new(),
        (role, _) => format!(" ({role})"),
    };
    let sets = if advice.parts.len() == 1 {
        "sets"
    } else {
        "set"
    };
    let colder = match (advice.rotation, advice.larger_is_colder) {
        (false, true) => "a larger value runs them colder",
        (false, false) => "a smaller value runs them colder",
        (true, true) => "turning it up runs them colder",
        (true, false) => "turning it down runs them colder",
    };
    let colder = match advice.valves.len() {
        1 => colder.replace("them", "it"),
        _ => colder.into(),
    };
    // Limits of the design-centre system allow for the mains by themselves.
    let mains_count = advice.system == Some(RatingSystem::DesignMaximum);
    let each = if advice.valves.len() == 1 {
        ""
    } else {
        " each"
    };
    let now = &advice.now;
    let at_now = now.values.first().copied().unwrap_or(0.0);
    let at_exact = advice.exact.values.first().copied().unwrap_or(0.0);
    let mut sentences = vec![
        format!("{parts}{role} {sets} the idle of {valves}: {colder}."),
        format!(
            "As it is, at {}, the idle is {} W{each}, {} of the anode's limit; the grid stands {} V below the cathode.",
            value(advice, at_now),
            watts(&now.idle),
            percent(now.idle.percent),
            significant(-now.idle.bias_volts, 3)
        ),
        advice.target_in_words.clone(),
        format!(
            "Worked out: {} gives {} W{each} ({}).",
            rounded(advice, at_exact),
            watts(&advice.exact.idle),
            percent(advice.exact.idle.percent)
        ),
    ];
    let mut of_choices: Vec<String> = advice
        .preferred
        .iter()
        .map(|choice| {
            let shown = choice.values.first().copied().unwrap_or(0.0);
            let series = choice.series.unwrap_or_default();
            let start = format!("Preferred value {} ({series})", value(advice, shown));
            sentence(&start, choice, each, mains_count)
        })
        .collect();
    for (choice, words) in advice.preferred.iter_mut().zip(&of_choices) {
        choice.in_words = words.clone();
    }
    let start = value(advice, at_now);
    advice.now.in_words = sentence(&start, &advice.now, each, mains_count);
    let start = rounded(advice, at_exact);
    advice.exact.in_words = sentence(&start, &advice.exact, each, mains_count);
    if advice.rotation {
        of_choices.push(advice.exact.in_words.clone());
    }
    sentences.extend(of_choices);
    advice.sentences = sentences;
}

fn sentence(start: &str, choice: &BiasChoice, each: &str, mains_count: bool) -> String {
    let mut text = format!(
        "{start}: {} W{each} ({}).",
        watts(&choice.idle),
        percent(choice.idle.percent)
    );
    let mut over = Vec::new();
    for (low, high, what, when, counts) in [
        (
            &choice.low_mains,
            &choice.high_mains,
            "with the mains 10 % low and 10 % high",
            "with high mains",
            mains_count,
        ),
        (
            &choice.weak_valves,
            &choice.strong_valves,
            "with valves that draw 30 % less and 30 % more than average",
            "with strong valves",
            true,
        ),
    ] {
        let (Some(low), Some(high)) = (low, high) else {
            continue;
        };
        text += &format!(
            " {} and {} W ({} and {}) {what}.",
            watts(low),
            watts(high),
            percent(low.percent),
            percent(high.percent)
        );
        if counts && high.percent > 100.0 {
            over.push(when);
        }
    }
    if !over.is_empty() && choice.idle.percent <= 100.0 {
        text += &format!(" Over the limit {}.", over.join(" or "));
    }
    text += &format!(
        " The part itself gets {} W.",
        significant(choice.part_watts, 2)
    );
    text
}
