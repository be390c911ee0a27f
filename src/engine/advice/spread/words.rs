//! Whether a change stands out of what two amps of one model differ by, in numbers and in words.

use super::band::Band;
use super::figures::KILOHERTZ;
use super::report::{ChangeInSpread, SideSpread, ValveSpread};
use super::study::Study;
use crate::analysis::listening::{loudspeaker, loudspeaker_of};
use crate::analysis::third_octave::{NOMINAL_HZ, TONE_HZ};
use crate::text::digits::{fixed, printed, printed_hertz, signed_db, significant};
use crate::text::list::listed;
use crate::units::decibels_from_ratio;

/// Less than this is no change worth a word: the last digit that is shown, dB and W.
const NOTHING: f64 = 0.05;
/// Valves that read within this share of each other are told together.
const ALIKE: f64 = 0.005;

/// Everything that the proposal changes, amp by amp.
pub fn changes(
    study: &Study,
    drawn: &[Vec<Vec<f64>>],
    as_found: &SideSpread,
) -> Vec<ChangeInSpread> {
    let row = &study.row;
    let curve = row.curve();
    // The change of one and the same amp, and what that figure does over amps as found.
    let change = |figure: &dyn Fn(&[f64]) -> f64, less: &dyn Fn(f64, f64) -> f64| -> Band {
        let of = |sides: &[Vec<f64>]| less(figure(&sides[1]), figure(&sides[0]));
        let all = drawn.iter().map(|amp| of(amp)).collect();
        Band::of(of(&study.nominal), all)
    };
    let plain = |after: f64, before: f64| after - before;
    let decibels = |after: f64, before: f64| decibels_from_ratio(after / before);
    let mut out = Vec::new();
    let gain = change(&|f| f[curve + KILOHERTZ], &plain);
    let spread = as_found.gain_db.half();
    out.extend(change_in_spread("Gain at 1 kHz".into(), "dB", gain, spread));

    // The loudspeakers' own sound, where they differ: it is the same for all amps.
    let heard: Vec<_> = study
        .sides
        .iter()
        .map(|s| loudspeaker_of(&s.circuit))
        .collect();
    let swapped = heard.windows(2).any(|pair| pair[0] != pair[1]);
    let own = |hz: f64| match &study.sides[..] {
        [before, after] if swapped => {
            let [was, is] = [before, after].map(|s| loudspeaker(s, hz).norm());
            decibels(is, was)
        }
        _ => 0.0,
    };
    let tone = (0..NOMINAL_HZ.len())
        .filter(|&k| TONE_HZ.contains(&NOMINAL_HZ[k]))
        .map(|k| {
            let shape = |f: &[f64]| f[curve + k] - f[curve + KILOHERTZ];
            let own = own(NOMINAL_HZ[k]);
            (k, change(&shape, &|after, before| after - before + own))
        })
        .max_by(|a, b| a.1.p50.abs().total_cmp(&b.1.p50.abs()));
    if let Some((k, tone)) = tone {
        let whose = if swapped { " of the loudspeakers" } else { "" };
        let what = format!(
            "Tone{whose} at {} against 1 kHz",
            printed_hertz(NOMINAL_HZ[k])
        );
        out.extend(change_in_spread(
            what,
            "dB",
            tone,
            as_found.tone_db[k].half(),
        ));
    }
    if let Some(band) = as_found.clean_volts
        && study.lowest.iter().all(Option::is_some)
    {
        let clean = change(&|f| f[row.clean()], &decibels);
        let spread = 0.5 * decibels(band.p95, band.p5);
        out.extend(change_in_spread("Clean level".into(), "dB", clean, spread));
    }
    for group in groups(as_found) {
        for (place, what) in [(1, "Anode dissipation"), (2, "Screen dissipation")] {
            let mut bands: Vec<(Band, f64)> = Vec::new();
            for &index in &group {
                let valve = &as_found.valves.0[index].1;
                let band = match place {
                    1 => Some(valve.anode_watts),
                    _ => valve.screen_watts,
                };
                let section = row.section(index);
                let paired = change(&|f| f[section + place], &plain);
                bands.extend(band.map(|band| (paired, band.half())));
            }
            if bands.is_empty() {
                continue;
            }
            let names = names(as_found, &group);
            let spread = bands.iter().map(|b| b.1).sum::<f64>() / bands.len() as f64;
            let paired = mean(bands.iter().map(|b| b.0));
            out.extend(change_in_spread(
                format!("{what} of {names}"),
                "W",
                paired,
                spread,
            ));
        }
    }
    out
}

/// Output valves, those that read alike together: their places among the valves.
fn groups(side: &SideSpread) -> Vec<Vec<usize>> {
    let valves = &side.valves.0;
    let near = |a: f64, b: f64| (a - b).abs() <= ALIKE * a.abs().max(b.abs());
    let alike = |a: &ValveSpread, b: &ValveSpread| {
        a.valve == b.valve && near(a.anode_watts.nominal, b.anode_watts.nominal)
    };
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (index, (_, valve)) in valves.iter().enumerate() {
        if valve.screen_watts.is_none() {
            continue;
        }
        match groups.iter_mut().find(|g| alike(&valves[g[0]].1, valve)) {
            Some(group) => group.push(index),
            None => groups.push(vec![index]),
        }
    }
    groups
}

fn names(side: &SideSpread, group: &[usize]) -> String {
    let names = group.iter().map(|&i| side.valves.0[i].0.as_str());
    listed(&names.collect::<Vec<_>>())
}

/// Percentile by percentile.
fn mean(bands: impl Iterator<Item = Band> + Clone) -> Band {
    let count = bands.clone().count().max(1) as f64;
    let of = |figure: fn(&Band) -> f64| bands.clone().map(|b| figure(&b)).sum::<f64>() / count;
    Band {
        nominal: of(|b| b.nominal),
        p1: of(|b| b.p1),
        p5: of(|b| b.p5),
        p25: of(|b| b.p25),
        p50: of(|b| b.p50),
        p75: of(|b| b.p75),
        p95: of(|b| b.p95),
        p99: of(|b| b.p99),
    }
}

/// The change with its sentence; none where nothing moves.
fn change_in_spread(
    what: String,
    unit: &'static str,
    change: Band,
    spread: f64,
) -> Option<ChangeInSpread> {
    let middle = change.p50;
    if middle.abs() < NOTHING || !middle.is_finite() || !spread.is_finite() {
        return None;
    }
    let number = |x: f64| match unit {
        "dB" => signed_db(x),
        _ => {
            let text = significant(x, 2);
            if x > 0.0 { format!("+{text}") } else { text }
        }
    };
    let size = |x: f64| match unit {
        "dB" => fixed(x, 1),
        _ => significant(x, 2),
    };
    let stands_out = middle.abs() > spread;
    let around = format!("±{} {unit}", size(spread));
    let moved = format!("{what}: the change of {} {unit}", number(middle));
    let sentence = if size(middle.abs()) == size(spread) {
        format!(
            "{moved} is about as large as the difference between two amps of this model ({around})."
        )
    } else if stands_out {
        format!("{moved} stands out: two amps of this model differ by less ({around}).")
    } else {
        format!("{moved} is smaller than the difference between two amps of this model ({around}).")
    };
    Some(ChangeInSpread {
        what,
        unit,
        change,
        spread,
        stands_out,
        sentence,
    })
}

/// All sentences: how often valves are over a limit, then the changes.
pub fn sentences(
    as_found: &SideSpread,
    proposed: Option<&SideSpread>,
    changes: &[ChangeInSpread],
) -> Vec<String> {
    let mut out = Vec::new();
    for group in groups(as_found) {
        for (what, over) in [
            (
                "Anode dissipation",
                (|v| v.anode_limit_watts.zip(v.anode_over_percent)) as Over,
            ),
            ("Screen dissipation", |v| {
                v.screen_limit_watts.zip(v.screen_over_percent)
            }),
        ] {
            let of = |side: &SideSpread| {
                let each = group.iter().filter_map(|&i| over(&side.valves.0[i].1));
                let each: Vec<(f64, f64)> = each.collect();
                let limit = each.first()?.0;
                let sum: f64 = each.iter().map(|e| e.1).sum();
                Some((limit, sum / each.len() as f64))
            };
            let Some((limit, was)) = of(as_found) else {
                continue;
            };
            let is = proposed.and_then(of).map(|(_, percent)| percent);
            if was < 0.5 && is.is_none_or(|is| is < 0.5) {
                continue;
            }
            let names = names(as_found, &group);
            let each = if group.len() > 1 { " each" } else { "" };
            let limit = printed(limit);
            let was = of_a_hundred(was);
            out.push(match is.map(of_a_hundred) {
                None => format!("{what} of {names}: over the limit of {limit} W{each} in {was}."),
                Some(is) => format!("{what} of {names}: over the limit of {limit} W{each} in {was} as found, in {is} as proposed."),
            });
        }
    }
    out.extend(changes.iter().map(|c| c.sentence.clone()));
    if proposed.is_some() && changes.is_empty() {
        out.push("The proposal moves neither gain, tone, clean level nor the dissipation of the output valves by anything worth a word.".into());
    }
    out
}

/// A limit and how many amps in a hundred are over it.
type Over = fn(&ValveSpread) -> Option<(f64, f64)>;

/// "74 of 100 amps".
pub fn of_a_hundred(percent: f64) -> String {
    match percent {
        0.0 => "none".into(),
        // Half a per cent would be rounded to 0.
        p if p <= 0.5 => "fewer than 1 of 100 amps".into(),
        p if p > 99.5 && p < 100.0 => "more than 99 of 100 amps".into(),
        p => format!("{} of 100 amps", fixed(p, 0)),
    }
}
