//! Every valve section against its printed limits.
//!
//! Limits of the design-centre system hold at nominal mains and allow for its swings; those of the
//! design-maximum system must also hold at high mains (rating systems as defined by the makers'
//! associations of the USA, 1957, from memory). A limit for a cold valve applies before current
//! flows, at high mains.

use super::bias_method::{Bias, BiasMethod};
use super::finding::{Finding, Limit, Standing, When, distinct, worst};
use super::limited::{LimitSource, Limited};
use super::lines::Line;
use super::states::States;
use crate::analysis::stress::{PartStress, Stress};
use crate::circuit::{Electrodes, NodeId, PartId, electrodes};
use crate::device::{RatingSystem, Ratings};
use crate::network::Network;
use crate::solve::solved::SolvedCircuit;
use serde::Serialize;

/// One valve section and its limits.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ValveRatings {
    /// Designator.
    pub designator: String,
    /// Type number.
    pub valve: String,
    /// Whether it feeds the output transformer.
    pub output: bool,
    /// Where its bias comes from.
    pub bias: BiasMethod,
    /// Grid to cathode at rest, V.
    pub bias_volts: f64,
    /// Rating system of its limits; none where none are known.
    #[serde(serialize_with = "RatingSystem::serialize_known")]
    pub system: Option<RatingSystem>,
    /// Where they are printed, and how well that was seen.
    pub source: String,
    /// How hot an output valve idles, beside common practice; put the designator and a colon before
    /// it. None for other valves.
    pub idle: Option<String>,
    /// Its quantities.
    pub lines: Vec<Line>,
}

/// What a section is judged from.
pub struct Seen<'a> {
    /// Equations.
    pub network: &'a Network,
    /// The circuit.
    pub side: &'a SolvedCircuit,
    /// Its states at rest.
    pub states: &'a States,
    /// What parts stand in those states: at rest, high mains, cold.
    pub standing: &'a [Option<Stress>; 3],
    /// While the guitar plays.
    pub phrase: Option<&'a Stress>,
    /// On a steady sine.
    pub sine: Option<&'a Stress>,
}

impl Seen<'_> {
    /// What one part stands in a state.
    pub fn part(&self, id: PartId, when: When) -> Option<&PartStress> {
        Some(self.stress(when)?.of(id))
    }

    /// What all parts stand in a state.
    pub fn stress(&self, when: When) -> Option<&Stress> {
        match when {
            When::AtRest => self.standing[0].as_ref(),
            When::HighMains => self.standing[1].as_ref(),
            When::Cold => self.standing[2].as_ref(),
            When::Phrase => self.phrase,
            When::Sine => self.sine,
            When::Hard => None,
        }
    }

    /// Fills a line with a figure of each state.
    pub fn filled(&self, mut line: Line, id: PartId, of: impl Fn(&PartStress) -> f64) -> Line {
        let figure = |when| self.part(id, when).map(&of);
        line.at_rest = figure(When::AtRest);
        line.high_mains = figure(When::HighMains);
        line.phrase = figure(When::Phrase);
        line.sine = figure(When::Sine);
        line
    }

    /// Volts between two nodes in a state at rest.
    pub fn volts(&self, when: When, from: NodeId, to: NodeId) -> Option<f64> {
        let solution = match when {
            When::AtRest => Some(&self.states.nominal),
            When::HighMains => self.states.high.as_ref(),
            When::Cold => self.states.cold.as_ref(),
            When::Phrase | When::Sine | When::Hard => None,
        }?;
        let at = |node| solution[self.network.position(node)];
        Some(at(from) - at(to))
    }
}

/// A section's quantities, and those that are over or near their limits.
///
/// `output`: how many valves feed the output transformer where this is one of them.
pub fn valve(seen: &Seen<'_>, bias: &Bias, output: Option<usize>) -> (ValveRatings, Vec<Finding>) {
    let part = seen.side.circuit.part(bias.part);
    let none = Ratings::default();
    let Some(valve) = electrodes(part) else {
        unreachable!("a bias belongs to a valve section")
    };
    let known = valve.valve.ratings.first();
    let ratings = known.unwrap_or(&none);
    let name = part.designator.as_str();
    let judge = Judge { ratings, name };
    let mut found = Vec::new();
    let mut lines = Vec::new();

    let anode = Line::new(Limited::AnodeDissipation, "W", ratings.anode_watts);
    let anode = seen.filled(anode, bias.part, |s| s.watts);
    found.push(judge.steady(&anode));
    lines.push(anode);
    if valve.screen.is_some() {
        let mut screen = Line::new(Limited::ScreenDissipation, "W", ratings.screen_watts);
        screen.brief_limit = ratings.screen_peak_watts;
        let screen = seen.filled(screen, bias.part, |s| s.screen_watts);
        found.push(judge.screen(&screen));
        lines.push(screen);
    }
    let limit = ratings.cathode_amps.map(|a| 1e3 * a);
    let mean = Line::new(Limited::MeanCathodeCurrent, "mA", limit);
    let mean = seen.filled(mean, bias.part, |s| 1e3 * s.amps);
    found.push(judge.steady(&mean));
    lines.push(mean);
    let peak = Line::new(Limited::PeakCathodeCurrent, "mA", None);
    lines.push(seen.filled(peak, bias.part, |s| 1e3 * s.peak_amps));
    volts(seen, &judge, &valve, &mut lines, &mut found);
    let mut grid = Line::new(
        Limited::NegativeGridVoltage,
        "V",
        ratings.grid_negative_volts,
    );
    grid.brief_limit = ratings.grid_negative_peak_volts;
    let grid = seen.filled(grid, bias.part, |s| (-s.low_volts).max(0.0));
    found.push(judge.grid(&grid));
    lines.push(grid);
    let (leak, finding) = judge.leak(bias);
    found.push(finding);
    lines.push(leak);
    let report = ValveRatings {
        designator: name.into(),
        valve: valve.valve.name.clone(),
        output: output.is_some(),
        bias: bias.method,
        bias_volts: bias.volts,
        system: known.map(|ratings| ratings.system),
        source: ratings.source.clone(),
        idle: output
            .zip(lines[0].at_rest)
            .and_then(|(count, watts)| super::bias_words::idle(bias.method, count, watts, ratings)),
        lines,
    };
    (report, found.into_iter().flatten().collect())
}

/// Voltages of anode, screen and heater from the cathode.
fn volts(
    seen: &Seen<'_>,
    judge: &Judge<'_>,
    valve: &Electrodes<'_>,
    lines: &mut Vec<Line>,
    found: &mut Vec<Option<Finding>>,
) {
    let ratings = judge.ratings;
    let mut supply = |what, node, limit, cold_limit| {
        let volts = |when| seen.volts(when, node, valve.cathode);
        let mut line = Line::new(what, "V", limit);
        line.brief_limit = cold_limit;
        line.at_rest = volts(When::AtRest);
        line.high_mains = volts(When::HighMains);
        line.cold = volts(When::Cold);
        let cold = cold_limit.and_then(|limit| {
            line.judge(
                judge.name,
                &[When::Cold],
                &judge.limit(limit, "limit for a cold valve"),
            )
        });
        found.push(worst([judge.steady(&line), cold]));
        lines.push(line);
    };
    let anode_limits = (ratings.anode_volts, ratings.anode_cold_volts);
    supply(
        Limited::AnodeVoltage,
        valve.anode,
        anode_limits.0,
        anode_limits.1,
    );
    if let Some(node) = valve.screen {
        let limits = (ratings.screen_volts, ratings.screen_cold_volts);
        supply(Limited::ScreenVoltage, node, limits.0, limits.1);
    }
    // The heater is taken to stand at ground; no file says otherwise.
    let volts = |when| {
        seen.volts(when, valve.cathode, crate::circuit::GROUND)
            .map(f64::abs)
    };
    let limit = ratings.heater_cathode_volts;
    let mut heater = Line::new(Limited::HeaterVoltage, "V", limit);
    heater.at_rest = volts(When::AtRest);
    heater.high_mains = volts(When::HighMains);
    let moved = |when| {
        let [low, high] = seen.stress(when)?.nodes[valve.cathode.0 as usize]?;
        Some(low.abs().max(high.abs()))
    };
    heater.phrase = moved(When::Phrase);
    heater.sine = moved(When::Sine);
    let states = judge.at_rest();
    found.push(limit.and_then(|l| heater.judge(judge.name, states, &judge.limit(l, "limit"))));
    lines.push(heater);
}

/// A section's name and limits.
struct Judge<'a> {
    ratings: &'a Ratings,
    name: &'a str,
}

impl Judge<'_> {
    /// The states without signal in which the limits hold.
    fn at_rest(&self) -> &'static [When] {
        match self.ratings.system {
            RatingSystem::DesignMaximum => &[When::AtRest, When::HighMains],
            RatingSystem::DesignCentre => &[When::AtRest],
        }
    }

    fn limit(&self, value: f64, kind: &str) -> Limit {
        Limit {
            value,
            name: format!("the {} {kind} of ", self.ratings.system).into(),
            system: LimitSource::System(self.ratings.system),
            source: self.ratings.source.clone(),
        }
    }

    /// Against a limit that holds for good.
    fn steady(&self, line: &Line) -> Option<Finding> {
        let limit = self.limit(line.limit?, "limit");
        let states = [self.at_rest(), &[When::Phrase, When::Sine]].concat();
        line.judge(self.name, &states, &limit)
    }

    /// A screen may take more for moments, where print says so.
    fn screen(&self, line: &Line) -> Option<Finding> {
        let (steady, Some(brief)) = (self.steady(line)?, line.brief_limit) else {
            return self.steady(line);
        };
        if steady.standing != Standing::Over || self.at_rest().contains(&steady.when) {
            return Some(steady);
        }
        let beyond = self.limit(brief, "limit on signal peaks");
        let signal = [When::Phrase, When::Sine];
        let over = line.judge(self.name, &signal, &beyond);
        if let Some(over) = over.filter(|f| f.standing == Standing::Over) {
            return Some(over);
        }
        let [shown, limit] = distinct(steady.value, steady.limit);
        let [_, brief] = distinct(steady.value, brief);
        let in_words = format!(
            "the screen takes {shown} W {}. That is more than the {limit} W it stands for good, \
             but within the {brief} W that its {} limits allow on signal peaks: fine for loud \
             notes, not for minutes on end.",
            steady.when.in_words(),
            self.ratings.system
        );
        Some(Finding {
            standing: Standing::Brief,
            in_words: in_words.into(),
            ..steady
        })
    }

    /// The peaks of a signal go by the limit for peaks; where none is printed, one that passes the
    /// plain limit is told, but not counted as over it.
    fn grid(&self, line: &Line) -> Option<Finding> {
        let limit = line.limit?;
        let steady = self.limit(limit, "limit");
        let signal = [When::Phrase, When::Sine];
        let peak = match line.brief_limit {
            Some(peak) => line.judge(self.name, &signal, &self.limit(peak, "limit on peaks")),
            None => line
                .judge(self.name, &signal, &steady)
                .filter(|f| f.standing == Standing::Over)
                .map(|over| {
                    let [shown, limit] = distinct(over.value, limit);
                    let in_words = format!(
                        "the grid swings to {shown} V below the cathode {}. Its {} limit is {limit} V; \
                         none is printed for peaks.",
                        over.when.in_words(),
                        self.ratings.system
                    );
                    Finding {
                        standing: Standing::Brief,
                        in_words: in_words.into(),
                        ..over
                    }
                }),
        };
        worst([line.judge(self.name, self.at_rest(), &steady), peak])
    }

    /// The grid leak against the limit of the bias method.
    fn leak(&self, bias: &Bias) -> (Line, Option<Finding>) {
        let limit = match bias.method {
            BiasMethod::Cathode => self.ratings.grid_leak_cathode_bias_ohms,
            _ => self.ratings.grid_leak_fixed_bias_ohms,
        };
        let mut line = Line::new(Limited::GridResistance, "kΩ", limit.map(|r| 1e-3 * r));
        line.at_rest = bias.grid_ohms.map(|r| 1e-3 * r);
        let finding = line.limit.and_then(|limit| {
            let kind = format!("limit with {}", bias.method.in_words());
            line.judge(self.name, &[When::AtRest], &self.limit(limit, &kind))
        });
        (line, finding)
    }
}
