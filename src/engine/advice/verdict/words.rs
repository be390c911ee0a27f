//! The verdict in plain words: a sentence for each item, saying no more than was computed.

use super::in_front::guitar_in_words;
use super::report::{BandDifference, Radiated, Verdict};
use crate::advice::voltages::{LimitedChart, LimitedReading, OverLimit, alike};
use crate::analysis::drive::{Drive, Limit, RANGE_VOLTS, Without, full_output};
use crate::analysis::headroom;
use crate::analysis::low_notes::{asks_more, asks_more_in_words};
use crate::analysis::third_octave::TONE_HZ;
use crate::analysis::voltages::{ByName, ValveReading};
use crate::solve::solved::Both;
use crate::text::digits::{fixed, percent, printed, printed_hertz, signed_db, significant};
use crate::text::list::listed;

/// Less than this is no change worth a word, dB.
const NOTHING_DB: f64 = 0.05;
/// A voltage at rest that moves by less than this share and by less than a volt stays.
const NOTHING_SHARE: f64 = 0.005;

/// All sentences in the order of the table.
pub fn sentences(verdict: &Verdict) -> Vec<String> {
    let charts = &verdict.voltages;
    let valves = charts.map(|chart| &chart.valves);
    let mut out = Vec::new();
    out.extend(dissipation(&valves, "anodes", |v| {
        (v.screen_volts.is_some()).then_some((v.anode_watts, v.anode_limit_watts?))
    }));
    out.extend(dissipation(&valves, "screens", |v| {
        Some((v.screen_watts?, v.screen_limit_watts?))
    }));
    out.extend(other_limits(&valves));
    out.extend(triodes(&valves));
    out.push(gain(&verdict.gain_db, verdict.radiated.is_some()));
    let drive = verdict.clean.map(|clean| &clean.drive);
    for (index, word) in [(0, "stays clean"), (1, "reaches 5 % distortion")] {
        out.push(clean(&drive, index, word));
    }
    out.extend(power(&drive));
    out.extend(low_notes(charts, &drive));
    let headroom = verdict.clean.map(|clean| clean);
    let (volume, recovery) = (verdict.volume.as_ref(), verdict.recovery.as_ref());
    out.extend(headroom::words::sentences(&headroom, volume, recovery));
    out.extend(verdict.boost.map(|boost| boost.in_words()));
    out.extend(loudness(verdict));
    let bands = &verdict.third_octaves;
    match &verdict.radiated {
        None => out.push(tone(verdict, bands, "the tone of a quiet note")),
        Some(radiated) => {
            out.push(tone(verdict, bands, "the voltage of a quiet note"));
            let Both { as_found, proposed } = &radiated.loudspeakers;
            let what = format!("what the {proposed} gives of it in place of the {as_found}");
            out.push(tone(verdict, &radiated.third_octaves, &what));
        }
    }
    out.push(guitar_in_words(verdict.guitar.as_ref()));
    out
}

fn dissipation(
    valves: &Both<&ByName<LimitedReading>>,
    what: &str,
    of: impl Fn(&ValveReading) -> Option<(f64, f64)>,
) -> Vec<String> {
    let shown =
        |v: &ValveReading| of(v).map(|(w, limit)| (significant(w, 2), percent(100.0 * w / limit)));
    let groups = alike(valves, |before, after| {
        Some((shown(before)?, shown(after)?))
    });
    let sentence = |(names, before, after): (Vec<&str>, &ValveReading, &ValveReading)| {
        let ((was, was_limit), (is, limit)) = (of(before)?, of(after)?);
        let percents = [100.0 * was / was_limit, 100.0 * is / limit];
        let words = percents.map(percent);
        let one = names.len() == 1;
        let (run, noun) = if one {
            ("runs", what.trim_end_matches('s'))
        } else {
            ("run", what)
        };
        let start = format!(
            "The {noun} of {} {run} at {} W of {} W ({})",
            listed(&names),
            significant(is, 2),
            printed(limit),
            words[1]
        );
        let end = match (percents[0] > 100.0, percents[1] > 100.0) {
            (_, true) => format!(", over the limit; as found {}.", words[0]),
            (true, false) => format!(
                ", within the limit; as found {}, over it. They will last longer.",
                words[0]
            ),
            _ if words[0] == words[1] => ", as before.".to_string(),
            (false, false) => format!(", within the limit; as found {}.", words[0]),
        };
        Some(start + &end)
    };
    groups.into_iter().filter_map(sentence).collect()
}

/// Limits other than the dissipation stated above, valves of one reading together.
fn other_limits(valves: &Both<&ByName<LimitedReading>>) -> Vec<String> {
    let stated = |v: &LimitedReading, over: &OverLimit| {
        v.reading.screen_volts.is_some() && over.what.is_electrode_dissipation()
    };
    let mut out: Vec<(Vec<&str>, String)> = Vec::new();
    for ((name, before), (_, after)) in valves.as_found.0.iter().zip(&valves.proposed.0) {
        for over in after.over_limit.iter().filter(|o| !stated(after, o)) {
            let was = before.over_limit.iter().find(|b| b.what == over.what);
            let end = match was {
                Some(was) => format!(" As found it is {}.", was.value),
                None => " As found it is within the limit.".into(),
            };
            let words = over.in_words.clone() + &end;
            match out.iter_mut().find(|(_, w)| *w == words) {
                Some((names, _)) => names.push(name),
                None => out.push((vec![name], words)),
            }
        }
        for was in before.over_limit.iter().filter(|o| !stated(before, o)) {
            if after.over_limit.iter().all(|a| a.what != was.what) {
                let words = format!(
                    "the {} comes back within its limit of {}.",
                    was.what, was.limit
                );
                match out.iter_mut().find(|(_, w)| *w == words) {
                    Some((names, _)) => names.push(name),
                    None => out.push((vec![name], words)),
                }
            }
        }
    }
    let sentence = |(names, words): (Vec<&str>, String)| format!("{}: {words}", listed(&names));
    out.into_iter().map(sentence).collect()
}

fn triodes(valves: &Both<&ByName<LimitedReading>>) -> Option<String> {
    let pairs = valves.as_found.0.iter().zip(&valves.proposed.0);
    let moved: Vec<(&str, f64, f64)> = pairs
        .filter(|((_, before), _)| before.reading.screen_volts.is_none())
        .map(|((name, before), (_, after))| {
            (
                name.as_str(),
                before.reading.anode_volts,
                after.reading.anode_volts,
            )
        })
        .collect();
    if moved.is_empty() {
        return None;
    }
    let far = |&&(_, was, is): &&(&str, f64, f64)| {
        (is - was).abs() > f64::max(1.0, NOTHING_SHARE * was.abs())
    };
    let list: Vec<String> = moved
        .iter()
        .filter(far)
        .map(|(name, was, is)| format!("{name} from {} V to {} V", fixed(*was, 0), fixed(*is, 0)))
        .collect();
    Some(if list.is_empty() {
        "The anodes of the small valves stay where they are.".into()
    } else {
        format!("Anodes that move: {}.", list.join(", "))
    })
}

/// "1.2 dB louder", "0.3 dB quieter".
fn louder(db: f64, unit: &str) -> String {
    let word = if db > 0.0 { "louder" } else { "quieter" };
    format!("{} {unit} {word}", fixed(db.abs(), 1))
}

fn gain(gain: &Both<f64>, other_loudspeaker: bool) -> String {
    let change = gain.proposed - gain.as_found;
    let same = change.abs() < NOTHING_DB || !change.is_finite();
    let note = match other_loudspeaker {
        true => "At the loudspeaker's terminals a quiet note",
        false => "A quiet note",
    };
    match same {
        true => format!("{note} comes out as loud as before."),
        false => format!("{note} comes out {} (at 1 kHz).", louder(change, "dB")),
    }
}

/// "45 mV", or a word for why there is none.
fn limit_in_words(limit: &Limit) -> String {
    match (limit.at, limit.without) {
        (Some(level), _) => format!("{} mV", significant(1e3 * level.input_volts, 2)),
        (None, Some(Without::ExceededAtLowest)) => "under 1 mV".into(),
        (None, _) => format!("over {} V", significant(RANGE_VOLTS[1], 2)),
    }
}

fn clean(drive: &Both<&Drive>, index: usize, what: &str) -> String {
    let limits = drive.map(|d| d.limits[index]);
    let words = limits.map(limit_in_words);
    let end = if words.as_found == words.proposed {
        "as before".to_string()
    } else {
        format!("as found {}", words.as_found)
    };
    if index == 0 {
        let percent = limits.proposed.percent;
        return format!(
            "It {what} (under {percent} % distortion) up to {} r.m.s. at the jack; {end}.",
            words.proposed
        );
    }
    format!("It {what} at {} r.m.s.; {end}.", words.proposed)
}

fn power(drive: &Both<&Drive>) -> Vec<String> {
    let mut out = Vec::new();
    for (index, name) in [(1, "5 % distortion"), (2, "10 % distortion")] {
        let watts = drive.map(|d| d.limits[index].at.and_then(|level| level.watts));
        let (Some(was), Some(is)) = (watts.as_found, watts.proposed) else {
            continue;
        };
        let words = [was, is].map(|w| significant(w, 2));
        let end = if words[0] == words[1] {
            "as before".to_string()
        } else {
            format!("as found {} W", words[0])
        };
        out.push(format!(
            "The loudspeaker gets {} W at {name}; {end}.",
            words[1]
        ));
    }
    out
}

/// How far down the transformers carry full power, and where more is asked of them than before.
fn low_notes(charts: &Both<LimitedChart>, drive: &Both<&Drive>) -> Vec<String> {
    let watts = drive.map(|d| full_output(d).and_then(|level| level.watts).unwrap_or(0.0));
    let mut out = Vec::new();
    for (was, is) in charts
        .as_found
        .low_notes
        .iter()
        .zip(&charts.proposed.low_notes)
    {
        let sides = Both {
            as_found: was,
            proposed: is,
        };
        let (before, after) = (was.in_words(), is.in_words());
        out.push(match before == after {
            true => after,
            false => format!("{after} As found: {before}"),
        });
        let more = asks_more(&sides, &watts);
        out.extend(more.map(|demand| asks_more_in_words(&is.designator, &demand)));
    }
    out
}

fn loudness(verdict: &Verdict) -> Option<String> {
    let loudness = &verdict.loudness;
    let (was, is) = (loudness.lufs.as_found?, loudness.lufs.proposed?);
    let change = is - was;
    let how = match change.abs() < NOTHING_DB {
        true => "as loud as before".into(),
        false => louder(change, "LU"),
    };
    Some(match &verdict.radiated {
        None => format!("The guitar comes out {how}."),
        Some(Radiated {
            louder_db: Some(louder_db),
            ..
        }) => {
            let whole = change + louder_db;
            let heard = match whole.abs() < NOTHING_DB {
                true => "as loud as before".into(),
                false => louder(whole, "dB"),
            };
            format!(
                "The guitar comes out {heard}: {} dB by the voltage at the terminals, {} dB by the \
                 loudspeaker's sensitivity.",
                signed_db(change),
                signed_db(*louder_db)
            )
        }
        Some(_) => format!(
            "At the loudspeaker's terminals the guitar comes out {how}; how loud one loudspeaker \
             is beside the other, their files do not say."
        ),
    })
}

fn tone(verdict: &Verdict, bands: &[BandDifference], what: &str) -> String {
    let level = verdict.gain_db.proposed - verdict.gain_db.as_found;
    // What the change of gain explains is no change of tone.
    let shape = bands
        .iter()
        .filter(|b| TONE_HZ.contains(&b.hz))
        .map(|b| (b.hz, b.difference_db - level))
        .filter(|(_, db)| db.is_finite());
    let Some((hz, db)) = shape.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())) else {
        return "The response has no comparable values.".into();
    };
    if db.abs() < NOTHING_DB {
        return format!("From 80 Hz to 8 kHz {what} stays as it is.");
    }
    format!(
        "From 80 Hz to 8 kHz {what} changes most at {}: {} dB against 1 kHz.",
        printed_hertz(hz),
        signed_db(db)
    )
}

/// How the two files were made equally loud.
pub fn files_alike(gains: &Both<f64>) -> String {
    let moved = |gain: f64| {
        if gain.abs() < NOTHING_DB {
            return "left alone".to_string();
        }
        let word = if gain > 0.0 { "raised" } else { "lowered" };
        format!("{word} by {} dB", fixed(gain.abs(), 1))
    };
    format!(
        "The two files are equally loud: as-found.wav was {}, proposed.wav {}.",
        moved(gains.as_found),
        moved(gains.proposed)
    )
}
