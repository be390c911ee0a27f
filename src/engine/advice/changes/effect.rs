//! What lies between two circuits: heard, gain, headroom, idle dissipation, limits.

use super::figures::{Figures, IdleWatts, PartLimit};
use crate::analysis::audibility::{Audibility, Heard, compare, compare_responses};
use crate::analysis::headroom::StageHeadroom;
use crate::device::Electrode;
use crate::units::decibels_from_ratio;
use serde::Serialize;

/// Less than this is no change of headroom or gain worth a word, dB: half of what the ear notices
/// as a change of level at most (own choice).
pub const NOTICEABLE_DB: f64 = 0.5;
/// Less than this is no change of dissipation worth a word, W: a mains voltage 1 % higher brings
/// as much (own choice).
pub const NOTICEABLE_WATTS: f64 = 0.2;

/// A sound so far below the other is nothing beside it, dB: what strays past a valve that is out
/// (own choice).
const NOTHING_DB: f64 = 40.0;

/// Idle dissipation of valves that read alike.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Dissipation {
    /// Designators.
    pub valves: Vec<String>,
    /// Anode or screen.
    pub electrode: Electrode,
    /// Without the change, W a valve.
    pub before_watts: f64,
    /// With it, W a valve.
    pub after_watts: f64,
    /// Limit with the change, W; none where no rating is known.
    pub limit_watts: Option<f64>,
    /// Share of the limit without the change, per cent.
    pub before_percent: Option<f64>,
    /// Share of the limit with it, per cent.
    pub after_percent: Option<f64>,
}

impl Dissipation {
    /// The change, W.
    pub fn change(&self) -> f64 {
        self.after_watts - self.before_watts
    }
}

/// Where the first stage clips.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HeadroomEffect {
    /// Without the change; none when no stage clips.
    pub before: Option<StageHeadroom>,
    /// With it.
    pub after: Option<StageHeadroom>,
    /// How much more the jack takes before a stage clips, dB; none when one of the two never clips.
    pub change_db: Option<f64>,
}

/// What a change does.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Effect {
    /// On the sound that was played; none when nothing was heard on one side, and where no
    /// difference means nothing because it depends on the guitar.
    pub played: Option<Audibility>,
    /// Whether anything was heard without the change, and with it.
    pub sounds: [bool; 2],
    /// On the small-signal response, weighted as played.
    pub response: Option<Audibility>,
    /// Whether the two are heard from different loudspeakers: what is heard is what each radiates,
    /// what is louder or has more gain is told of their terminals.
    pub other_loudspeaker: bool,
    /// Nothing is heard of it as the jack is driven, and a guitar may change that.
    pub depends_on_guitar: bool,
    /// On the small-signal gain at 1 kHz, dB.
    pub gain_db: f64,
    /// On the headroom.
    pub headroom: HeadroomEffect,
    /// On the output valves at rest: those in which anything moves, the anodes first.
    pub dissipation: Vec<Dissipation>,
    /// Limits that hold with the change and did not without it.
    pub brings_within: Vec<PartLimit>,
    /// Limits that held without the change and do not with it.
    pub takes_over: Vec<PartLimit>,
    /// Limits that hold neither without nor with it.
    pub stays_over: Vec<PartLimit>,
}

/// From one circuit to another; `as_found` plays the sound that weighs the response.
pub fn effect(before: &Figures, after: &Figures, as_found: &Figures) -> Effect {
    let but = |one: &Figures, other: &Figures| -> Vec<PartLimit> {
        let over = one.over_limit.iter();
        over.filter(|o| !other.over_limit.contains(o))
            .cloned()
            .collect()
    };
    let both = after.over_limit.iter();
    let both = both.filter(|o| before.over_limit.contains(o));
    let lufs = [before, after].map(|f| f.heard.lufs.unwrap_or(f64::NEG_INFINITY));
    let sounds = lufs.map(|l| l.is_finite() && l > lufs[0].max(lufs[1]) - NOTHING_DB);
    let response = || response(before, after, as_found).filter(|a| a.louder_db.abs() < NOTHING_DB);
    Effect {
        played: played(before, after).filter(|_| sounds == [true; 2]),
        sounds,
        response: response().filter(|_| sounds[0] == sounds[1]),
        other_loudspeaker: before.loudspeaker != after.loudspeaker,
        depends_on_guitar: false,
        gain_db: after.gain_db - before.gain_db,
        headroom: HeadroomEffect {
            change_db: change_db(before, after),
            before: before.clips_first.clone(),
            after: after.clips_first.clone(),
        },
        dissipation: dissipation(&before.idle, &after.idle),
        brings_within: but(before, after),
        takes_over: but(after, before),
        stays_over: both.cloned().collect(),
    }
}

/// The sound that was played: at the loudspeaker's terminals, or, where the loudspeakers differ, what
/// each radiates. How loud a loudspeaker is beside another its file does not state, so that what is
/// louder is told of the terminals.
fn played(before: &Figures, after: &Figures) -> Option<Audibility> {
    let terminals = compare(&before.heard, &after.heard)?;
    if before.loudspeaker == after.loudspeaker {
        return Some(terminals);
    }
    let [was, is] = [before, after].map(|f| f.heard.radiated_by(&f.radiates_db));
    Some(Audibility {
        louder_db: terminals.louder_db,
        ..compare(&was, &is)?
    })
}

/// The small-signal response, likewise.
fn response(before: &Figures, after: &Figures, as_found: &Figures) -> Option<Audibility> {
    let terminals = compare_responses(&before.response_db, &after.response_db, &as_found.heard)?;
    if before.loudspeaker == after.loudspeaker {
        return Some(terminals);
    }
    let [was, is] = [before, after].map(|f| -> Vec<f64> {
        let pairs = f.response_db.iter().zip(&f.radiates_db);
        pairs.map(|(amp, loudspeaker)| amp + loudspeaker).collect()
    });
    let heard = as_found.heard.radiated_by(&as_found.radiates_db);
    Some(Audibility {
        louder_db: terminals.louder_db,
        ..compare_responses(&was, &is, &heard)?
    })
}

/// How much more input the first stage takes, dB.
fn change_db(before: &Figures, after: &Figures) -> Option<f64> {
    let volts = |f: &Figures| f.clips_first.as_ref()?.clips_at_input_volts;
    Some(decibels_from_ratio(volts(after)? / volts(before)?))
}

/// Pairs of readings, alike ones together. A valve that is not in its socket on one side is left out.
fn dissipation(before: &[IdleWatts], after: &[IdleWatts]) -> Vec<Dissipation> {
    let mut out: Vec<Dissipation> = Vec::new();
    for is in after {
        let same = |w: &&IdleWatts| w.valve == is.valve && w.electrode == is.electrode;
        let Some(was) = before.iter().find(same) else {
            continue;
        };
        // A tenth of a watt is what a report shows.
        let alike = |d: &&mut Dissipation| {
            let near = |a: f64, b: f64| (a - b).abs() < 0.05;
            d.electrode == is.electrode
                && near(d.before_watts, was.watts)
                && near(d.after_watts, is.watts)
                && d.limit_watts == is.limit_watts
        };
        match out.iter_mut().find(alike) {
            Some(group) => group.valves.push(is.valve.clone()),
            None => out.push(Dissipation {
                valves: vec![is.valve.clone()],
                electrode: is.electrode,
                before_watts: was.watts,
                after_watts: is.watts,
                limit_watts: is.limit_watts,
                before_percent: was.percent(),
                after_percent: is.percent(),
            }),
        }
    }
    out.sort_by_key(|d| d.electrode != Electrode::Anode);
    out
}

impl Effect {
    /// The group of valves whose anodes move most; none without output valves.
    pub fn most_moved(&self) -> Option<&Dissipation> {
        let anodes = self
            .dissipation
            .iter()
            .filter(|d| d.electrode == Electrode::Anode);
        anodes.max_by(|a, b| a.change().abs().total_cmp(&b.change().abs()))
    }

    /// An effect of parts at the jack of which no guitar is known: nothing audible then means
    /// nothing.
    pub fn without_guitar(mut self) -> Effect {
        let mut heard = self.played.iter().chain(&self.response);
        if heard.all(|a| a.verdict == Heard::NotAudible) {
            self.depends_on_guitar = true;
            (self.played, self.response) = (None, None);
        }
        self
    }

    /// Whether it does anything that one could want: is heard, moves level or headroom, or cools
    /// the valves. Heat alone is nothing to want, nor silence.
    pub fn is_something(&self) -> bool {
        if self.sounds == [true, false] {
            return false;
        }
        let heard = [&self.played, &self.response].into_iter().flatten();
        let louder = self.played.as_ref().map_or(0.0, |a| a.louder_db);
        let headroom = &self.headroom;
        let moves = |db: f64| db.abs() >= NOTICEABLE_DB;
        let cools =
            |d: &Dissipation| d.electrode == Electrode::Anode && d.change() <= -NOTICEABLE_WATTS;
        self.sounds == [false, true]
            || heard.map(|a| a.verdict).any(|v| v > Heard::NotAudible)
            || moves(louder)
            || moves(self.gain_db)
            || headroom.change_db.is_some_and(moves)
            || headroom.before.is_some() != headroom.after.is_some()
            || self.dissipation.iter().any(cools)
            || !self.brings_within.is_empty()
    }
}
