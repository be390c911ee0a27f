//! Readings that somebody has, against what healthy amps of the model give: within, outside or
//! impossible, and the faults most able to explain what is off.
//!
//! Takes a circuit as the amp should be, and a file of readings; parts that were measured are put
//! in at their true values and no longer vary. The meter's own load is solved for exactly. A fault
//! is judged by all readings jointly: by how near the whole row comes, in units of what parts,
//! valves, mains and meter make healthy rows differ by, once the fault is in the circuit.

mod as_found;
mod fault;
mod healthy;
mod model;
mod report;
mod suspects;
mod words;

use super::safety;
use super::spread::tolerance;
use crate::circuit::{Circuit, PartId, PartKind, Readings};
use crate::network::Values;
use crate::numeric::parallel::GoOn;
use crate::solve::OperatingPointSolver;
use crate::solve::solved::SolvedAmp;
use crate::units::peak_from_rms;
pub use as_found::{AsFound, as_found};
use healthy::Healthy;
pub use healthy::{AMPS, MAINS};
use model::Model;
pub use report::{Compared, Judgement, MeasuredReport, NoneWithMeter, PartMeasured, Suspect};
use suspects::{Search, Start, Suspicion, search};

/// Mains above which nobody's is, as a factor: 10 % up (IEC 60038, from memory).
const HIGHEST_MAINS: f64 = 1.10;
/// A reading of the wrong sign smaller than this may be a meter's offset or a stray, V.
const OFFSET_VOLTS: f64 = 1.0;
/// A fault is made larger by this factor to see how the readings move with it.
const LARGER: f64 = 1.02;
/// Readings are unlikely together from so many standard deviations of the squared distance above
/// its mean (a chi-square with one degree a reading: mean n, variance 2n).
const UNLIKELY: f64 = 4.0;

/// Compares readings with `circuit`, which is the amp as it should be: as found, or as left;
/// `amp` is the same with the parts that were measured ([`Circuit::with_changes`]).
/// `go_on` is told the share that is done; none when it says no.
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
    let parts_put_in = &amp.as_found.circuit;
    if !go_on(0.0) {
        return None;
    }
    let model = Model::new(&amp.network, &amp.as_found, readings);
    let mut given_up = false;
    let mut told = |share: f64| {
        given_up |= !go_on(share);
        !given_up
    };
    let healthy = Healthy::new(&model, readings, &mut |share| told(0.5 * share));
    let healthy = match healthy {
        Some(healthy) => healthy,
        None if given_up => return None,
        None => return Some(Err(NoneWithMeter)),
    };
    let volts: Vec<f64> = readings.volts.iter().map(|r| r.volts).collect();
    let within = |i: usize| {
        let (band, meter) = (&healthy.bands[i], healthy.meter[i]);
        (band.p1 - meter..=band.p99 + meter).contains(&volts[i])
    };
    let [bottom, top] = reach_of_sources(parts_put_in, readings.meter.tolerance);
    let mut judgements: Vec<Judgement> = (0..volts.len())
        .map(|i| match volts[i] {
            v if v > top + OFFSET_VOLTS || v < bottom - OFFSET_VOLTS => Judgement::Impossible,
            _ if within(i) => Judgement::Within,
            _ => Judgement::Outside,
        })
        .collect();
    let trust = |judgements: &[Judgement]| -> Vec<bool> {
        let good = |j: &Judgement| *j != Judgement::Impossible;
        judgements.iter().map(good).collect()
    };
    let mut look = |start: &Start, judgements: &[Judgement]| {
        search(
            &model,
            &healthy,
            start,
            &volts,
            &trust(judgements),
            &mut |share| told(0.5 + 0.5 * share),
        )
    };
    let sound = Start {
        values: &amp.as_found.values,
        read: &healthy.expected,
        direction: None,
    };
    let mut found = look(&sound, &judgements)?;
    let mut turned = false;
    for (i, judgement) in judgements.iter_mut().enumerate() {
        if *judgement == Judgement::Outside && wrong_way_round(volts[i], &healthy, &found, i) {
            *judgement = Judgement::Impossible;
            turned = true;
        }
    }
    if turned {
        found = look(&sound, &judgements)?;
    }
    let count = judgements
        .iter()
        .filter(|j| **j != Judgement::Impossible)
        .count() as f64;
    let too_far = |distance: f64| distance > count + UNLIKELY * (2.0 * count).sqrt();
    let unlikely = too_far(found.distance);
    let off = unlikely || judgements.contains(&Judgement::Outside);
    let unloaded = model.unloaded();
    let compared: Vec<Compared> = readings
        .volts
        .iter()
        .enumerate()
        .map(|(i, reading)| Compared {
            point: reading.point.clone(),
            node: circuit.nodes()[reading.node.0 as usize].clone(),
            volts: reading.volts,
            expected: healthy.expected[i],
            without_meter: unloaded[i],
            band: healthy.bands[i],
            meter: healthy.meter[i],
            judgement: judgements[i],
        })
        .collect();
    let suspects = match off {
        true => found
            .suspicions
            .iter()
            .map(|s| words::suspect(parts_put_in, &compared, s, sound.read, found.distance))
            .collect(),
        false => Vec::new(),
    };
    let mut besides = Vec::new();
    if let Some(first) = found.suspicions.first()
        && off
        && too_far(first.left)
    {
        let (values, direction) = with_fault(&model, parts_put_in, first, &judgements);
        let start = Start {
            values: &values,
            read: &first.read,
            direction: Some(&direction),
        };
        let rest = look(&start, &judgements)?;
        besides = rest
            .suspicions
            .iter()
            .filter(|s| s.fault != first.fault)
            .map(|s| words::suspect(parts_put_in, &compared, s, start.read, rest.distance))
            .collect();
    }
    Some(Ok(MeasuredReport {
        amp: circuit.name().into(),
        compared_with,
        about: readings.about.clone(),
        cautions: safety::CAUTIONS,
        parts: parts(circuit, parts_put_in, readings),
        sentences: words::sentences(&compared, unlikely, &suspects, [bottom, top]),
        notes: words::notes(circuit, readings, &compared),
        readings: compared,
        unlikely,
        suspects,
        besides,
    }))
}

/// The values with a suspected fault in them, and how the readings move where it is a little
/// larger; readings that are not trusted do not.
fn with_fault(
    model: &Model,
    circuit: &Circuit,
    suspicion: &Suspicion,
    judgements: &[Judgement],
) -> (Values, Vec<f64>) {
    let nominal = &model.side.values;
    let (fault, number) = (suspicion.fault, suspicion.number);
    let mut values = nominal.clone();
    fault.put(
        model.network,
        circuit,
        nominal,
        LARGER * number,
        &mut values,
    );
    let larger = model.read(&values, &mut OperatingPointSolver::new(model.network));
    fault.put(model.network, circuit, nominal, number, &mut values);
    let larger = larger.unwrap_or_else(|| suspicion.read.clone());
    let rows = larger.iter().zip(&suspicion.read).zip(judgements);
    let direction = rows.map(|((larger, read), judgement)| match judgement {
        Judgement::Impossible => 0.0,
        _ => larger - read,
    });
    (values, direction.collect())
}

/// Lowest and highest voltage that any point can have, mains and meter at their highest: nothing
/// in an amp at rest stands beyond its sources.
fn reach_of_sources(circuit: &Circuit, meter: f64) -> [f64; 2] {
    let (mut bottom, mut top, mut others) = (0.0_f64, 0.0_f64, 0.0);
    for part in circuit.parts() {
        match &part.kind {
            PartKind::Supply { volts, .. } => top = top.max(*volts),
            PartKind::BiasSupply { volts, .. } => bottom = bottom.min(*volts),
            PartKind::Rectifier { winding_volts, .. } => {
                top = top.max(peak_from_rms(*winding_volts));
            }
            PartKind::VoltageSource { volts, .. } => others += volts.abs(),
            _ => {}
        }
    }
    let more = HIGHEST_MAINS * (1.0 + meter);
    [more * (bottom - others), more * (top + others)]
}

/// Whether a reading has the sign that neither healthy amps nor any single fault give.
fn wrong_way_round(volts: f64, healthy: &Healthy, found: &Search, i: usize) -> bool {
    let [low, high] = found.reach[i];
    let furthest = if volts > 0.0 { high } else { -low };
    volts * healthy.expected[i] < 0.0 && volts.abs() > OFFSET_VOLTS && furthest < OFFSET_VOLTS
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
