//! The job: what to buy, in which order to work, what to expect at every pin, and why.
//!
//! Takes an amp at rest as found and proposed, and what was said of the proposal; gives a [`Job`],
//! which the job sheet prints and the command line shows as JSON. It is plain data: all words that
//! depend on the amp are made here.

pub mod bases;
mod expected;
mod item;
pub mod marking;
pub mod sizes;
mod work;

pub use expected::Expected;
pub use item::{Action, Item, Met, Purchase};
pub use marking::{ColourCode, Marking};
pub use work::Opening;

use super::at_rest::{AtRest, Both, Side};
use super::part_effect::part_effect;
use super::parts_list::{ControlLine, parts_list};
use super::response::Path;
use super::voltages::{NOTES, VoltageChart, chart};
use crate::circuit::PartId;
use serde::Serialize;
use work::{Weight, openings};

/// Where everything comes from.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Origin {
    /// The circuit file's name, or the name of a built-in amp.
    pub circuit: String,
    /// The proposal's file or name; empty if it has none.
    pub proposal: String,
    /// The program and its version.
    pub program: String,
    /// Today, as it shall stand on the sheet; none leaves a line to write on.
    pub date: Option<String>,
    /// Whether the amp is one that comes with the program, and so invented.
    pub invented: bool,
}

/// What the owner proposes, in the words of the file.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Proposed {
    /// Its name; may be empty.
    pub name: String,
    /// What it is meant to do; may be empty.
    pub about: String,
}

/// What was said of the proposal elsewhere, a sentence each.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Said {
    /// The verdict.
    pub verdict: Vec<String>,
    /// What went wrong on the way.
    pub warnings: Vec<String>,
}

/// Over a limit, in words.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Over {
    /// "V3: the anode dissipation is …".
    pub sentence: String,
    /// Whether it is so as found, and as proposed.
    pub at: Both<bool>,
}

/// A share of a limit, for a picture.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Load {
    /// "V3 anode".
    pub of: String,
    /// Watts at rest.
    pub watts: Both<f64>,
    /// Limit, W.
    pub limit: f64,
}

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Job {
    /// Name of the amp.
    pub amp: String,
    /// What its file says about it.
    pub about: String,
    /// What is proposed.
    pub proposed: Proposed,
    /// Where everything comes from.
    pub origin: Origin,
    /// Every limit that is exceeded, as proposed first.
    pub over: Vec<Over>,
    /// Every change.
    pub items: Vec<Item>,
    /// The order of work.
    pub openings: Vec<Opening>,
    /// How the controls stand for everything here.
    pub controls: Vec<ControlLine>,
    /// Expected readings of the valves.
    pub pins: Vec<Expected>,
    /// Expected readings of the supply.
    pub supply: Vec<Expected>,
    /// Dissipation of the power valves.
    pub loads: Vec<Load>,
    /// The verdict.
    pub said: Said,
    /// What the loader assumed because the file does not say.
    pub assumed: Vec<String>,
    /// How the readings are meant.
    pub notes: Vec<&'static str>,
}

/// A guitar's range, in which a difference counts as heard, Hz.
const HEARD_HZ: std::ops::RangeInclusive<f64> = 80.0..=8000.0;

/// Makes the report. Without anything proposed the amp is both sides, and there are no items.
pub fn job(amp: &AtRest, proposed: Proposed, origin: Origin, said: Said) -> Job {
    let found = &amp.as_found.circuit;
    let charts = Both {
        as_found: chart(&amp.network, &amp.as_found),
        proposed: chart(&amp.network, amp.asked_for()),
    };
    let items = item::items(amp, &|id| item::at_rest(amp, id));
    let effects: Vec<_> = items
        .iter()
        .map(|(id, _)| part_effect(amp, *id, Path::default()))
        .collect();
    let weighed: Vec<(Item, Weight)> = items
        .iter()
        .zip(&effects)
        .map(|((id, item), effect)| {
            let difference = effect.difference.iter().flatten();
            let heard = effect.hz.iter().zip(difference);
            let heard = heard.filter(|(hz, db)| HEARD_HZ.contains(hz) && db.is_finite());
            let weight = Weight {
                heard_db: heard.fold(0.0, |most, (_, db)| db.abs().max(most)),
                idle_share: idle_share(amp, *id),
            };
            (item.clone(), weight)
        })
        .collect();
    let openings = openings(&weighed, &|i| {
        let effect = effects.get(i)?;
        Some(format!(
            "{}: {}",
            effect.designator,
            effect.sentence.as_ref()?
        ))
    });
    Job {
        amp: found.name().into(),
        about: found.about().into(),
        proposed,
        origin,
        over: over(&charts),
        items: items.into_iter().map(|(_, item)| item).collect(),
        openings,
        controls: parts_list(found, amp.proposed.as_ref().map(|s| &s.circuit)).controls,
        pins: expected::pins(amp),
        supply: expected::supply_nodes(amp),
        loads: loads(&charts),
        said,
        assumed: [found.supplied(), &crate::network::assumed(found)].concat(),
        notes: NOTES.to_vec(),
    }
}

/// By how much one change moves the idle dissipation of the power valve that it moves most.
fn idle_share(amp: &AtRest, id: PartId) -> f64 {
    let Some(side) = super::part_effect::changed_alone(amp, id) else {
        return 0.0;
    };
    let watts = |side: &Side| -> Vec<f64> {
        let valves = chart(&amp.network, side).valves.0.into_iter();
        let power = valves.filter(|(_, v)| v.screen_volts.is_some());
        power.map(|(_, v)| v.anode_watts).collect()
    };
    let pairs = watts(&amp.as_found).into_iter().zip(watts(&side));
    let share = pairs.map(|(was, is)| ((is - was) / was.max(1e-3)).abs());
    share.filter(|s| s.is_finite()).fold(0.0, f64::max)
}

fn over(charts: &Both<VoltageChart>) -> Vec<Over> {
    let mut out = Vec::new();
    let pairs = charts
        .proposed
        .valves
        .0
        .iter()
        .zip(&charts.as_found.valves.0);
    for ((name, after), (_, before)) in pairs {
        for limit in &after.over_limit {
            let was = before.over_limit.iter().any(|b| b.what == limit.what);
            out.push(Over {
                sentence: format!("{name} as proposed: {}", limit.in_words),
                at: Both {
                    as_found: was,
                    proposed: true,
                },
            });
        }
        let gone = before.over_limit.iter();
        let gone = gone.filter(|b| after.over_limit.iter().all(|a| a.what != b.what));
        out.extend(gone.map(|limit| Over {
            sentence: format!(
                "{name} as found: {} As proposed it is within the limit.",
                limit.in_words
            ),
            at: Both {
                as_found: true,
                proposed: false,
            },
        }));
    }
    out.sort_by_key(|o| !o.at.proposed);
    out
}

fn loads(charts: &Both<VoltageChart>) -> Vec<Load> {
    let pairs = charts
        .as_found
        .valves
        .0
        .iter()
        .zip(&charts.proposed.valves.0);
    let mut out = Vec::new();
    for ((name, before), (_, after)) in pairs.filter(|((_, v), _)| v.screen_volts.is_some()) {
        if let Some(limit) = after.anode_limit_watts {
            out.push(Load {
                of: format!("{name} anode"),
                watts: Both {
                    as_found: before.anode_watts,
                    proposed: after.anode_watts,
                },
                limit,
            });
        }
        if let (Some(was), Some(is), Some(limit)) = (
            before.screen_watts,
            after.screen_watts,
            after.screen_limit_watts,
        ) {
            out.push(Load {
                of: format!("{name} screen"),
                watts: Both {
                    as_found: was,
                    proposed: is,
                },
                limit,
            });
        }
    }
    out
}
