//! Which part sets the idle of the output valves, and which value gives a chosen idle.
//!
//! The part is the one in the bias path whose change moves the idle most; where each output valve
//! has its own, they move together. The value is found by bisection on solved operating points, so
//! that it holds for this amp with average valves.

use super::bias_advice::{BiasAdvice, BiasChoice, IdlePoint, NoAdvice};
use super::bias_method::{BiasMethod, biases};
use super::bias_path::{Idle, IdleSolver, limits, path};
use super::bias_words as words;
use super::states::{MAINS_HIGH, MAINS_LOW, with_mains, with_spread};
use crate::circuit::{GROUND, NodeId, Part, PartId, PartKind, electrodes, output_sections};
use crate::network::{Network, Values};
use crate::solve::solved::SolvedCircuit;
use crate::units::Series;

/// Valves that draw less or more than average, as a share of the current: new valves are sold
/// within about 30 % (makers' sheets of current production, seen as secondary copies).
pub const SPREAD: [f64; 2] = [0.7, 1.3];

/// Part ohms that are tried: so many times smaller and larger.
const REACH: f64 = 30.0;
/// Share of the part's value whose effect is tried, and the step of a rotation.
const TRIED: f64 = 0.05;
/// Less than this share of the idle is no effect.
const NO_EFFECT: f64 = 2e-3;
/// The two legs of a divider move the bias alike: the one to ground is preferred while its effect is
/// no less than the other's divided by this (own design: it fails safe).
const GROUNDED: f64 = 1.3;
/// Halvings: the value is then within a ten-thousandth.
const HALVINGS: usize = 16;

/// The part that sets the idle, and the value that brings the hottest output valve to
/// `target_percent` of its anode's limit; without one to 70 % with fixed bias (85 % of a single
/// valve) and 90 % with cathode bias.
///
/// # Errors
/// [`NoAdvice`].
pub fn bias_for(
    network: &Network,
    side: &SolvedCircuit,
    target_percent: Option<f64>,
) -> Result<BiasAdvice, NoAdvice> {
    let output = output_sections(&side.circuit);
    if output.is_empty() {
        return Err(NoAdvice::NoOutputValve);
    }
    let limits = limits(side, &output).ok_or(NoAdvice::NoLimit)?;
    let method = method(network, side, &output);
    let target = target_percent.unwrap_or(words::practice(method, output.len()).0);
    if !(1.0..=200.0).contains(&target) {
        return Err(NoAdvice::BadTarget);
    }
    let mut search = IdleSearch {
        solver: IdleSolver::new(network, side, output.clone()),
        network,
        side,
        limits,
        parts: Vec::new(),
        rotation: false,
    };
    let mut refused = NoAdvice::NothingMovesIt;
    for rotation in [true, false] {
        search.rotation = rotation;
        let Some(larger_is_colder) = search.choose(&output) else {
            continue;
        };
        match search.find(target, larger_is_colder) {
            Ok(values) => {
                let advice = search.advice(&output, method, target, larger_is_colder, values);
                return advice.ok_or(NoAdvice::NothingMovesIt);
            }
            Err(fault) => refused = fault,
        }
    }
    Err(refused)
}

/// The method of the output valves; where they differ, both.
fn method(network: &Network, side: &SolvedCircuit, output: &[PartId]) -> BiasMethod {
    let all = biases(network, side);
    let mut methods = all
        .iter()
        .filter(|b| output.contains(&b.part))
        .map(|b| b.method);
    let first = methods.next().unwrap_or(BiasMethod::Nothing);
    if methods.all(|m| m == first) {
        first
    } else {
        BiasMethod::Both
    }
}

/// What the search works on.
struct IdleSearch<'a> {
    solver: IdleSolver<'a>,
    network: &'a Network,
    side: &'a SolvedCircuit,
    /// Anode limits of the output valves, W.
    limits: Vec<f64>,
    /// The parts that set the idle.
    parts: Vec<PartId>,
    /// Whether pots are turned, or else resistors changed.
    rotation: bool,
}

impl IdleSearch<'_> {
    fn part(&self, id: PartId) -> &Part {
        self.side.circuit.part(id)
    }

    /// A part's adjustable value: ohms, or a rotation.
    fn value(&self, id: PartId) -> Option<f64> {
        match (&self.part(id).kind, self.rotation) {
            (PartKind::Resistor { ohms, .. }, false) => Some(*ohms),
            (PartKind::Pot { set, .. }, true) => Some(*set),
            _ => None,
        }
    }

    /// The circuit's values with other values of some parts.
    fn values(&self, changed: &[(PartId, f64)]) -> Values {
        let mut values = self.side.values.clone();
        for &(id, value) in changed {
            let mut part = self.part(id).clone();
            match &mut part.kind {
                PartKind::Resistor { ohms, .. } => *ohms = value,
                PartKind::Pot { set, .. } => *set = value,
                _ => {}
            }
            self.network.update_part(&mut values, id, &part);
        }
        values
    }

    fn grounded(&self, id: PartId) -> bool {
        matches!(self.part(id).kind, PartKind::Resistor { between, .. } if between.contains(&GROUND))
    }

    /// Chooses the parts; whether larger is colder. None where nothing moves the idle.
    fn choose(&mut self, output: &[PartId]) -> Option<bool> {
        let mut from: Vec<NodeId> = Vec::new();
        for &id in output {
            let valve = electrodes(self.part(id))?;
            from.extend([valve.grid, valve.cathode]);
        }
        let found = self.solver.at_rest();
        let mut effects: Vec<(PartId, Vec<f64>)> = Vec::new();
        for id in path(&self.side.circuit, &from) {
            let Some(value) = self.value(id) else {
                continue;
            };
            let (tried, sign) = match self.rotation {
                false => (value * (1.0 + TRIED), 1.0),
                true if value + TRIED <= 1.0 => (value + TRIED, 1.0),
                true => (value - TRIED, -1.0),
            };
            let Some(idle) = self.solver.idle(&self.values(&[(id, tried)])) else {
                continue;
            };
            let pairs = idle.watts.iter().zip(&found.watts);
            effects.push((id, pairs.map(|(a, b)| sign * (a - b)).collect()));
        }
        self.parts.clear();
        let mut sum = 0.0;
        for (valve, watts) in found.watts.iter().enumerate() {
            let strength = |(id, effect): &&(PartId, Vec<f64>)| {
                let factor = if self.grounded(*id) { GROUNDED } else { 1.0 };
                factor * effect[valve].abs()
            };
            let strongest = effects
                .iter()
                .max_by(|a, b| strength(a).total_cmp(&strength(b)))?;
            let effect = strongest.1[valve];
            if effect.abs() < NO_EFFECT * watts.abs().max(1e-3) {
                return None;
            }
            sum += effect;
            if !self.parts.contains(&strongest.0) {
                self.parts.push(strongest.0);
            }
        }
        Some(sum < 0.0)
    }

    /// The parts at `x`: a common factor of their ohms, or their rotation.
    fn at(&self, x: f64) -> Vec<(PartId, f64)> {
        let each = |&id: &PartId| match self.rotation {
            true => (id, x),
            false => (id, self.value(id).unwrap_or(1.0) * x),
        };
        self.parts.iter().map(each).collect()
    }

    fn percent(&mut self, x: f64) -> Option<f64> {
        let values = self.values(&self.at(x));
        let idle = self.solver.idle(&values)?;
        Some(self.point(&idle).percent)
    }

    /// The hottest valve of an idle.
    fn point(&self, idle: &Idle) -> IdlePoint {
        let share = |i: &usize| idle.watts[*i] / self.limits[*i];
        let hottest = (0..idle.watts.len()).max_by(|a, b| share(a).total_cmp(&share(b)));
        let i = hottest.unwrap_or(0);
        IdlePoint {
            watts: idle.watts[i],
            percent: 100.0 * share(&i),
            cathode_milliamps: 1e3 * idle.amps[i],
            bias_volts: idle.grid_volts[i],
        }
    }

    /// The values that meet the target.
    fn find(
        &mut self,
        target: f64,
        larger_is_colder: bool,
    ) -> Result<Vec<(PartId, f64)>, NoAdvice> {
        let mut ends: [f64; 2] = match self.rotation {
            true => [0.0, 1.0],
            false => [1.0 / REACH, REACH],
        };
        if larger_is_colder {
            ends.reverse();
        }
        let [mut cold, mut hot] = ends;
        let name = self.part(self.parts[0]).designator.clone();
        let out_of_reach = |low: f64, high: f64| NoAdvice::OutOfReach {
            part: name.clone(),
            reach: [low, high],
        };
        // Where an end has no solution the target lies on this side of it.
        let coldest = self.percent(cold).unwrap_or(0.0);
        let hottest = self.percent(hot).unwrap_or(f64::INFINITY);
        if !(coldest <= target && target <= hottest) {
            return Err(out_of_reach(coldest, hottest));
        }
        for _ in 0..HALVINGS {
            let middle = match self.rotation {
                true => 0.5 * (cold + hot),
                false => (cold * hot).sqrt(),
            };
            match self.percent(middle) {
                Some(percent) if percent <= target => cold = middle,
                _ => hot = middle,
            }
        }
        Ok(self.at(cold))
    }

    /// What some values bring.
    fn choice(
        &mut self,
        changed: &[(PartId, f64)],
        series: Option<&'static str>,
    ) -> Option<BiasChoice> {
        let values = self.values(changed);
        let idle = self.solver.idle(&values)?;
        let part_watts = changed.iter().map(|&(id, _)| {
            let range = self.network.branches_of(id);
            let heat = range.map(|branch| {
                let volts =
                    crate::network::assemble::branch_volts(self.network, branch, &idle.solution);
                values.branches[branch].at_rest().siemens * volts * volts
            });
            heat.sum::<f64>()
        });
        let part_watts = part_watts.fold(0.0, f64::max);
        let output = self.solver.output().to_vec();
        let spread = SPREAD.map(|share| with_spread(self.network, &output, &values, share));
        Some(BiasChoice {
            values: changed.iter().map(|c| c.1).collect(),
            series,
            idle: self.point(&idle),
            low_mains: self.point_of(&with_mains(&values, MAINS_LOW)),
            high_mains: self.point_of(&with_mains(&values, MAINS_HIGH)),
            weak_valves: self.point_of(&spread[0]),
            strong_valves: self.point_of(&spread[1]),
            part_watts,
            in_words: String::new(),
        })
    }

    fn point_of(&mut self, values: &Values) -> Option<IdlePoint> {
        let idle = self.solver.idle(values)?;
        Some(self.point(&idle))
    }

    /// The next value of a series on the cool side of each part's.
    fn preferred(
        &self,
        exact: &[(PartId, f64)],
        series: Series,
        larger: bool,
    ) -> Vec<(PartId, f64)> {
        let each = |&(id, value): &(PartId, f64)| match (series.contains(value), larger) {
            (true, _) => (id, value),
            (false, true) => (id, series.next(value)),
            (false, false) => (id, series.previous(value)),
        };
        exact.iter().map(each).collect()
    }

    fn advice(
        &mut self,
        output: &[PartId],
        method: BiasMethod,
        target: f64,
        larger_is_colder: bool,
        exact: Vec<(PartId, f64)>,
    ) -> Option<BiasAdvice> {
        let standing = |&id: &PartId| Some((id, self.value(id)?));
        let standing: Vec<(PartId, f64)> = self.parts.iter().filter_map(standing).collect();
        let name = |id: &PartId| self.part(*id).designator.clone();
        let mut advice = BiasAdvice {
            valves: output.iter().map(name).collect(),
            method,
            system: electrodes(self.part(output[0]))
                .and_then(|valve| valve.valve.ratings.first())
                .map(|ratings| ratings.system),
            target_percent: target,
            target_in_words: words::target(method, output.len(), target),
            parts: self.parts.iter().map(name).collect(),
            role: self.part(self.parts[0]).particulars.role().to_string(),
            rotation: self.rotation,
            larger_is_colder,
            now: self.choice(&standing, None)?,
            exact: self.choice(&exact, None)?,
            preferred: Vec::new(),
            sentences: Vec::new(),
        };
        if !self.rotation {
            let mut tried: Vec<Vec<(PartId, f64)>> = Vec::new();
            for (series, name) in [(Series::E12, "E12"), (Series::E24, "E24")] {
                let values = self.preferred(&exact, series, larger_is_colder);
                if !tried.contains(&values) {
                    advice.preferred.extend(self.choice(&values, Some(name)));
                    tried.push(values);
                }
            }
        }
        words::fill(&mut advice);
        Some(advice)
    }
}
