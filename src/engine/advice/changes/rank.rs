//! Which change is most worth doing.

use super::effect::Effect;
use crate::analysis::audibility::Heard;
use serde::Serialize;
use std::cmp::Ordering;

/// The rule, for the foot of the table.
pub const RULE: &str = "Ranked: first what brings a valve or part within its limits; then by what is heard, \
    clearly before borderline before not audible; among equals by the root-mean-square difference \
    over the bands for each minute of work. What takes one over a limit stands last.";

/// Work never takes less than this in the ranking, minutes: turning a control is not infinitely
/// better than a valve (own choice).
const LEAST_MINUTES: f64 = 1.0;
/// Where the file states no minutes, minutes: another supply is a day's work (own choice).
const UNKNOWN_MINUTES: f64 = 480.0;

/// What a change does to the limits of valves and parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Safety {
    /// It brings one within and takes none over.
    BringsWithin,
    /// Neither.
    AsBefore,
    /// It takes one over.
    TakesOver,
}

/// Where a change stands.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Standing {
    /// First key.
    pub safety: Safety,
    /// Second key, falling; the better heard of sound and response. What depends on a guitar that
    /// is not known counts as borderline.
    pub heard: Heard,
    /// Third key, falling: r.m.s. difference over the bands a minute of work, dB.
    pub db_a_minute: f64,
}

/// Where an effect stands that takes so long; without an effect, last of what is not dangerous.
pub fn standing(effect: Option<&Effect>, minutes: Option<f64>) -> Standing {
    let Some(effect) = effect else {
        return Standing {
            safety: Safety::AsBefore,
            heard: Heard::NotAudible,
            db_a_minute: 0.0,
        };
    };
    let heard = effect.played.iter().chain(&effect.response);
    let unknown = effect.depends_on_guitar.then_some(Heard::Borderline);
    let rms = effect.played.as_ref().map_or(0.0, |a| a.summary.rms_db);
    Standing {
        safety: match (
            effect.takes_over.is_empty(),
            effect.brings_within.is_empty(),
        ) {
            (false, _) => Safety::TakesOver,
            (true, false) => Safety::BringsWithin,
            (true, true) => Safety::AsBefore,
        },
        heard: heard
            .map(|a| a.verdict)
            .chain(unknown)
            .max()
            .unwrap_or(Heard::NotAudible),
        db_a_minute: rms / minutes.unwrap_or(UNKNOWN_MINUTES).max(LEAST_MINUTES),
    }
}

/// How two changes stand to each other: the one most worth doing first.
pub fn order(a: &Standing, b: &Standing) -> Ordering {
    a.safety
        .cmp(&b.safety)
        .then(b.heard.cmp(&a.heard))
        .then(b.db_a_minute.total_cmp(&a.db_a_minute))
}
