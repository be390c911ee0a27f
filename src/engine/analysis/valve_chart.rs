//! The valve chart: dissipation of every valve section beside its limit, at idle and while playing,
//! as found and proposed, with its bias and current, and how far the supplies sag.
//!
//! Takes an amp at rest and, when they have been worked out, the figures of
//! [`super::valves_playing`]; gives a report. Idle figures are those of [`super::voltages`].

use super::valves_playing::{Playing, SidePlaying, SupplyPlaying};
use super::voltages::{ValveReading, reading, valve_parts};
use crate::circuit::{NodeId, Part, PartKind};
use crate::device::{RatingSystem, Ratings, Valve};
use crate::network::Network;
use crate::solve::solved::{SolvedAmp, SolvedCircuit};
use crate::text::digits::{fixed, significant};
use serde::Serialize;

/// A dissipation beside its limit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Load {
    /// Dissipation, W.
    pub watts: f64,
    /// Its limit, W; none where no rating is known.
    pub limit_watts: Option<f64>,
    /// The one as a share of the other, per cent.
    pub percent: Option<f64>,
    /// "9 % over its limit", when it is.
    pub over: Option<String>,
}

/// Idle and playing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Electrode {
    /// Without signal.
    pub idle: Load,
    /// In the heaviest second of what was played.
    pub playing: Option<Load>,
}

/// One valve section on one side.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ValveFigures {
    /// Type number.
    pub valve: String,
    /// Whether it is in its socket.
    pub fitted: bool,
    /// Grid to cathode, V.
    pub bias_volts: f64,
    /// Anode current, mA.
    pub anode_milliamps: f64,
    /// Anode dissipation.
    pub anode: Electrode,
    /// Screen dissipation; none for a triode.
    pub screen: Option<Electrode>,
    /// Rating system of the limits, such as "design-centre"; empty where no rating is known.
    #[serde(serialize_with = "RatingSystem::serialize_known")]
    pub rating_system: Option<RatingSystem>,
    /// Where the limits are printed.
    pub rating_source: String,
}

/// One valve section.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ValveLine {
    /// Designator.
    pub designator: String,
    /// What it does there; may be empty.
    pub role: String,
    /// As found.
    pub as_found: ValveFigures,
    /// As proposed; only when something is.
    pub proposed: Option<ValveFigures>,
}

/// One supply node on one side while playing.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Sag {
    /// At rest, V to ground.
    pub idle_volts: f64,
    /// The lowest average over a tenth of a second, V.
    pub lowest_volts: f64,
    /// Fall in words: "falls 6.1 V of 300 V (2 %)".
    pub in_words: String,
}

/// One supply node.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SupplyLine {
    /// Name of the node.
    pub node: String,
    /// As found.
    pub as_found: Sag,
    /// As proposed; only when something is.
    pub proposed: Option<Sag>,
}

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ValveChart {
    /// Name of the amp.
    pub amp: String,
    /// Valve sections in the order of the file.
    pub valves: Vec<ValveLine>,
    /// Supply nodes; empty until something was played.
    pub supplies: Vec<SupplyLine>,
    /// How the readings are meant.
    pub notes: Vec<&'static str>,
}

/// What a reader of the chart must know.
pub const NOTES: [&str; 3] = [
    "Figures come from a model of average valves. Real valves draw up to 30 % more or less.",
    "Playing: the heaviest second of what was played for each valve, the lowest tenth of a second for each supply.",
    "The limits are the maker's, in the rating system named; each section has its own.",
];

/// Makes the report; `playing` is of the same amp, if it has been worked out.
pub fn valve_chart(amp: &SolvedAmp, playing: Option<&Playing>) -> ValveChart {
    let played = playing.map(|p| &p.as_found);
    let proposed_played = playing.and_then(|p| p.proposed.as_ref());
    let lines = valve_parts(&amp.as_found).filter_map(|(id, part)| {
        let proposed = amp.proposed.as_ref();
        Some(ValveLine {
            designator: part.designator.clone(),
            role: part.particulars.role().to_string(),
            as_found: figures(&amp.network, &amp.as_found, part, played)?,
            proposed: match proposed {
                None => None,
                Some(side) => {
                    let part = side.circuit.part(id);
                    Some(figures(&amp.network, side, part, proposed_played)?)
                }
            },
        })
    });
    let supplies = played.map_or(&[][..], |p| &p.supplies);
    let supplies = supplies.iter().enumerate().map(|(i, supply)| SupplyLine {
        node: supply.node.clone(),
        as_found: sag(supply),
        proposed: proposed_played.and_then(|p| p.supplies.get(i)).map(sag),
    });
    ValveChart {
        amp: amp.as_found.circuit.name().into(),
        valves: lines.collect(),
        supplies: supplies.collect(),
        notes: NOTES.to_vec(),
    }
}

fn figures(
    network: &Network,
    side: &SolvedCircuit,
    part: &Part,
    playing: Option<&SidePlaying>,
) -> Option<ValveFigures> {
    let (PartKind::Triode { valve, .. } | PartKind::Pentode { valve, .. }) = &part.kind else {
        return None;
    };
    let at = |node: NodeId| side.point.solution[network.position(node)];
    let idle: ValveReading = reading(part, &at)?;
    let played = playing.and_then(|p| {
        let mut valves = p.valves.iter();
        valves.find(|v| v.designator == part.designator)
    });
    let ratings = rated(valve);
    let anode_limit = ratings.and_then(|r| r.anode_watts);
    let screen_limit = ratings.and_then(|r| r.screen_watts);
    // Where the maker prints a limit of its own for full signal, that is the one for playing.
    let played_screen_limit = ratings.and_then(|r| r.screen_peak_watts).or(screen_limit);
    Some(ValveFigures {
        valve: idle.valve,
        fitted: idle.fitted,
        bias_volts: idle.grid_volts - idle.cathode_volts,
        anode_milliamps: idle.anode_milliamps,
        anode: Electrode {
            idle: load(idle.anode_watts, anode_limit),
            playing: played.map(|p| load(p.anode_watts, anode_limit)),
        },
        screen: idle.screen_watts.map(|watts| Electrode {
            idle: load(watts, screen_limit),
            playing: played
                .and_then(|p| p.screen_watts)
                .map(|watts| load(watts, played_screen_limit)),
        }),
        rating_system: ratings.map(|r| r.system),
        rating_source: ratings.map(|r| r.source.clone()).unwrap_or_default(),
    })
}

fn rated(valve: &Valve) -> Option<&Ratings> {
    valve.ratings.first()
}

fn load(watts: f64, limit_watts: Option<f64>) -> Load {
    let percent = limit_watts.map(|limit| 100.0 * watts / limit);
    Load {
        watts,
        limit_watts,
        percent,
        over: percent.and_then(over),
    }
}

/// "9 % over its limit"; none within it.
pub fn over(percent: f64) -> Option<String> {
    let excess = percent - 100.0;
    // A tenth of a per cent more or less is within the arithmetic, but a limit is a limit.
    match excess {
        x if x <= 0.0 => None,
        x if x < 0.05 => Some("just over its limit".into()),
        x if x < 0.95 => Some(format!("{} % over its limit", fixed(x, 1))),
        x => Some(format!("{} % over its limit", fixed(x, 0))),
    }
}

fn sag(supply: &SupplyPlaying) -> Sag {
    let fall = (supply.idle_volts - supply.lowest_volts).abs();
    let share = 100.0 * fall / supply.idle_volts.abs();
    let in_words = if share < 0.1 {
        "stays".to_string()
    } else {
        format!(
            "falls {} V of {} V ({} %)",
            significant(fall, 2),
            significant(supply.idle_volts.abs(), 3),
            significant(share, if share < 10.0 { 1 } else { 2 })
        )
    };
    Sag {
        idle_volts: supply.idle_volts,
        lowest_volts: supply.lowest_volts,
        in_words,
    }
}
