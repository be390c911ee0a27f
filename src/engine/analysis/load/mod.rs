//! What each way of connecting loudspeakers does to the amp: the load that the output valves see,
//! clean power, what valves and loudspeakers stand, damping.
//!
//! Every way is a circuit of its own, with that loudspeaker in it, and all of it is solved again:
//! bias, supplies, feedback, the loudspeaker's impedance with its resonance. Only the nominal
//! figures come from rated impedances and turns.

mod behind;
mod case;
mod no_loads;
mod report;
mod ways;
mod words;

pub use behind::{DAMPING_HZ, behind_loudspeaker};
pub use case::{Driven, LoadCase, LoudspeakerLoad, Nominal};
pub use no_loads::NoLoads;
pub use report::{LoadReport, NEVER, NOTES};
pub use ways::{Way, loaded};

use crate::analysis::drive::HARD_FACTOR;
use crate::circuit::Circuit;
use crate::device::Catalogue;
use crate::numeric::parallel::{GoOn, on_all_cores};
use crate::solve::solved::SolvedAmp;

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
    let amp = match SolvedAmp::new(circuit, None) {
        Ok(amp) => amp,
        Err(fault) => return Some(Err(fault.into())),
    };
    let amp = match amp.fit_to_play() {
        Ok(amp) => amp,
        Err(fault) => return Some(Err(fault.into())),
    };
    // The amp as it is sets the drive of all others.
    let share = 1.0 / ways.len() as f64;
    let mut first = |done: f64| go_on(share * done);
    let hard_input_volts = HARD_FACTOR * case::full_input(&amp, &mut first)?;
    let mut others = |done: f64| go_on(share + (1.0 - share) * done);
    let found = on_all_cores(ways.len(), &mut others, &|index, go_on| {
        let (way, circuit) = &ways[index];
        let changed = match way {
            Way::AsItIs => None,
            _ => match SolvedAmp::new(circuit, None) {
                Ok(changed) => Some(changed),
                Err(fault) => return Some(Err(fault)),
            },
        };
        let solved = changed.as_ref().unwrap_or(&amp);
        case::case(way, solved, hard_input_volts, go_on).map(Ok)
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
            Err(fault) => report.unsolved.push(format!("{way}: {fault}")),
        }
    }
    words::add(&mut report);
    Some(Ok(report))
}
