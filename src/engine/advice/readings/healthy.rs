//! What the same meter would read on many healthy amps of the model: a band for each reading, and
//! how the readings vary together.

use super::model::Model;
use crate::advice::spread::{Band, Plan, draw};
use crate::circuit::{Circuit, Readings};
use crate::numeric::cholesky::Cholesky;
use crate::numeric::parallel::{GoOn, on_all_cores};
use crate::solve::OperatingPointSolver;

/// Amps drawn: the first and the last percentile then stand on five amps each.
pub const AMPS: usize = 500;
/// Seed of the draw.
const SEED: u64 = 1;
/// How far the mains may be off, as a share (common practice, no source).
pub const MAINS: f64 = 0.05;
/// Amps drawn at once.
const GROUP: usize = 25;
/// What one reading may be off that the others of the same meter are not, as a share (own choice:
/// most of a meter's fault is common to its readings).
const OWN_SHARE: f64 = 0.003;

/// Healthy amps as the meter reads them.
pub struct Healthy {
    /// Readings of the amp of the file.
    pub expected: Vec<f64>,
    /// A band for each.
    pub bands: Vec<Band>,
    /// What the meter may be off at each, V.
    pub meter: Vec<f64>,
    covariance: Cholesky,
}

/// The plan of what still varies in a circuit whose measured parts are known.
pub fn plan(circuit: &Circuit, readings: &Readings) -> Plan {
    let mut plan = Plan::new(circuit, MAINS);
    for change in &readings.parts {
        for &id in &change.parts {
            plan.know(id);
        }
    }
    plan
}

impl Healthy {
    /// Draws amps. None when given up, or when the amp of the file has no solution with the meter
    /// on it.
    pub fn new(model: &Model, readings: &Readings, go_on: GoOn<'_>) -> Option<Healthy> {
        let plan = plan(&model.side.circuit, readings);
        let nominal = &model.side.values;
        let expected = model.read(nominal, &mut OperatingPointSolver::new(model.network))?;
        let groups = on_all_cores(AMPS.div_ceil(GROUP), go_on, &|group, go_on| {
            let mut solver = OperatingPointSolver::new(model.network);
            let mut values = nominal.clone();
            let amps = group * GROUP..((group + 1) * GROUP).min(AMPS);
            let read = amps.filter_map(|amp| {
                let luck = plan.luck(SEED, amp);
                draw(
                    model.network,
                    &model.side.circuit,
                    nominal,
                    &luck,
                    &mut values,
                );
                model.read(&values, &mut solver)
            });
            let read: Vec<Vec<f64>> = read.collect();
            go_on(1.0).then_some(read)
        })?;
        let amps: Vec<Vec<f64>> = groups.into_iter().flatten().collect();
        let column = |i: usize| amps.iter().map(|amp| amp[i]).collect();
        let bands = expected.iter().enumerate();
        let bands: Vec<Band> = bands
            .map(|(i, &volts)| Band::of(volts, column(i)))
            .collect();
        let tolerance = readings.meter.tolerance;
        let meter = readings.volts.iter().zip(&expected);
        let meter: Vec<f64> = meter
            .map(|(r, volts)| tolerance * r.volts.abs().max(volts.abs()) + 0.5 * r.step)
            .collect();
        let covariance = covariance(&amps, &expected, readings)?;
        Some(Healthy {
            expected,
            bands,
            meter,
            covariance,
        })
    }

    /// Squared distance of the readings from what a circuit would read, in units of what healthy
    /// amps and the meter make them differ by: about as much as there are readings for a healthy
    /// amp (P. Mahalanobis, Proc. Nat. Inst. Sci. India 2(1), 1936; from memory).
    pub fn distance(&self, readings: &[f64], read: &[f64]) -> f64 {
        let off: Vec<f64> = readings.iter().zip(read).map(|(a, b)| a - b).collect();
        self.covariance.distance(&off)
    }

    /// What a circuit would read once a fault that is in it already has been made so much larger
    /// or smaller that it comes nearest to the readings; `direction` is how that fault moves them.
    pub fn moved_along(&self, readings: &[f64], mut read: Vec<f64>, direction: &[f64]) -> Vec<f64> {
        let off: Vec<f64> = readings.iter().zip(&read).map(|(a, b)| a - b).collect();
        let share = self.covariance.share_along(&off, direction);
        let pairs = read.iter_mut().zip(direction);
        pairs.for_each(|(volts, along)| *volts += share * along);
        read
    }
}

/// Covariance of the readings over healthy amps and over meters. Even within ±t a share has the
/// variance t²/3; a last digit d has d²/12.
fn covariance(amps: &[Vec<f64>], expected: &[f64], readings: &Readings) -> Option<Cholesky> {
    let count = amps.len().max(1) as f64;
    let means: Vec<f64> = (0..expected.len())
        .map(|i| amps.iter().map(|amp| amp[i]).sum::<f64>() / count)
        .collect();
    let gain = readings.meter.tolerance.powi(2) / 3.0;
    let rows: Vec<Vec<f64>> = (0..expected.len())
        .map(|i| {
            (0..=i)
                .map(|j| {
                    let products = amps.iter().map(|a| (a[i] - means[i]) * (a[j] - means[j]));
                    let shared = products.sum::<f64>() / count + gain * expected[i] * expected[j];
                    let own = (OWN_SHARE * readings.volts[i].volts).powi(2) / 3.0
                        + readings.volts[i].step.powi(2) / 12.0;
                    shared + if i == j { own } else { 0.0 }
                })
                .collect()
        })
        .collect();
    Cholesky::new(&rows)
}
