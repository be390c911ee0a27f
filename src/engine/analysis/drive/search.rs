//! Which levels to try, and what lies between them.

use super::average::LANES;
use super::loudspeaker::siemens;
use super::options::{DriveOptions, HZ, ONSET_AMPS, PERCENTS, RANGE_VOLTS};
use super::report::{Drive, GridCurrent, Harmonics, Level, Limit, Without, harmonics_db, level};
use super::steady::{Driven, Steady, steady};
use crate::analysis::level_search::{Closeness, between, crossing, next_levels};
use crate::circuit::PartId;
use crate::network::Network;
use crate::solve::SmallSignal;
use crate::solve::solved::SolvedCircuit;

/// A bracket of so small a ratio is near enough: within it distortion and grid current are straight
/// in logarithms.
const CLOSENESS: Closeness = Closeness {
    ratio: 1.06,
    margin: 1e-3,
};
/// Less of what is looked for is as good as nothing.
const LEAST_RATIO: f64 = 1e-9;
/// Rounds of ever nearer levels.
const ROUNDS: usize = 6;
/// Levels of the first round as multiples of the one at which the first grid's peak reaches its
/// cathode. A stage with one valve reaches 1 % far below, a pair with feedback 10 % above.
const FIRST: [f64; LANES] = [0.06, 0.13, 0.25, 0.42, 0.65, 0.95, 1.35, 2.0];
/// From there up or down where the limits are not yet found.
const FURTHER: f64 = 1.7;
/// What is looked for: the distortions, and grid current.
const TARGETS: usize = PERCENTS.len() + 1;

/// A level that was tried.
struct Tried {
    steady: Steady,
    level: Level,
    /// What was found over what is looked for, one a target.
    ratios: [f64; TARGETS],
    /// Which valve's grid takes most, among triodes, then pentodes.
    grid: usize,
}

/// All levels tried on one circuit.
pub struct Sweep<'a> {
    network: &'a Network,
    side: &'a SolvedCircuit,
    options: DriveOptions,
    tried: Vec<Tried>,
    played: Option<Tried>,
    idle_grid_amps: Vec<f64>,
    siemens: Option<Box<dyn Fn(f64) -> f64 + 'a>>,
    restless: usize,
    unsolved: u64,
}

impl<'a> Sweep<'a> {
    /// Tries levels until every limit is bracketed closely, or known not to be there.
    pub fn run(
        network: &'a Network,
        side: &'a SolvedCircuit,
        options: DriveOptions,
        go_on: &mut dyn FnMut(f64) -> bool,
    ) -> Option<Self> {
        let mut sweep = Sweep {
            network,
            side,
            options,
            tried: Vec::new(),
            played: None,
            idle_grid_amps: idle_grid_amps(network, side),
            siemens: siemens(network, side).map(|s| Box::new(s) as Box<dyn Fn(f64) -> f64>),
            restless: 0,
            unsolved: 0,
        };
        let [least, most] = RANGE_VOLTS;
        let first = first_grid_volts(network, side).clamp(4.0 * least, 0.25 * most);
        let mut levels = FIRST.map(|share| (share * first).clamp(least, most));
        for round in 0..ROUNDS {
            let mut share = |done: f64| go_on((round as f64 + done) / ROUNDS as f64);
            sweep.round(levels, &mut share)?;
            match sweep.next_levels() {
                Some(next) => levels = next,
                None => break,
            }
        }
        go_on(1.0).then_some(sweep)
    }

    fn round(&mut self, levels: [f64; LANES], go_on: &mut dyn FnMut(f64) -> bool) -> Option<()> {
        let mut levels = levels;
        // The level asked for takes the place of the last one, once.
        let played = self.options.played_volts.filter(|_| self.played.is_none());
        let played = played.filter(|v| v.is_finite() && *v > 0.0 && !self.tried.is_empty());
        if let Some(volts) = played {
            levels[LANES - 1] = volts;
        }
        let starts = levels.map(|volts| self.start(volts));
        let driven = std::array::from_fn(|lane| Driven {
            side: self.side,
            volts: levels[lane],
            start: starts[lane].as_deref(),
        });
        let (lanes, effort) = steady(self.network, driven, self.options.pace, go_on)?;
        self.unsolved += effort.unsolved;
        for (lane, steady) in lanes.into_iter().enumerate() {
            self.restless += usize::from(!steady.stands);
            let tried = self.tried(steady);
            match lane == LANES - 1 && played.is_some() {
                true => self.played = Some(tried),
                false => self.tried.push(tried),
            }
        }
        self.tried
            .sort_by(|a, b| a.level.input_volts.total_cmp(&b.level.input_volts));
        Some(())
    }

    fn tried(&self, steady: Steady) -> Tried {
        let level = level(&steady, self.siemens.as_deref());
        let rises = steady.grid_amps.iter().zip(&self.idle_grid_amps);
        // A grid past its onset at rest, as that of a directly coupled follower, sets no limit.
        let rises = rises.map(|(now, rest)| match *rest < ONSET_AMPS {
            true => (now - rest) / ONSET_AMPS,
            false => 0.0,
        });
        let (grid, rise) = rises
            .enumerate()
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or((0, 0.0));
        let mut ratios = [rise; TARGETS];
        for (ratio, percent) in ratios.iter_mut().zip(PERCENTS) {
            *ratio = level.distortion_percent / percent;
        }
        Tried {
            steady,
            level,
            ratios,
            grid,
        }
    }

    /// Mean voltages that a level will come to, between those of its neighbours.
    fn start(&self, volts: f64) -> Option<Vec<f64>> {
        let high = self.tried.iter().find(|t| t.level.input_volts >= volts)?;
        let low = self.tried.iter().rfind(|t| t.level.input_volts < volts)?;
        let [a, b] = [low, high].map(|t| t.level.input_volts);
        let share = (volts - a) / (b - a);
        let pairs = low
            .steady
            .bound_for
            .as_ref()?
            .iter()
            .zip(high.steady.bound_for.as_ref()?);
        Some(pairs.map(|(a, b)| a + share * (b - a)).collect())
    }

    /// The first two neighbouring levels with the target between them.
    fn bracket(&self, target: usize) -> Option<[&Tried; 2]> {
        let reached = |t: &Tried| t.ratios[target] >= 1.0;
        let first = self.tried.iter().position(reached).filter(|&i| i > 0)?;
        Some([&self.tried[first - 1], &self.tried[first]])
    }

    /// Eight levels further out, or within the brackets that are still too wide; none when all is
    /// known.
    fn next_levels(&self) -> Option<[f64; LANES]> {
        let (first, last) = (self.tried.first()?, self.tried.last()?);
        let [low, high] = [first, last].map(|t| t.level.input_volts);
        let [least, most] = RANGE_VOLTS;
        let below = (0..TARGETS).any(|t| first.ratios[t] >= 1.0) && low > least * 1.001;
        let reached = |t: usize| self.tried.iter().any(|tried| tried.ratios[t] >= 1.0);
        let above = !(0..TARGETS).all(reached) && high < most / 1.001;
        let steps = |n: i32| FURTHER.powi(n);
        match (below, above) {
            (true, false) => Some(std::array::from_fn(|i| {
                (low / steps(i as i32 + 1))
                    .max(least * steps(LANES as i32 - 1 - i as i32) / steps(LANES as i32 - 1))
            })),
            (false, true) => Some(std::array::from_fn(|i| {
                (high * steps(i as i32 + 1)).min(most)
            })),
            (true, true) => Some(std::array::from_fn(|i| match i % 2 {
                0 => (low / steps(i as i32 + 2)).max(least),
                _ => (high * steps(i as i32 + 1)).min(most),
            })),
            (false, false) => self.nearer(),
        }
    }

    fn nearer(&self) -> Option<[f64; LANES]> {
        let brackets = (0..TARGETS).filter_map(|target| {
            let [low, high] = self.bracket(target)?;
            let estimate = volts_between(low, high, target);
            Some([low.level.input_volts, estimate, high.level.input_volts])
        });
        next_levels(brackets, CLOSENESS)
    }

    /// The limit of a target: the level, or why there is none.
    fn limit(&self, target: usize) -> (Option<Level>, Option<Without>) {
        if let Some(ends) = self.bracket(target) {
            return (Some(level_between(ends, target)), None);
        }
        let exceeds = |t: &Tried| t.ratios[target] >= 1.0;
        let without = match self.tried.first().is_some_and(exceeds) {
            true => Without::ExceededAtLowest,
            false => Without::NeverReached,
        };
        (None, Some(without))
    }

    /// The report.
    pub fn report(self) -> Drive {
        let limits = PERCENTS.iter().enumerate().map(|(target, &percent)| {
            let (at, without) = self.limit(target);
            Limit {
                percent,
                at: at.map(|level| Level {
                    distortion_percent: percent,
                    ..level
                }),
                without,
            }
        });
        Drive {
            limits: limits.collect(),
            grid_current: self.grid_current(),
            harmonics_at_5_percent: self.bracket(1).map(|ends| harmonics_between(ends, 1)),
            harmonics_played: self.played.as_ref().map(|played| Harmonics {
                level: played.level,
                db: harmonics_db(&played.steady.spectrum.map(|v| v.norm())),
            }),
            levels: self.tried.iter().map(|t| t.level).collect(),
            restless: self.restless,
            unsolved: self.unsolved,
        }
    }

    fn grid_current(&self) -> GridCurrent {
        let target = TARGETS - 1;
        let (at, without) = self.limit(target);
        let first = match (self.bracket(target), without) {
            (Some([_, high]), _) => Some(high.grid),
            (None, Some(Without::ExceededAtLowest)) => self.tried.first().map(|t| t.grid),
            _ => None,
        };
        let devices = self.network.devices();
        let triodes = devices.triodes.iter().map(|site| site.part);
        let pentodes = devices.pentodes.iter().map(|site| site.part);
        let valves: Vec<PartId> = triodes.chain(pentodes).collect();
        let part = first.and_then(|grid| Some(self.side.circuit.part(*valves.get(grid)?)));
        GridCurrent {
            valve: part.map(|p| p.designator.clone()),
            stage: part.map_or(String::new(), |p| p.particulars.stage().to_string()),
            at,
            without,
        }
    }
}

/// Share of the way, in logarithms, at which a target is reached between two levels.
fn share_between(low: &Tried, high: &Tried, target: usize) -> f64 {
    crossing([low, high].map(|t| t.ratios[target]), LEAST_RATIO)
}

fn volts_between(low: &Tried, high: &Tried, target: usize) -> f64 {
    let share = share_between(low, high, target);
    between([low.level.input_volts, high.level.input_volts], share)
}

/// The level between two at which a target is reached, straight in logarithms.
fn level_between([low, high]: [&Tried; 2], target: usize) -> Level {
    let share = share_between(low, high, target);
    let at = |f: fn(&Level) -> f64| between([f(&low.level), f(&high.level)], share);
    Level {
        input_volts: at(|l| l.input_volts),
        output_volts: at(|l| l.output_volts),
        watts: low.level.watts.map(|_| at(|l| l.watts.unwrap_or(0.0))),
        distortion_percent: at(|l| l.distortion_percent),
    }
}

fn harmonics_between([low, high]: [&Tried; 2], target: usize) -> Harmonics {
    let share = share_between(low, high, target);
    let amplitudes: Vec<f64> = low
        .steady
        .spectrum
        .iter()
        .zip(&high.steady.spectrum)
        .map(|(a, b)| (a + (b - a) * share).norm())
        .collect();
    Harmonics {
        level: level_between([low, high], target),
        db: harmonics_db(&amplitudes),
    }
}

/// Grid currents at rest, A: triodes, then pentodes.
fn idle_grid_amps(network: &Network, side: &SolvedCircuit) -> Vec<f64> {
    let at = |p: u16| side.point.solution[usize::from(p)];
    let devices = network.devices();
    let values = &side.values.devices;
    let triodes = devices.triodes.iter().zip(&values.triodes);
    let triodes = triodes.map(|(site, value)| {
        let [_, g, k] = site.at.map(at);
        value.present * value.law.grid.at(g - k).current
    });
    let pentodes = devices.pentodes.iter().zip(&values.pentodes);
    let pentodes = pentodes.map(|(site, value)| {
        let [_, _, g, k] = site.at.map(at);
        value.present * value.law.grid.at(g - k).current
    });
    triodes.chain(pentodes).collect()
}

/// Level at which, were everything straight, the first grid's peak would reach its cathode, V
/// r.m.s.; an estimate where to look.
fn first_grid_volts(network: &Network, side: &SolvedCircuit) -> f64 {
    let linear = SmallSignal::new(network, &side.values, &side.point).at(HZ);
    let devices = network.devices();
    let values = &side.values.devices;
    let triodes = devices.triodes.iter().zip(&values.triodes);
    let triodes = triodes.map(|(site, value)| ([site.at[1], site.at[2]], value.present));
    let pentodes = devices.pentodes.iter().zip(&values.pentodes);
    let pentodes = pentodes.map(|(site, value)| ([site.at[2], site.at[3]], value.present));
    let level = |([grid, cathode], present): ([u16; 2], f64)| {
        let [g, k] = [grid, cathode].map(usize::from);
        let bias = (side.point.solution[g] - side.point.solution[k]).abs();
        let gain = (linear[g] - linear[k]).norm() * std::f64::consts::SQRT_2;
        let volts = bias / gain;
        (present > 0.0 && volts.is_finite() && volts > 0.0).then_some(volts)
    };
    let levels = triodes.chain(pentodes).filter_map(level);
    let first = levels.fold(f64::INFINITY, f64::min);
    // Without a grid that is reached: a guitar's level.
    if first.is_finite() { first } else { 0.1 }
}
