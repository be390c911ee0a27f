//! Clean headroom as tables: limits, harmonics, stages; the volume control; the burst.

use crate::analysis::drive::{Drive, Harmonics, Level};
use crate::analysis::headroom::recovery::{Recovered, Recovery};
use crate::analysis::headroom::volume::{VolumeHeadroom, VolumePoint};
use crate::analysis::headroom::words::{input_in_words, level_in_words, time_in_words};
use crate::analysis::headroom::{CleanHeadroom, StageHeadroom};
use crate::solve::solved::Both;
use crate::text::table::{Edge, Table, fixed, signed_db, significant};
use crate::units::{dbu_from_volts, rms_from_peak};

fn sides() -> Table {
    Table::new(&[
        ("", Edge::Left),
        ("As found", Edge::Right),
        ("Proposed", Edge::Right),
        ("Change", Edge::Right),
    ])
}

/// Harmonics below this are not told apart, dB against the fundamental (own choice).
const DEEPEST_DB: f64 = -80.0;

/// A ratio of two figures, dB; `decade`: 20 for volts, 10 for watts.
fn ratio(both: [Option<f64>; 2], decade: f64) -> String {
    match both {
        [Some(was), Some(is)] if was > 0.0 && is > 0.0 => {
            format!("{} dB", signed_db(decade * (is / was).log10()))
        }
        _ => String::new(),
    }
}

/// Limits, power, harmonics and the stages, as found against proposed.
pub fn clean_table(clean: &Both<&CleanHeadroom>) -> Table {
    let mut table = sides();
    table.title("Clean headroom, a sine at 1 kHz, r.m.s. at the jack");
    let drives = clean.map(|c| &c.drive);
    let onset = |d: &Drive| d.grid_current.at.map(|level| level.input_volts);
    input_rows(&mut table, "Grid current sets in", &drives, &|d| {
        (
            d.grid_current.at,
            level_in_words(d.grid_current.at.as_ref(), d.grid_current.without),
        )
    });
    let valve = |d: &Drive| d.grid_current.valve.clone().unwrap_or("–".into());
    if drives.map(|d| onset(d).is_some())
        != (Both {
            as_found: false,
            proposed: false,
        })
    {
        let both = drives.map(|d| valve(d));
        table.row(["  at the grid of".to_string(), both.as_found, both.proposed]);
    }
    for index in 0..drives.as_found.limits.len() {
        let percent = drives.as_found.limits[index].percent;
        input_rows(
            &mut table,
            &format!("{percent} % distortion"),
            &drives,
            &|d| {
                let limit = &d.limits[index];
                (limit.at, level_in_words(limit.at.as_ref(), limit.without))
            },
        );
    }
    for (index, percent) in [(1, 5), (2, 10)] {
        let watts = drives.map(|d| d.limits[index].at.and_then(|level| level.watts));
        let shown = watts.map(|w| w.map_or("–".into(), |w| format!("{} W", significant(w, 2))));
        table.row([
            format!("Power into the loudspeaker at {percent} %"),
            shown.as_found,
            shown.proposed,
            ratio([watts.as_found, watts.proposed], 10.0),
        ]);
    }
    table.title("Harmonics at 5 % distortion, dB against the fundamental");
    harmonic_rows(
        &mut table,
        &drives.map(|d| d.harmonics_at_5_percent.as_ref()),
    );
    if let Some(played) = &drives.as_found.harmonics_played {
        let level = input_in_words(played.level.input_volts);
        table.title(&format!(
            "Harmonics at {level} r.m.s., dB against the fundamental"
        ));
        harmonic_rows(&mut table, &drives.map(|d| d.harmonics_played.as_ref()));
    }
    table.title("A stage clips at, r.m.s. at the jack, in signal order");
    for stage in &clean.as_found.stages {
        let other = clean
            .proposed
            .stages
            .iter()
            .find(|s| s.stage == stage.stage);
        let level = |s: Option<&StageHeadroom>| {
            let peak = s.and_then(|s| s.clips_at_input_volts);
            peak.map(rms_from_peak)
        };
        let both = [level(Some(stage)), level(other)];
        let [was, is] = both.map(|v| v.map_or("–".into(), input_in_words));
        table.row([stage.stage.clone(), was, is, ratio(both, 20.0)]);
    }
    let apart = clean.map(|c| {
        c.order
            .apart_db
            .map_or("–".into(), |db| format!("{} dB", fixed(db, 1)))
    });
    table.row([
        "From the first to the second".to_string(),
        apart.as_found,
        apart.proposed,
    ]);
    table
}

/// A level in millivolts, and beneath it in dBu.
fn input_rows(
    table: &mut Table,
    name: &str,
    drives: &Both<&Drive>,
    of: &dyn Fn(&Drive) -> (Option<Level>, String),
) {
    let both = drives.map(|d| of(d));
    let levels = [both.as_found.0, both.proposed.0].map(|l| l.map(|l| l.input_volts));
    let [was, is] = [&both.as_found.1, &both.proposed.1].map(Clone::clone);
    table.row([name.to_string(), was, is, ratio(levels, 20.0)]);
    let [was, is] = levels.map(|l| {
        l.map_or("–".into(), |v| {
            format!("{} dBu", fixed(dbu_from_volts(v), 1))
        })
    });
    table.row([String::new(), was, is]);
}

fn harmonic_rows(table: &mut Table, both: &Both<Option<&Harmonics>>) {
    for order in 2..=7 {
        let db = both.map(|h| h.and_then(|h| h.db[order - 2]));
        // What lies deeper is heard by nobody.
        let word = |db: f64| match db < DEEPEST_DB {
            true => format!("under {}", fixed(DEEPEST_DB, 0)),
            false => fixed(db, 0),
        };
        let shown = db.map(|db| db.map_or("–".into(), word));
        table.row([format!("  {order}"), shown.as_found, shown.proposed]);
    }
}

/// Limits by position of the volume control.
pub fn volume_table(volume: &Both<VolumeHeadroom>) -> Table {
    let control = &volume.as_found.control;
    let mut table = Table::new(&[
        (control.as_str(), Edge::Right),
        ("1 % as found", Edge::Right),
        ("proposed", Edge::Right),
        ("5 % as found", Edge::Right),
        ("proposed", Edge::Right),
        ("Grid current as found", Edge::Right),
        ("proposed", Edge::Right),
    ]);
    for point in &volume.as_found.points {
        let other = volume
            .proposed
            .points
            .iter()
            .find(|p| p.position == point.position);
        let limit = |p: Option<&VolumePoint>, index: usize| {
            let limit = p.and_then(|p| p.limits.get(index));
            limit.map_or("–".into(), |l| level_in_words(l.at.as_ref(), l.without))
        };
        let onset = |p: Option<&VolumePoint>| {
            let onset = p.map(|p| &p.grid_current);
            onset.map_or("–".into(), |o| level_in_words(o.at.as_ref(), o.without))
        };
        table.row([
            fixed(point.position, 1),
            limit(Some(point), 0),
            limit(other, 0),
            limit(Some(point), 1),
            limit(other, 1),
            onset(Some(point)),
            onset(other),
        ]);
    }
    table
}

/// What a burst leaves behind.
pub fn recovery_table(recovery: &Both<Recovery>) -> Table {
    let mut table = sides();
    table.title("After a burst of 0.1 s, 20 dB over the level at which a stage clips");
    let level = recovery.map(|r| input_in_words(r.burst_volts));
    table.row([
        "Level of the burst, r.m.s.".to_string(),
        level.as_found,
        level.proposed,
    ]);
    let tone = recovery.map(|r| time_in_words(r.tone_seconds));
    table.row([
        "A quiet note is back after".to_string(),
        tone.as_found,
        tone.proposed,
    ]);
    let quietest = recovery.map(|r| match r.quietest_db {
        None => "silent".into(),
        Some(db) => format!("{} dB", signed_db(db)),
    });
    table.row([
        "At its quietest".to_string(),
        quietest.as_found,
        quietest.proposed,
    ]);
    let mut rows = |of: fn(&Recovery) -> &Vec<Recovered>, what: &str| {
        for found in of(&recovery.as_found) {
            let other = of(&recovery.proposed).iter().find(|r| r.name == found.name);
            let shown = |r: Option<&Recovered>| {
                r.map_or("–".into(), |r| {
                    let moved = r.after_volts - r.usual_volts;
                    let moved = match moved.abs() < 0.05 {
                        true => "0".into(),
                        false => significant(moved, 2),
                    };
                    format!("{moved} V, {}", time_in_words(r.back_seconds))
                })
            };
            table.row([
                format!("{what} {}, moved by, back after", found.name),
                shown(Some(found)),
                shown(other),
            ]);
        }
    };
    rows(|r| &r.grids, "Bias of");
    rows(|r| &r.supplies, "Supply");
    table
}
