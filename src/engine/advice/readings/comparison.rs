//! Readings judged one by one, and what would explain those that are off.

use super::healthy::Healthy;
use super::model::Model;
use super::report::{Compared, Judgement, Suspect};
use super::suspects::{Search, Start, Suspicion, search};
use super::words;
use crate::circuit::{Circuit, PartKind, Readings};
use crate::network::Values;
use crate::numeric::parallel::GoOn;
use crate::solve::OperatingPointSolver;
use crate::units::peak_from_rms;

/// Mains above which nobody's is, as a factor: 10 % up (IEC 60038, from memory).
const HIGHEST_MAINS: f64 = 1.10;
/// A reading of the wrong sign smaller than this may be a meter's offset or a stray, V.
const OFFSET_VOLTS: f64 = 1.0;
/// A fault is made larger by this factor to see how the readings move with it.
const LARGER: f64 = 1.02;
/// Readings are unlikely together from so many standard deviations of the squared distance above
/// its mean (a chi-square with one degree a reading: mean n, variance 2n).
const UNLIKELY: f64 = 4.0;

/// Readings beside what healthy amps give.
pub struct Comparison<'a> {
    model: &'a Model<'a>,
    healthy: Healthy,
    readings: &'a Readings,
    /// Readings, V.
    volts: Vec<f64>,
    /// What each says.
    judgements: Vec<Judgement>,
    /// Lowest and highest voltage that any point can have, V.
    pub reach: [f64; 2],
}

impl<'a> Comparison<'a> {
    /// Judges each reading by itself.
    pub fn new(model: &'a Model<'a>, healthy: Healthy, readings: &'a Readings) -> Self {
        let volts: Vec<f64> = readings.volts.iter().map(|r| r.volts).collect();
        let reach = reach_of_sources(&model.side.circuit, readings.meter.tolerance);
        let [bottom, top] = reach;
        let within = |i: usize| {
            let (band, meter) = (&healthy.bands[i], healthy.meter[i]);
            (band.p1 - meter..=band.p99 + meter).contains(&volts[i])
        };
        let judgements = (0..volts.len())
            .map(|i| match volts[i] {
                v if v > top + OFFSET_VOLTS || v < bottom - OFFSET_VOLTS => Judgement::Impossible,
                _ if within(i) => Judgement::Within,
                _ => Judgement::Outside,
            })
            .collect();
        Comparison {
            model,
            healthy,
            readings,
            volts,
            judgements,
            reach,
        }
    }

    /// Searches for what would explain the readings. One whose sign no fault gives turns out
    /// impossible; then all is searched again without it. None when given up.
    pub fn search(&mut self, go_on: GoOn<'_>) -> Option<Search> {
        let found = self.search_from(&self.healthy_start(), go_on)?;
        let outside = |i: &usize| self.judgements[*i] == Judgement::Outside;
        let turned: Vec<usize> = (0..self.volts.len())
            .filter(outside)
            .filter(|&i| self.is_wrong_way_round(&found, i))
            .collect();
        if turned.is_empty() {
            return Some(found);
        }
        for i in turned {
            self.judgements[i] = Judgement::Impossible;
        }
        self.search_from(&self.healthy_start(), go_on)
    }

    /// The amp of the file without a fault.
    fn healthy_start(&self) -> Start<'_> {
        Start {
            values: &self.model.side.values,
            read: &self.healthy.expected,
            direction: None,
        }
    }

    fn search_from(&self, start: &Start<'_>, go_on: GoOn<'_>) -> Option<Search> {
        let possible = |j: &Judgement| *j != Judgement::Impossible;
        let trusted: Vec<bool> = self.judgements.iter().map(possible).collect();
        let (model, healthy) = (self.model, &self.healthy);
        search(model, healthy, start, &self.volts, &trusted, go_on)
    }

    /// Whether a reading has the sign that neither healthy amps nor any single fault give.
    fn is_wrong_way_round(&self, found: &Search, i: usize) -> bool {
        let volts = self.volts[i];
        let [low, high] = found.reach[i];
        let furthest = if volts > 0.0 { high } else { -low };
        let turned = volts * self.healthy.expected[i] < 0.0;
        turned && volts.abs() > OFFSET_VOLTS && furthest < OFFSET_VOLTS
    }

    /// Whether readings at this squared distance fit no healthy amp together.
    pub fn is_too_far(&self, distance: f64) -> bool {
        let possible = |j: &&Judgement| **j != Judgement::Impossible;
        let count = self.judgements.iter().filter(possible).count() as f64;
        distance > count + UNLIKELY * (2.0 * count).sqrt()
    }

    /// Each reading beside what is expected; `circuit` names the nodes.
    pub fn compared(&self, circuit: &Circuit) -> Vec<Compared> {
        let unloaded = self.model.unloaded();
        let each = self.readings.volts.iter().enumerate();
        each.map(|(i, reading)| Compared {
            point: reading.point.clone(),
            node: circuit.nodes()[reading.node.0 as usize].clone(),
            volts: reading.volts,
            expected: self.healthy.expected[i],
            without_meter: unloaded[i],
            band: self.healthy.bands[i],
            meter: self.healthy.meter[i],
            judgement: self.judgements[i],
        })
        .collect()
    }

    /// What would explain the readings, the likeliest first.
    pub fn suspects(&self, found: &Search, compared: &[Compared]) -> Vec<Suspect> {
        let suspect = |suspicion| self.suspect(suspicion, found, &self.healthy.expected, compared);
        found.suspicions.iter().map(suspect).collect()
    }

    /// What would explain the residual if the first suspect is right; nothing where that leaves
    /// little. None when given up.
    pub fn besides(
        &self,
        found: &Search,
        compared: &[Compared],
        go_on: GoOn<'_>,
    ) -> Option<Vec<Suspect>> {
        let Some(first) = found.suspicions.first() else {
            return Some(Vec::new());
        };
        if !self.is_too_far(first.left) {
            return Some(Vec::new());
        }
        let (values, direction) = self.with_fault(first);
        let start = Start {
            values: &values,
            read: &first.read,
            direction: Some(&direction),
        };
        let residual = self.search_from(&start, go_on)?;
        let others = residual.suspicions.iter();
        let others = others.filter(|s| s.fault != first.fault);
        let suspect = |suspicion| self.suspect(suspicion, &residual, start.read, compared);
        Some(others.map(suspect).collect())
    }

    fn suspect(
        &self,
        suspicion: &Suspicion,
        found: &Search,
        read: &[f64],
        compared: &[Compared],
    ) -> Suspect {
        let circuit = &self.model.side.circuit;
        words::suspect(circuit, compared, suspicion, read, found.distance)
    }

    /// The values with a suspected fault in them, and how the readings move where it is a little
    /// larger; readings that are not trusted do not.
    fn with_fault(&self, suspicion: &Suspicion) -> (Values, Vec<f64>) {
        let model = self.model;
        let (network, side) = (model.network, model.side);
        let mut values = side.values.clone();
        let put = |number: f64, values: &mut Values| {
            let fault = suspicion.fault;
            fault.put(network, &side.circuit, &side.values, number, values);
        };
        put(LARGER * suspicion.number, &mut values);
        let larger = model.read(&values, &mut OperatingPointSolver::new(network));
        put(suspicion.number, &mut values);
        let larger = larger.unwrap_or_else(|| suspicion.read.clone());
        let rows = larger.iter().zip(&suspicion.read).zip(&self.judgements);
        let direction = rows.map(|((larger, read), judgement)| match judgement {
            Judgement::Impossible => 0.0,
            _ => larger - read,
        });
        (values, direction.collect())
    }
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
