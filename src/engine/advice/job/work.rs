//! The order of work: which changes share one opening of the chassis, and what is done in each.
//!
//! Every opening costs a discharge, so what sits together is done together, and what cannot be
//! heard by itself gets no opening of its own. Two changes that can each be heard are told apart by
//! listening between them. A change that moves the idle of a valve comes first and alone: its
//! voltages are to be read before anything else is touched.

use super::item::{Action, Item};
use crate::circuit::Kind;
use crate::text::list::listed;
use serde::Serialize;

/// What decides about a change's place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weight {
    /// Whether it can be clearly heard by itself.
    pub heard: bool,
    /// By how much it moves the idle dissipation of a power valve, as a share of it.
    pub idle_share: f64,
    /// Parts with one number here are changed alike and belong together, such as the two halves of
    /// a push-pull stage.
    pub twins: usize,
}

/// A change that moves the idle by this share is a change of bias (own choice).
const BIAS_SHARE: f64 = 0.03;

/// One opening of the chassis, or one change from outside.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Opening {
    /// Where: "supply board"; empty where the file does not say.
    pub near: String,
    /// Whether the chassis is opened for it.
    pub opens_chassis: bool,
    /// Designators of what is changed.
    pub parts: Vec<String>,
    /// What is done, a line each.
    pub steps: Vec<String>,
    /// Why it stands here, a sentence; empty for a plain one.
    pub why: String,
    /// What to listen for afterwards, a sentence a part; may be empty.
    pub listen: Vec<String>,
}

/// Puts the items in order. `listen` says what each part's change does.
pub fn openings(
    items: &[(Item, Weight)],
    listen: &dyn Fn(usize) -> Option<String>,
) -> Vec<Opening> {
    let groups = groups(items);
    let last = groups.len().saturating_sub(1);
    groups
        .into_iter()
        .enumerate()
        .map(|(place, group)| {
            let of = |i: &usize| &items[*i].0;
            let first = of(&group.members[0]);
            let twins = items[group.members[0]].1.twins;
            let names = |twin: bool| -> Vec<&str> {
                let members = group.members.iter();
                let alike = members.filter(|i| (items[**i].1.twins == twins) == twin);
                alike.map(|i| of(i).designator.as_str()).collect()
            };
            let (lead, along) = (names(true), names(false));
            Opening {
                near: first.near.clone(),
                opens_chassis: group.members.iter().any(|i| opens(of(i))),
                steps: group.members.iter().flat_map(|i| steps(of(i))).collect(),
                why: why_here(
                    group.why,
                    &listed(&lead),
                    &listed(&along),
                    place == last,
                    last == 0,
                ),
                parts: lead.iter().chain(&along).map(|n| n.to_string()).collect(),
                listen: group.members.iter().filter_map(|i| listen(*i)).collect(),
            }
        })
        .collect()
}

/// Why a group stands where it does; one group alone needs no reason.
fn why_here(why: Why, lead: &str, along: &str, last: bool, alone: bool) -> String {
    let shares = match along {
        "" => String::new(),
        names => format!(" {names} on the way: hardly heard by itself."),
    };
    match why {
        _ if alone => String::new(),
        Why::Bias => format!(
            "{lead}: this moves the idle of the power valves. Have their voltages read before the next change.{shares}"
        ),
        Why::Heard if last => format!("{lead}: this can be heard by itself.{shares}"),
        Why::Heard => {
            format!("{lead}: this can be heard by itself. Listen before the next change.{shares}")
        }
        Why::Together => {
            "None of this is expected to be heard by itself, so it is done in one.".into()
        }
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Why {
    Bias,
    Heard,
    Together,
}

struct Group {
    near: String,
    members: Vec<usize>,
    why: Why,
}

/// Work from outside goes with nothing.
fn opens(item: &Item) -> bool {
    !matches!(
        item.kind,
        Kind::Triode | Kind::Pentode | Kind::Rectifier | Kind::Loudspeaker | Kind::Switch
    )
}

fn groups(items: &[(Item, Weight)]) -> Vec<Group> {
    let why = |i: &usize| {
        let weight = items[*i].1;
        match () {
            () if weight.idle_share >= BIAS_SHARE => Why::Bias,
            () if weight.heard => Why::Heard,
            () => Why::Together,
        }
    };
    let all: Vec<usize> = (0..items.len()).collect();
    let mut out: Vec<Group> = Vec::new();
    for wanted in [Why::Bias, Why::Heard] {
        for &i in all.iter().filter(|i| why(i) == wanted) {
            let twin = |g: &&mut Group| items[g.members[0]].1.twins == items[i].1.twins;
            match out.iter_mut().find(twin) {
                Some(group) => group.members.push(i),
                None => out.push(Group {
                    near: items[i].0.near.clone(),
                    members: vec![i],
                    why: wanted,
                }),
            }
        }
    }
    for &i in all.iter().filter(|i| why(i) == Why::Together) {
        let near = &items[i].0.near;
        let inside = opens(&items[i].0);
        // With what sits beside it, else with whatever opens the chassis anyway and is no bias
        // change, else with the others of its kind.
        let fits = |g: &&mut Group| g.members.iter().all(|m| opens(&items[*m].0) == inside);
        let beside = out
            .iter_mut()
            .filter(fits)
            .find(|g| g.near == *near && g.why != Why::Bias);
        match beside {
            Some(group) => group.members.push(i),
            None => match out.iter_mut().filter(fits).find(|g| g.why != Why::Bias) {
                Some(group) => group.members.push(i),
                None => out.push(Group {
                    near: near.clone(),
                    members: vec![i],
                    why: Why::Together,
                }),
            },
        }
    }
    out
}

/// What is done to one part.
fn steps(item: &Item) -> Vec<String> {
    let name = named(item);
    let where_ = between(&item.nodes);
    let colours = |marking: &super::marking::Marking, tolerance: f64| {
        super::marking::usual(marking, tolerance)
            .map_or(String::new(), |code| format!(" ({})", code.in_words()))
    };
    let old_tolerance = item.buy.as_ref().and_then(|b| b.tolerance).unwrap_or(0.05);
    let old = format!(
        "{}{}",
        item.as_found,
        colours(&item.old_marking, old_tolerance)
    );
    let take_out = format!("{name}{where_}: take out the {old}. Label it and keep it.");
    let measure = item.buy.as_ref().and_then(|buy| {
        if !matches!(item.kind, Kind::Resistor | Kind::Capacitor) {
            return None;
        }
        let (quantity, value) = buy.number?;
        let share = buy.tolerance?;
        Some(format!(
            "Measure the new {} before it goes in: {} to {} is within its tolerance.",
            buy.value,
            quantity.in_words(rounded(value * (1.0 - share))),
            quantity.in_words(rounded(value * (1.0 + share))),
        ))
    });
    let polarity = item.positive.as_ref().map(|node| {
        let other = item.nodes.iter().find(|n| *n != node);
        let other = other.map_or(String::new(), |n| format!(", its − end to {}", ground(n)));
        format!(
            "Mind the polarity: its + end goes to {}{other}.",
            ground(node)
        )
    });
    let mut out = Vec::new();
    match (item.kind, item.action) {
        (Kind::Triode | Kind::Pentode | Kind::Rectifier, Action::Remove) => {
            out.push(format!("{name}: with the amp off, unplugged and cold, pull the {}.", item.as_found));
        }
        (Kind::Triode | Kind::Pentode | Kind::Rectifier, _) => {
            out.push(format!(
                "{name}: with the amp off, unplugged and cold, pull the {} and put in the {}. Straight pins, no force.",
                item.as_found, item.proposed
            ));
        }
        (Kind::Loudspeaker, Action::Fit) => out.push(format!(
            "{name}: with the amp off and unplugged, connect \"{}\" as well.",
            item.proposed
        )),
        (Kind::Loudspeaker, Action::Remove) => out.push(format!(
            "{name}: with the amp off and unplugged, disconnect \"{}\". Never run the amp without a loudspeaker.",
            item.as_found
        )),
        (Kind::Loudspeaker, _) => out.push(format!(
            "{name}: with the amp off and unplugged, connect \"{}\" in place of \"{}\". Never run the amp without a loudspeaker.",
            item.proposed, item.as_found
        )),
        (_, Action::Set) => out.push(format!("{name}: set it to {} (as found {}).", item.proposed, item.as_found)),
        (_, Action::Supply) => out.push(format!(
            "{name}: {} instead of {} is no change of one part. It is made by the mains transformer and its rectifier: have a technician say whether it can be had.",
            item.proposed, item.as_found
        )),
        (_, Action::Remove) => out.push(take_out),
        (_, Action::Fit) => {
            out.extend(measure);
            out.push(format!("{name}{where_}: solder in the {}, where there is none yet.", item.proposed));
            out.extend(polarity);
        }
        (_, Action::Replace) => {
            out.push(take_out);
            out.extend(measure);
            out.push(format!("Solder in the {} in its place.", item.proposed));
            out.extend(polarity);
        }
    }
    out
}

/// Three digits, as a meter shows.
fn rounded(value: f64) -> f64 {
    format!("{value:.2e}").parse().unwrap_or(value)
}

fn named(item: &Item) -> String {
    match item.role.as_str() {
        "" => item.designator.clone(),
        role => format!("{}, {role}", item.designator),
    }
}

/// The node in words.
fn ground(node: &str) -> String {
    match node {
        "gnd" => "ground".into(),
        node => format!("node {node}"),
    }
}

fn between(nodes: &[String]) -> String {
    match nodes {
        [a, b] => format!(" (from {} to {})", ground(a), ground(b)),
        _ => String::new(),
    }
}
