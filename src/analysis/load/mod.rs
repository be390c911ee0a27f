//! What each way of connecting loudspeakers does to the amp: the load that the output valves see,
//! clean power, what valves and loudspeakers stand, damping.
//!
//! Every way is a circuit of its own, with that loudspeaker in it, and all of it is solved again:
//! bias, supplies, feedback, the loudspeaker's impedance with its resonance. Only the nominal
//! figures come from rated impedances and turns.

mod behind;
mod case;
mod ways;
mod words;

pub use behind::{DAMPING_HZ, behind_loudspeaker};
pub use case::{Driven, LoadCase, LoudspeakerLoad, Nominal};
pub use ways::{Way, loaded};

use crate::analysis::drive::HARD_FACTOR;
use crate::circuit::Circuit;
use crate::device::Catalogue;
use crate::numeric::parallel::{GoOn, on_all_cores};
use crate::solve::solved::NoOperatingPoint;
use serde::Serialize;
use std::fmt;

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoadReport {
    /// Name of the amp.
    pub amp: String,
    /// Designator of the output transformer.
    pub transformer: String,
    /// The hard drive, V r.m.s. at the jack.
    pub hard_input_volts: f64,
    /// As it is; then each way.
    pub cases: Vec<LoadCase>,
    /// Ways that could not be solved, a sentence each.
    pub unsolved: Vec<String>,
    /// How the figures are meant.
    pub notes: Vec<&'static str>,
}

/// What must not be done, whatever the figures say.
pub const NEVER: &str =
    "Never run the amp without a loudspeaker, and never plug one in or out while it is on.";

/// How the figures are meant.
pub const NOTES: [&str; 7] = [
    "Each line is the whole circuit solved again with these loudspeakers. What the valves see is reckoned from rated impedances; a loudspeaker's own impedance is several times as much at its resonance and rises towards the top.",
    "Clean power is a sine of 1 kHz at 5 % distortion, or the most that the amp gives where it stays below. Driven hard is 12 dB more at the jack than full output takes as the amp is, the same for every line. Watts are those of the output valve that gets hottest.",
    "The hard drive is a steady tone: a test, not music. Voltages are read 9600 times a second; the shortest spikes may be higher.",
    "A load within 2 : 1 of what the transformer is meant for is usually survived; beyond that it is not for playing (common practice, no source). Too low a load asks for current and is hard on anodes and cathodes; too high a load makes voltage and is hard on screens, sockets and the transformer's insulation.",
    "The damping factor is a loudspeaker's rated impedance over what it finds behind it at 400 Hz. At a low one its own resonance and its rise towards the top come out, as of a valve amp without feedback; a high one holds the cone.",
    NEVER,
    "That one loudspeaker is louder than another for the same watts is not modelled.",
];

/// Why there is no report.
#[derive(Clone, Debug, PartialEq)]
pub enum NoLoads {
    /// What is heard is no loudspeaker, or none behind an output transformer.
    NoLoudspeaker,
    /// The amp as it is has no operating point.
    NoOperatingPoint(NoOperatingPoint),
}

impl fmt::Display for NoLoads {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoLoads::NoLoudspeaker => f.write_str(
                "What is heard is no loudspeaker behind an output transformer: write the \
                 loudspeaker into the circuit file, between taps of the transformer's secondary, \
                 and name it as output.",
            ),
            NoLoads::NoOperatingPoint(fault) => fault.fmt(f),
        }
    }
}

impl std::error::Error for NoLoads {}

impl From<NoOperatingPoint> for NoLoads {
    fn from(fault: NoOperatingPoint) -> Self {
        NoLoads::NoOperatingPoint(fault)
    }
}

/// Works out every way of connecting loudspeakers to `circuit`. `go_on` is told the share that is
/// done and answers whether to go on; none when it says no.
///
/// # Errors
/// [`NoLoads`].
pub fn loads(
    circuit: &Circuit,
    catalogue: &Catalogue,
    go_on: GoOn<'_>,
) -> Option<Result<LoadReport, NoLoads>> {
    let nominal = match ways::loaded(circuit) {
        Ok(nominal) => nominal,
        Err(fault) => return Some(Err(fault)),
    };
    let ways = ways::ways(circuit, catalogue);
    // The amp as it is sets the drive of all others.
    let share = 1.0 / ways.len() as f64;
    let mut first = |done: f64| go_on(share * done);
    let hard_input_volts = match case::full_input(circuit, &mut first)? {
        Ok(volts) => HARD_FACTOR * volts,
        Err(fault) => return Some(Err(fault.into())),
    };
    let mut rest = |done: f64| go_on(share + (1.0 - share) * done);
    let found = on_all_cores(ways.len(), &mut rest, &|index, go_on| {
        case::case(&ways[index], hard_input_volts, go_on)
    })?;
    let mut report = LoadReport {
        amp: circuit.name().into(),
        transformer: circuit.part(nominal.transformer).designator.clone(),
        hard_input_volts,
        cases: Vec::new(),
        unsolved: Vec::new(),
        notes: NOTES.to_vec(),
    };
    for ((way, _), found) in ways.iter().zip(found) {
        match found {
            Ok(case) => report.cases.push(case),
            // The amp itself has no operating point.
            Err(fault) if *way == Way::AsItIs => return Some(Err(fault.into())),
            Err(fault) => report.unsolved.push(format!("{way}: {fault}")),
        }
    }
    words::add(&mut report);
    Some(Ok(report))
}
