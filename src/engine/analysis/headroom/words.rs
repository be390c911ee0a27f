//! Clean headroom in sentences, as found against proposed; the terminal, the window and the job sheet
//! show the same ones.

use super::clean::{CleanHeadroom, Clips};
use super::recovery::{LONGEST_SECONDS, OVER_DB, Recovered, Recovery};
use super::volume::{VolumeHeadroom, VolumePoint};
use crate::analysis::drive::{GridCurrent, Level, RANGE_VOLTS, Without};
use crate::solve::solved::Both;
use crate::text::digits::{fixed, printed, significant};
use crate::units::dbu_from_volts;

/// What the figures mean, for a foot-note.
pub const NOTES: [&str; 4] = [
    "Clean limits are of a steady sine at 1 kHz, in volts r.m.s. at the jack; 0 dBu is 0.775 V.",
    "Distortion is all harmonics over the whole signal (IEC 60268-3). Grid current sets in where the peaks take a grid to 0.3 µA.",
    "A stage clips where its grid current takes a twentieth of the grid's swing, its anode current nearly stops, or its anode reaches the knee.",
    "A quiet note is back after a burst when it is as loud as before within 1 dB.",
];

/// "52 mV", "1.3 V".
pub fn input_in_words(volts: f64) -> String {
    match volts < 0.9995 {
        true => format!("{} mV", significant(1e3 * volts, 2)),
        false => format!("{} V", significant(volts, 2)),
    }
}

/// "52 mV r.m.s. (−23.5 dBu)".
pub fn input_with_dbu(volts: f64) -> String {
    let level = input_in_words(volts);
    format!("{level} r.m.s. ({} dBu)", fixed(dbu_from_volts(volts), 1))
}

/// The level of a limit, or a word for why there is none.
pub fn level_in_words(at: Option<&Level>, without: Option<Without>) -> String {
    match (at, without) {
        (Some(level), _) => input_in_words(level.input_volts),
        (None, Some(Without::ExceededAtLowest)) => {
            format!("under {} mV", printed(1e3 * RANGE_VOLTS[0]))
        }
        (None, _) => format!("over {}", input_in_words(RANGE_VOLTS[1])),
    }
}

/// "; as before." or "; as found …." behind what is proposed.
fn end(was: String, is: &str) -> String {
    match was == is {
        true => "; as before.".into(),
        false => format!("; as found {was}."),
    }
}

/// All sentences: grid current, which stage clips first and second, the volume control, the burst.
pub fn sentences(
    clean: &Both<&CleanHeadroom>,
    volume: Option<&Both<VolumeHeadroom>>,
    recovery: Option<&Both<Recovery>>,
) -> Vec<String> {
    let mut out = vec![grid_current(&clean.map(|c| &c.drive.grid_current))];
    out.extend(order(clean));
    out.extend(volume.and_then(turning));
    out.extend(recovery.map(burst));
    let restless = clean.map(|c| c.drive.restless);
    if restless.as_found + restless.proposed > 0 {
        out.push(
            "At some levels the amp does not come to rest under a steady sine; limits there may be \
             off."
            .into(),
        );
    }
    out
}

fn grid_current(onset: &Both<&GridCurrent>) -> String {
    let level = |o: &GridCurrent| level_in_words(o.at.as_ref(), o.without);
    let before = match (&onset.as_found.valve, &onset.proposed.valve) {
        (None, None) => return "No grid takes current, as before.".into(),
        (Some(was), None) => {
            let level = level(onset.as_found);
            return format!("No grid takes current; as found {was}'s does, at {level}.");
        }
        (None, Some(_)) => "; as found none does.".into(),
        (Some(was), Some(is)) if was == is => end(level(onset.as_found), &level(onset.proposed)),
        (Some(was), Some(_)) => format!("; as found {was}'s, at {}.", level(onset.as_found)),
    };
    let valve = onset.proposed.valve.as_deref().unwrap_or_default();
    let at = match onset.proposed.at {
        Some(at) => input_with_dbu(at.input_volts),
        None => level(onset.proposed),
    };
    format!("The first grid to take current is {valve}'s, at {at}{before}")
}

fn clips(clips: &Clips) -> String {
    format!(
        "{} ({}, {})",
        clips.stage,
        clips.valve,
        clips.how.in_words()
    )
}

fn order(clean: &Both<&CleanHeadroom>) -> Vec<String> {
    let Some(first) = &clean.proposed.order.first else {
        return vec!["No stage clips within what a jack may bring.".into()];
    };
    let mut out = Vec::new();
    let level = |c: &CleanHeadroom| {
        c.order
            .first
            .as_ref()
            .map(|f| input_in_words(f.input_volts))
    };
    let is = level(clean.proposed).unwrap_or_default();
    let was_first = clean.as_found.order.first.as_ref();
    let same = was_first.is_some_and(|was| was.stage == first.stage && was.how == first.how);
    let before = match (was_first, same) {
        (Some(_), true) => end(level(clean.as_found).unwrap_or_default(), &is),
        (Some(was), false) => format!(
            "; as found {}, at {}.",
            clips(was),
            input_in_words(was.input_volts)
        ),
        (None, _) => "; as found none does.".into(),
    };
    out.push(format!(
        "First to clip: {}, at {is} r.m.s.{before}",
        clips(first)
    ));
    if let (Some(second), Some(apart)) =
        (&clean.proposed.order.second, clean.proposed.order.apart_db)
    {
        let is = format!("{} dB", fixed(apart, 1));
        let was = clean.as_found.order.apart_db;
        let same = clean.as_found.order.second.as_ref().map(|s| &s.stage) == Some(&second.stage);
        let before = match was.filter(|_| same) {
            Some(was) => end(format!("{} dB", fixed(was, 1)), &is),
            None => ".".into(),
        };
        out.push(format!("Next: {}, {is} later{before}", clips(second)));
    }
    out
}

/// Where the control turned down and up leaves the clean limit.
fn turning(volume: &Both<VolumeHeadroom>) -> Option<String> {
    let limit = |point: &VolumePoint| {
        let limit = point.limits.iter().find(|l| l.percent == 5.0)?;
        Some(level_in_words(limit.at.as_ref(), limit.without))
    };
    let points = &volume.proposed.points;
    let (first, last) = (points.first()?, points.last()?);
    let quiet = limit(first)?;
    let loud = limit(last)?;
    let was = |position: f64| {
        let points = volume.as_found.points.iter();
        points
            .filter(|p| p.position == position)
            .find_map(limit)
            .unwrap_or_else(|| "–".into())
    };
    let before = match (was(first.position), was(last.position)) {
        (a, b) if a == quiet && b == loud => "; as before.".to_string(),
        (a, b) => format!("; as found {a} and {b}."),
    };
    Some(format!(
        "With {} at {} it reaches 5 % distortion at {quiet} r.m.s., with it at {} at {loud}{before}",
        volume.proposed.control, first.position, last.position
    ))
}

/// "45 ms", "0.3 s", "more than 2 s".
pub fn time_in_words(seconds: Option<f64>) -> String {
    match seconds {
        None => format!("more than {LONGEST_SECONDS} s"),
        Some(0.0) => "at once".into(),
        Some(s) if s < 0.0095 => format!("{} ms", significant(1e3 * s, 1)),
        Some(s) if s < 0.9995 => format!("{} ms", significant(1e3 * s, 2)),
        Some(s) => format!("{} s", significant(s, 2)),
    }
}

fn burst(recovery: &Both<Recovery>) -> String {
    let tone = |r: &Recovery| match r.tone_seconds {
        Some(0.0) => "at once".to_string(),
        seconds => format!("after {}", time_in_words(seconds)),
    };
    let is = tone(&recovery.proposed);
    let slowest = |r: &Recovered| {
        let stage = match r.stage.is_empty() {
            true => r.name.clone(),
            false => format!("{} ({})", r.name, r.stage),
        };
        format!(
            " The bias that takes longest to come back is that of {stage}: {}.",
            time_in_words(r.back_seconds)
        )
    };
    let last = recovery.proposed.slowest_grid().map(slowest);
    format!(
        "After a burst {} dB over the level at which it clips, a quiet note is back {is}{}{}",
        fixed(OVER_DB, 0),
        end(tone(&recovery.as_found), &is),
        last.unwrap_or_default()
    )
}
