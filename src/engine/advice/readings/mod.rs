//! Readings that somebody has, against what healthy amps of the model give: within, outside or
//! impossible, and the faults most able to explain what is off.
//!
//! Takes a circuit as the amp should be, and a file of readings; parts that were measured are put
//! in at their true values and no longer vary. The meter's own load is solved for exactly. A fault
//! is judged by all readings jointly: by how near the whole row comes, in units of what parts,
//! valves, mains and meter make healthy rows differ by, once the fault is in the circuit.

mod as_found;
mod comparison;
mod fault;
mod healthy;
mod model;
mod report;
mod suspects;
mod words;

use super::safety;
use super::spread::tolerance;
use crate::circuit::{Circuit, PartId, Readings};
use crate::numeric::parallel::GoOn;
use crate::solve::solved::SolvedAmp;
pub use as_found::{AsFound, as_found};
use comparison::Comparison;
use healthy::Healthy;
pub use healthy::{AMPS, MAINS};
use model::Model;
pub use report::{Compared, Judgement, MeasuredReport, NoneWithMeter, PartMeasured, Suspect};

/// Compares readings with `circuit`, which is the amp as it should be: as found, or as left; `amp`
/// is the same with the parts that were measured ([`Circuit::with_changes`]). `go_on` is told the
/// share that is done; none when it says no.
///
/// # Errors
/// [`NoneWithMeter`].
pub fn measured(
    circuit: &Circuit,
    readings: &Readings,
    compared_with: &'static str,
    amp: &SolvedAmp,
    go_on: GoOn<'_>,
) -> Option<Result<MeasuredReport, NoneWithMeter>> {
    if !go_on(0.0) {
        return None;
    }
    let model = Model::new(&amp.network, &amp.as_found, readings);
    let mut given_up = false;
    let mut on = |share: f64| {
        given_up |= !go_on(share);
        !given_up
    };
    let healthy = match Healthy::new(&model, readings, &mut |share| on(0.5 * share)) {
        Some(healthy) => healthy,
        None if given_up => return None,
        None => return Some(Err(NoneWithMeter)),
    };
    let mut comparison = Comparison::new(&model, healthy, readings);
    let mut searching = |share: f64| on(0.5 + 0.5 * share);
    let found = comparison.search(&mut searching)?;
    let unlikely = comparison.is_too_far(found.distance);
    let compared = comparison.compared(circuit);
    let off = unlikely || compared.iter().any(|c| c.judgement == Judgement::Outside);
    let (suspects, besides) = match off {
        true => (
            comparison.suspects(&found, &compared),
            comparison.besides(&found, &compared, &mut searching)?,
        ),
        false => (Vec::new(), Vec::new()),
    };
    Some(Ok(MeasuredReport {
        amp: circuit.name().into(),
        compared_with,
        about: readings.about.clone(),
        cautions: safety::CAUTIONS,
        parts: parts(circuit, &amp.as_found.circuit, readings),
        sentences: words::sentences(&compared, unlikely, &suspects, comparison.reach),
        notes: words::notes(circuit, readings, &compared),
        readings: compared,
        unlikely,
        suspects,
        besides,
    }))
}

/// The parts that were measured beside the file.
fn parts(file: &Circuit, put_in: &Circuit, readings: &Readings) -> Vec<PartMeasured> {
    let ids = readings
        .parts
        .iter()
        .flat_map(|change| change.parts.iter().copied());
    ids.map(|id: PartId| {
        let value = |circuit: &Circuit| words::value(circuit, id);
        let within = tolerance(file, id).zip(words::ratio(file, put_in, id));
        let within = within.map(|((share, _), ratio)| (ratio - 1.0).abs() <= share * 1.000_001);
        PartMeasured {
            designator: file.part(id).designator.clone(),
            file: value(file),
            measured: value(put_in),
            within,
            sentence: words::part(file, put_in, id, within),
        }
    })
    .collect()
}
