//! The job: what to buy, in which order to work, what to expect at every pin, and why.
//!
//! Takes an amp at rest as found and proposed, and what was said of the proposal; gives a [`Job`],
//! which the job sheet prints and the command line shows as JSON. It is plain data: all words that
//! depend on the amp are made here.

pub mod bases;
mod evidence;
mod expected;
mod item;
pub mod marking;
mod purchase;
pub mod sizes;
mod work;

pub use evidence::{Evidence, OverRated};
pub use expected::{Expected, pins, supply_nodes};
pub use item::{Action, Item};
pub use marking::{ColourCode, Marking};
pub use purchase::{Met, Purchase};
pub use work::Opening;

use super::changes::ChangesReport;
use super::ratings::Reservoir;
use crate::analysis::audibility::{HEARD_DB, Heard};
use crate::analysis::part_effect::part_effect;
use crate::analysis::parts_list::{ControlLine, parts_list};
use crate::analysis::response::Path;
use crate::analysis::third_octave::TONE_HZ;
use crate::analysis::voltages::{NOTES, VoltageChart, chart};
use crate::circuit::PartId;
use crate::solve::solved::{Both, SolvedAmp, SolvedCircuit};
use evidence::{charged, met, over_rated};
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
    /// The verdict on each change in a line or two; none where it was not computed.
    pub in_short: Option<String>,
    /// What is over its rating.
    pub over: OverRated,
    /// Every change.
    pub items: Vec<Item>,
    /// What the prices are in, and what the price file says about itself; none without prices.
    pub prices: Option<[String; 2]>,
    /// Price of all that is bought; none where one price is not known.
    pub cost: Option<f64>,
    /// Minutes of work, the chassis being opened as often as the order of work says; none where
    /// they are not known.
    pub minutes: Option<f64>,
    /// What stays charged, most energy first.
    pub charged: Vec<Reservoir>,
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
    /// What each change does by itself, and what they do together, a sentence each.
    pub each: Vec<String>,
    /// What the loader assumed because the file does not say.
    pub assumed: Vec<String>,
    /// How the readings are meant.
    pub notes: Vec<&'static str>,
}

/// Makes the report. Without anything proposed the amp is both sides, and there are no items.
pub fn job(
    amp: &SolvedAmp,
    proposed: Proposed,
    origin: Origin,
    said: Said,
    evidence: &Evidence<'_>,
) -> Job {
    let found = &amp.as_found.circuit;
    let charts = Both {
        as_found: chart(&amp.network, &amp.as_found),
        proposed: chart(&amp.network, amp.asked_for()),
    };
    let met = |name: &str| met(evidence.ratings.proposed, name);
    let (ids, items): (Vec<PartId>, Vec<Item>) =
        item::items(amp, &met, evidence.prices).into_iter().unzip();
    let judged: Vec<Judged> = ids
        .iter()
        .zip(&items)
        .enumerate()
        .map(|(i, (id, item))| judged(amp, *id, i, item, evidence.changes))
        .collect();
    let weighed: Vec<(Item, Weight)> = items
        .iter()
        .zip(&judged)
        .map(|(item, judged)| (item.clone(), judged.weight))
        .collect();
    let openings = openings(&weighed, &|i| judged.get(i)?.listen.clone());
    let bought: Vec<&Purchase> = items.iter().filter_map(|i| i.buy.as_ref()).collect();
    Job {
        amp: found.name().into(),
        about: found.about().into(),
        proposed,
        origin,
        in_short: evidence.changes.and_then(in_short),
        over: over_rated(&evidence.ratings),
        prices: evidence
            .prices
            .map(|p| [p.currency().to_string(), p.about().to_string()]),
        cost: evidence
            .prices
            .and_then(|_| bought.iter().map(|b| b.price).sum()),
        minutes: minutes(evidence, &items, &openings),
        charged: charged(&evidence.ratings),
        items,
        openings,
        controls: parts_list(found, amp.proposed.as_ref().map(|s| &s.circuit)).controls,
        pins: expected::pins(amp, evidence.spread),
        supply: expected::supply_nodes(amp, evidence.spread),
        loads: loads(&charts),
        said,
        each: evidence.changes.map_or(Vec::new(), each),
        assumed: [found.supplied(), &crate::network::assumed(found)].concat(),
        notes: NOTES.to_vec(),
    }
}

/// What decides about a change's place, and what to listen for.
struct Judged {
    weight: Weight,
    listen: Option<String>,
}

/// From the report on each change where there is one, else from the response alone.
fn judged(
    amp: &SolvedAmp,
    id: PartId,
    place: usize,
    item: &Item,
    changes: Option<&ChangesReport>,
) -> Judged {
    let rows = changes.map_or(&[][..], |report| &report.rows);
    let row = rows.iter().position(|row| {
        let mut parts = row.parts.iter();
        parts.any(|part| part.designator.eq_ignore_ascii_case(&item.designator))
    });
    let ranked = row.and_then(|row| Some((row, rows[row].alone.as_ref()?)));
    if let Some((row, effect)) = ranked {
        let heard = effect.played.as_ref().map(|a| a.verdict);
        let moved = effect.most_moved();
        let share = moved.map(|d| (d.change() / d.before_watts.max(1e-3)).abs());
        return Judged {
            weight: Weight {
                heard: heard == Some(Heard::ClearlyAudible),
                idle_share: share.filter(|s| s.is_finite()).unwrap_or(0.0),
                twins: row,
            },
            listen: effect
                .played
                .as_ref()
                .map(|a| format!("{}: {}.", rows[row].name, a.in_words)),
        };
    }
    let effect = part_effect(amp, id, Path::default());
    let difference = effect.difference.iter().flatten();
    let mut range = effect.hz.iter().zip(difference);
    let words = effect.sentence.as_ref();
    Judged {
        weight: Weight {
            heard: range.any(|(hz, db)| TONE_HZ.contains(hz) && db.abs() > HEARD_DB),
            idle_share: idle_share(amp, id),
            // Behind all rows of a report.
            twins: rows.len() + place,
        },
        listen: words.map(|words| format!("{}: {words}", item.designator)),
    }
}

/// What the whole does: the one change's own sentence, or that of all together.
fn in_short(changes: &ChangesReport) -> Option<String> {
    match &changes.rows[..] {
        [] => None,
        [one] => Some(one.sentence.clone()),
        _ => Some(changes.together_in_words.clone()),
    }
}

/// The sentences of the report on each change.
fn each(changes: &ChangesReport) -> Vec<String> {
    let rows = changes.rows.iter();
    let mut out: Vec<String> = rows
        .map(|row| format!("{}: {}", row.what, row.sentence))
        .collect();
    if changes.rows.len() > 1 {
        out.push(changes.together_in_words.clone());
    }
    out.extend(changes.interactions.iter().map(|i| i.sentence.clone()));
    out
}

/// Minutes of all the work, each opening counted.
fn minutes(evidence: &Evidence<'_>, items: &[Item], openings: &[Opening]) -> Option<f64> {
    let prices = evidence.prices?;
    let opened = openings.iter().filter(|o| o.opens_chassis).count();
    let Some(changes) = evidence.changes else {
        let each = items.iter().map(|item| match item.action {
            Action::Set => Some(0.0),
            _ => Some(prices.minutes(item.ware()?)),
        });
        let work: Option<f64> = each.sum();
        return Some(work? + prices.chassis_minutes() * opened as f64);
    };
    // The report opens the chassis once.
    Some(changes.minutes? + prices.chassis_minutes() * (opened as f64 - 1.0).max(0.0))
}

/// By how much one change moves the idle dissipation of the power valve that it moves most.
fn idle_share(amp: &SolvedAmp, id: PartId) -> f64 {
    let Some(side) = crate::analysis::part_effect::changed_alone(amp, id) else {
        return 0.0;
    };
    let watts = |side: &SolvedCircuit| -> Vec<f64> {
        let valves = chart(&amp.network, side).valves.0.into_iter();
        let power = valves.filter(|(_, v)| v.screen_volts.is_some());
        power.map(|(_, v)| v.anode_watts).collect()
    };
    let pairs = watts(&amp.as_found).into_iter().zip(watts(&side));
    let share = pairs.map(|(was, is)| ((is - was) / was.max(1e-3)).abs());
    share.filter(|s| s.is_finite()).fold(0.0, f64::max)
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
