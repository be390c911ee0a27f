//! The verdict as one table and a sentence for each item.

use super::changes_text::changes_text;
use super::voltages::change;
use crate::advice::safety;
use crate::advice::verdict::{Recordings, Verdict, files_alike};
use crate::advice::voltages::alike;
use crate::analysis::headroom::tables::{clean_table, recovery_table, volume_table};
use crate::analysis::voltages::ValveReading;
use crate::solve::solved::Both;
use crate::text::digits::{percent, printed, printed_hertz};
use crate::text::table::{Edge, Table, fixed, signed_db, significant, volts};
use std::fmt::Write;

/// The whole text.
pub fn verdict_text(verdict: &Verdict, recordings: &Recordings, files: &[String]) -> String {
    let mut text = head(verdict);
    if verdict.over_rated.is_empty() {
        text.push_str("\nNo valve or part is over a limit, as found or as proposed.\n");
    }
    list(&mut text, "Over a limit", &verdict.over_rated);
    let mut files_alike = files_alike(&recordings.gain_db);
    match (&recordings.through.as_found, &recordings.through.proposed) {
        (Some(a), Some(p)) if a == p => files_alike += &format!(" Heard through {a}."),
        (Some(a), Some(p)) => {
            files_alike += &format!(" Heard through {a}; the proposed one through {p}.")
        }
        _ => {}
    }
    let sentences = verdict.sentences.iter().chain([&files_alike]);
    list(&mut text, "Verdict", sentences);
    let _ = write!(text, "\n{}", changes_text(&verdict.each_change));
    list(
        &mut text,
        "The idle of the output valves",
        &verdict.bias_in_words,
    );
    let _ = writeln!(text, "\n{}", table(verdict, &recordings.gain_db));
    let clean = verdict.clean.map(|clean| clean);
    let _ = write!(text, "{}", clean_table(&clean));
    if let Some(volume) = &verdict.volume {
        let _ = write!(text, "\n{}", volume_table(volume));
    }
    if let Some(recovery) = &verdict.recovery {
        let _ = write!(text, "\n{}", recovery_table(recovery));
    }
    let ratings = &verdict.ratings.proposed;
    let charged = ratings.reservoirs.iter();
    let charged: Vec<String> = charged
        .map(|r| format!("{}: {}", r.designator, r.in_words))
        .collect();
    list(&mut text, "What stays charged, as proposed", &charged);
    let loose = ratings.loose.iter().map(|l| &l.in_words);
    list(
        &mut text,
        "If a joint in the bias path fails, as proposed",
        loose,
    );
    let warnings = verdict.warnings.iter().chain(&recordings.warning);
    list(&mut text, "Warnings", warnings);
    list(&mut text, "Files", files);
    text.push('\n');
    for note in &verdict.notes {
        let _ = writeln!(text, "{note}");
    }
    let _ = write!(text, "\n{}", safety::LINES);
    text
}

/// A title and a line each; nothing of nothing.
fn list<'a>(text: &mut String, title: &str, lines: impl IntoIterator<Item = &'a String>) {
    for (place, line) in lines.into_iter().enumerate() {
        if place == 0 {
            let _ = writeln!(text, "\n{title}");
        }
        let _ = writeln!(text, "  {line}");
    }
}

fn head(verdict: &Verdict) -> String {
    let mut text = match verdict.proposal.as_str() {
        "" => format!("{}: as found against proposed\n", verdict.amp),
        name => format!("{}: as found against \"{name}\"\n", verdict.amp),
    };
    for part in &verdict.changes {
        let what = match part.role.as_str() {
            "" => part.kind.in_words(),
            role => role.to_string(),
        };
        let proposed = part.proposed.as_deref().unwrap_or_default();
        let _ = writeln!(
            text,
            "  {} ({what}): {} → {proposed}",
            part.designator, part.as_found
        );
    }
    let controls = verdict.controls.iter();
    let controls: Vec<String> = controls
        .map(|c| format!("{} {}", c.name, c.in_words))
        .collect();
    if !controls.is_empty() {
        let _ = writeln!(text, "  Controls: {}", controls.join(", "));
    }
    let _ = writeln!(text, "  Played: {}", verdict.sound);
    let guitar = verdict
        .guitar
        .as_ref()
        .map_or("none", |guitar| &guitar.name);
    let _ = writeln!(text, "  Guitar: {guitar}");
    text
}

fn table(verdict: &Verdict, gain_db: &Both<f64>) -> Table {
    let mut table = Table::new(&[
        ("", Edge::Left),
        ("As found", Edge::Right),
        ("Proposed", Edge::Right),
        ("Change", Edge::Right),
    ]);
    table.title("Valves at rest");
    valve_rows(verdict, &mut table);
    table.title("A sine at 1 kHz");
    let gain = verdict.gain_db;
    table.row([
        "Gain, small signal, dB".to_string(),
        fixed(gain.as_found, 1),
        fixed(gain.proposed, 1),
        signed_db(gain.proposed - gain.as_found),
    ]);
    table.title("The guitar");
    let loudness = &verdict.loudness;
    let peak = format!("{} mV", fixed(1e3 * verdict.input_peak_volts, 0));
    table.row(["Peak at the jack".to_string(), peak.clone(), peak]);
    let lufs = |lufs: Option<f64>| lufs.map_or("silent".into(), |l| fixed(l, 1));
    let pair = loudness.lufs.as_found.zip(loudness.lufs.proposed);
    table.row([
        "Level, LUFS".to_string(),
        lufs(loudness.lufs.as_found),
        lufs(loudness.lufs.proposed),
        pair.map_or(String::new(), |(a, p)| signed_db(p - a)),
    ]);
    table.row([
        "Gain of the file, dB".to_string(),
        signed_db(gain_db.as_found),
        signed_db(gain_db.proposed),
    ]);
    table.title("Response by third octaves, dB");
    for band in &verdict.third_octaves {
        table.row([
            printed_hertz(band.hz),
            fixed(band.as_found_db, 1),
            fixed(band.proposed_db, 1),
            signed_db(band.difference_db),
        ]);
    }
    table
}

fn valve_rows(verdict: &Verdict, table: &mut Table) {
    let valves = verdict.voltages.map(|chart| &chart.valves);
    // What a meter would show alike is one row.
    let key = |before: &ValveReading, after: &ValveReading| {
        let shown = |v: &ValveReading| {
            let screen = v.screen_volts.map(volts);
            (
                v.valve.clone(),
                v.fitted,
                volts(v.anode_volts),
                volts(v.grid_volts),
                volts(v.cathode_volts),
                screen,
            )
        };
        Some((shown(before), shown(after)))
    };
    for (names, before, after) in alike(&valves, key) {
        let names = names.join(", ");
        let mut row = |what: &str, of: &dyn Fn(&ValveReading) -> Option<f64>| {
            if let (Some(was), Some(is)) = (of(before), of(after)) {
                table.row([
                    format!("{names} {what}, V"),
                    volts(was),
                    volts(is),
                    change(is - was),
                ]);
            }
        };
        row("anode", &|v| Some(v.anode_volts));
        row("screen", &|v| v.screen_volts);
        if before.screen_volts.is_some() {
            row("grid", &|v| Some(v.grid_volts));
        }
        row("cathode", &|v| {
            (v.cathode_volts.abs() > 1e-6).then_some(v.cathode_volts)
        });
        if before.screen_volts.is_none() {
            continue;
        }
        let milliamps = |v: &ValveReading| format!("{} mA", significant(v.anode_milliamps, 3));
        table.row([
            format!("{names} anode current"),
            milliamps(before),
            milliamps(after),
            change(after.anode_milliamps - before.anode_milliamps),
        ]);
        let anode = |v: &ValveReading| Some((v.anode_watts, v.anode_limit_watts));
        dissipation(
            table,
            &format!("{names} anode"),
            anode(before),
            anode(after),
        );
        let screen = |v: &ValveReading| Some((v.screen_watts?, v.screen_limit_watts));
        dissipation(
            table,
            &format!("{names} screen"),
            screen(before),
            screen(after),
        );
    }
}

/// Watts, and beneath them the share of the limit.
fn dissipation(
    table: &mut Table,
    what: &str,
    before: Option<(f64, Option<f64>)>,
    after: Option<(f64, Option<f64>)>,
) {
    let (Some((was, was_limit)), Some((is, limit))) = (before, after) else {
        return;
    };
    let watts = |w: f64| format!("{} W", significant(w, if w >= 10.0 { 3 } else { 2 }));
    table.row([
        format!("{what} dissipation"),
        watts(was),
        watts(is),
        change(is - was),
    ]);
    let (Some(was_limit), Some(limit)) = (was_limit, limit) else {
        return;
    };
    let share = |w: f64, limit: f64| {
        let share = 100.0 * w / limit;
        let over = if share > 100.0 { "OVER, " } else { "" };
        format!("{over}{}", percent(share))
    };
    table.row([
        format!("  of its limit of {} W", printed(limit)),
        share(was, was_limit),
        share(is, limit),
    ]);
}
