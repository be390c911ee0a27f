//! The voltage chart with each limit that is passed without signal.

use crate::advice::ratings::{Driven, Finding, Limited, ratings};
use crate::analysis::low_notes::{LowNotes, low_notes};
use crate::analysis::voltages::{ByName, NOTES, ValveReading, VoltageChart, chart};
use crate::circuit::electrodes;
use crate::device::{RatingSystem, Valve};
use crate::network::Network;
use crate::solve::solved::{Both, SolvedAmp, SolvedCircuit};
use crate::solve::stability::Unfit;
use crate::text::digits::{percent, printed, significant};
use serde::Serialize;

/// A limit that is exceeded.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct OverLimit {
    /// What exceeds it, such as "anode voltage".
    pub what: Limited,
    /// How much it is, with its unit and as many digits as show that it exceeds the limit.
    pub value: String,
    /// The limit, with its unit.
    pub limit: String,
    /// The one as a share of the other, per cent.
    pub percent: f64,
    /// All of it in words; put the designator before it.
    pub in_words: String,
}

/// One valve section without signal, and each limit that it passes.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LimitedReading {
    /// The readings.
    #[serde(flatten)]
    pub reading: ValveReading,
    /// Each limit that is exceeded.
    pub over_limit: Vec<OverLimit>,
}

/// Voltages of one circuit, with each limit that its valves pass.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LimitedChart {
    /// Volts to ground.
    pub nodes: ByName<f64>,
    /// Valve sections by designator.
    pub valves: ByName<LimitedReading>,
    /// How far down each output transformer carries its power.
    pub low_notes: Vec<LowNotes>,
}

/// The report: the chart asked for, and both charts when something is proposed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Voltages {
    /// Name of the amp.
    pub amp: String,
    /// The sides that pass no signal from the jack to the output; none where both do.
    pub unfit: Option<Box<Unfit>>,
    /// Which circuit `nodes` and `valves` are of: "as found" or "proposed".
    pub shown: &'static str,
    /// With everything done that was asked for.
    #[serde(flatten)]
    pub chart: LimitedChart,
    /// What is over its limit without signal, valves and parts, worst first.
    pub over_rated: Vec<Finding>,
    /// The same without what is proposed; only when something is.
    pub as_found_over_rated: Option<Vec<Finding>>,
    /// Without what is proposed; only when something is.
    pub as_found: Option<LimitedChart>,
    /// With what is proposed; only when something is.
    pub proposed: Option<LimitedChart>,
    /// What the loader assumed because the file does not say.
    pub assumed: Vec<String>,
    /// How the readings are meant.
    pub notes: Vec<&'static str>,
}

/// Makes the report.
pub fn voltages(amp: &SolvedAmp) -> Voltages {
    let both = amp
        .both()
        .map(|both| both.map(|s| limited_chart(&amp.network, s)));
    let (as_found, proposed) = both.map(|b| (b.as_found, b.proposed)).unzip();
    let over = |side: &SolvedCircuit| ratings(&amp.network, side, &Driven::default()).over;
    Voltages {
        amp: amp.as_found.circuit.name().into(),
        unfit: amp.silent(),
        shown: match proposed {
            Some(_) => "proposed",
            None => "as found",
        },
        chart: limited_chart(&amp.network, amp.asked_for()),
        over_rated: over(amp.asked_for()),
        as_found_over_rated: amp.both().map(|both| over(both.as_found)),
        as_found,
        proposed,
        assumed: [
            amp.asked_for().circuit.supplied(),
            &crate::network::assumed(&amp.asked_for().circuit),
        ]
        .concat(),
        notes: NOTES.to_vec(),
    }
}

/// The voltages of one circuit, with each limit that is passed.
pub fn limited_chart(network: &Network, side: &SolvedCircuit) -> LimitedChart {
    let VoltageChart { nodes, valves } = chart(network, side);
    let section = |name: &str| {
        let mut parts = side.circuit.parts().iter();
        parts.find(|p| p.designator == name).and_then(electrodes)
    };
    let limited = |(name, reading): (String, ValveReading)| {
        let valve = section(&name).map(|section| section.valve);
        let over_limit = valve.map_or_else(Vec::new, |valve| over_limit(&reading, valve));
        let limited = LimitedReading {
            reading,
            over_limit,
        };
        (name, limited)
    };
    LimitedChart {
        nodes,
        valves: ByName(valves.0.into_iter().map(limited).collect()),
        low_notes: low_notes(network, side),
    }
}

/// Designators of valves that read alike, in order.
pub fn alike<'a, K: PartialEq>(
    valves: &Both<&'a ByName<LimitedReading>>,
    key: impl Fn(&ValveReading, &ValveReading) -> Option<K>,
) -> Vec<(Vec<&'a str>, &'a ValveReading, &'a ValveReading)> {
    let mut groups: Vec<(Vec<&str>, &ValveReading, &ValveReading, K)> = Vec::new();
    let pairs = valves.as_found.0.iter().zip(&valves.proposed.0);
    for ((name, before), (_, after)) in pairs {
        let (before, after) = (&before.reading, &after.reading);
        let Some(key) = key(before, after) else {
            continue;
        };
        match groups.iter_mut().find(|(_, _, _, k)| *k == key) {
            Some((names, ..)) => names.push(name),
            None => groups.push((vec![name], before, after, key)),
        }
    }
    groups.into_iter().map(|(n, b, a, _)| (n, b, a)).collect()
}

/// Every limit that a reading of a valve of this type exceeds.
fn over_limit(reading: &ValveReading, valve: &Valve) -> Vec<OverLimit> {
    let Some(ratings) = valve.ratings.first() else {
        return Vec::new();
    };
    let to_cathode = |volts: f64| volts - reading.cathode_volts;
    let cathode = reading.anode_milliamps + reading.screen_milliamps.unwrap_or(0.0);
    let screen_volts = reading.screen_volts.map(to_cathode);
    let anode_volts = Some(to_cathode(reading.anode_volts));
    [
        (
            Limited::AnodeDissipation,
            Some(reading.anode_watts),
            ratings.anode_watts,
            "W",
        ),
        (
            Limited::ScreenDissipation,
            reading.screen_watts,
            ratings.screen_watts,
            "W",
        ),
        (Limited::AnodeVoltage, anode_volts, ratings.anode_volts, "V"),
        (
            Limited::ScreenVoltage,
            screen_volts,
            ratings.screen_volts,
            "V",
        ),
        (
            Limited::CathodeCurrent,
            Some(cathode),
            ratings.cathode_amps.map(|a| 1e3 * a),
            "mA",
        ),
    ]
    .into_iter()
    .filter_map(|(what, value, limit, unit)| {
        let (value, limit) = (value?, limit?);
        (value > limit).then(|| exceeded(what, [value, limit], unit, ratings.system))
    })
    .collect()
}

fn exceeded(
    what: Limited,
    [value, limit]: [f64; 2],
    unit: &str,
    system: RatingSystem,
) -> OverLimit {
    // As many digits as show that it exceeds the limit.
    let distinct = |d: &usize| significant(value, *d) != significant(limit, *d);
    let digits = (3..6).find(distinct).unwrap_or(6);
    let (value_words, limit_words) = (
        format!("{} {unit}", significant(value, digits)),
        format!("{} {unit}", printed(limit)),
    );
    let share = 100.0 * value / limit;
    OverLimit {
        what,
        in_words: format!(
            "the {what} is {value_words}, over the {system} limit of {limit_words} ({}).",
            percent(share)
        ),
        value: value_words,
        limit: limit_words,
        percent: share,
    }
}
