//! Two amps of one model differ: many amps are drawn within the tolerances of their parts and the
//! spread of new valves, each is solved as found and as proposed, and every figure gets a band.
//!
//! Takes two circuits of one topology; gives bands of node voltages, valves, response and clean
//! level, and for each figure that a proposal changes whether the change stands out of the spread.
//! An amp's draw depends on the seed and its number alone, so neither the number of cores nor the
//! order of the work matters.

mod band;
mod draw;
mod figures;
mod gather;
mod rising;
#[cfg(test)]
mod tests;
mod words;

use crate::analysis::voltages::ByName;
use crate::circuit::Circuit;
use crate::network::{Network, Values};
use crate::numeric::parallel::{GoOn, on_all_cores};
use crate::solve::solved::{NoOperatingPoint, SolvedAmp, SolvedCircuit};
use crate::solve::{OperatingPoint, OperatingPointSolver};
pub use band::{Band, percentile};
pub use draw::{BOTTLE_SHARE, Luck, Plan, VALVE_DEVIATION, draw, envelope, tolerance};
use figures::Row;
use rising::{Clean, LANES, rise};
use serde::Serialize;
pub use words::of_a_hundred;

/// What to draw.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct SpreadSettings {
    /// How many amps.
    pub amps: usize,
    /// Seed; the same seed draws the same amps.
    pub seed: u64,
    /// How far the mains may be off, as a share: 0.05 is ±5 %. At 0 all amps have the same mains,
    /// as two in one room do.
    pub mains: f64,
}

impl Default for SpreadSettings {
    fn default() -> Self {
        SpreadSettings {
            amps: 1000,
            seed: 1,
            mains: 0.0,
        }
    }
}

/// One valve section over all amps, at rest.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ValveSpread {
    /// Type number.
    pub valve: String,
    /// Anode current, mA.
    pub anode_milliamps: Band,
    /// Anode dissipation, W.
    pub anode_watts: Band,
    /// Its limit, W.
    pub anode_limit_watts: Option<f64>,
    /// Amps in a hundred that are over it.
    pub anode_over_percent: Option<f64>,
    /// Screen dissipation, W; none for a triode.
    pub screen_watts: Option<Band>,
    /// Its limit, W.
    pub screen_limit_watts: Option<f64>,
    /// Amps in a hundred that are over it.
    pub screen_over_percent: Option<f64>,
}

/// One side over all amps.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SideSpread {
    /// Volts to ground of every node at rest; a valve pin reads what its node does.
    pub nodes: ByName<Band>,
    /// Valve sections.
    pub valves: ByName<ValveSpread>,
    /// Gain for small signals at 1 kHz, dB.
    pub gain_db: Band,
    /// Response at the frequencies of the report, dB.
    pub curve_db: Vec<Band>,
    /// The same against 1 kHz: the tone, dB.
    pub tone_db: Vec<Band>,
    /// Level at the jack at which a rising 1 kHz tone reaches 1 % distortion, V r.m.s.; none where
    /// the amp of the file never does, or distorts more at the lowest level.
    pub clean_volts: Option<Band>,
    /// Amps whose level lies outside those tried; they count as the nearest one tried.
    pub clean_outside: usize,
}

/// A figure that the proposal changes, amp by amp.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChangeInSpread {
    /// What changes, such as "the gain at 1 kHz".
    pub what: String,
    /// Unit of the figures.
    pub unit: &'static str,
    /// The change of one and the same amp, proposed less as found.
    pub change: Band,
    /// Nine in ten amps as found lie within ± this of the middle.
    pub spread: f64,
    /// Whether the middle change is larger than that.
    pub stands_out: bool,
    /// All of it in words.
    pub sentence: String,
}

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SpreadReport {
    /// Name of the amp.
    pub amp: String,
    /// What was drawn.
    pub settings: SpreadSettings,
    /// Drawn amps without a solution at rest; they count nowhere.
    pub unsolved: usize,
    /// Frequencies of the curves, Hz.
    pub hz: Vec<f64>,
    /// As found.
    pub as_found: SideSpread,
    /// As proposed; only when something is.
    pub proposed: Option<SideSpread>,
    /// What the proposal changes.
    pub changes: Vec<ChangeInSpread>,
    /// Sentences about the amp and, if something is proposed, about the changes.
    pub sentences: Vec<String>,
    /// How the amps were drawn, a sentence each.
    pub assumptions: Vec<String>,
}

/// Levels tried about the amp of the file, dB below and in all.
const BELOW_DB: f64 = 24.0;
const SPAN_DB: f64 = 36.0;
/// Levels tried with the amp of the file itself: from 1 mV, in lanes of 20 dB that overlap.
const LOWEST_VOLTS: f64 = 1e-3;
const LANE_DB: f64 = 20.0;
const OVERLAP_DB: f64 = 1.0;
/// Iterations for an operating point near the amp of the file, before it is sought from cold.
const NEAR_ITERATIONS: usize = 40;

/// Draws the amps. `go_on` is told the share that is done and answers whether to go on; none when
/// it says no.
///
/// # Errors
/// [`NoOperatingPoint`] when the amp of the file itself has no operating point.
pub fn spread(
    as_found: &Circuit,
    proposed: Option<&Circuit>,
    settings: SpreadSettings,
    go_on: GoOn<'_>,
) -> Option<Result<SpreadReport, NoOperatingPoint>> {
    let amp = match SolvedAmp::new(as_found, proposed) {
        Ok(amp) => amp,
        Err(fault) => return Some(Err(fault)),
    };
    if !go_on(0.0) {
        return None;
    }
    let study = Study::new(&amp, settings);
    let groups = on_all_cores(study.groups(), go_on, &|index, go_on| {
        go_on(0.0).then(|| study.group(index))
    })?;
    Some(Ok(gather::report(&study, groups)))
}

/// What all groups of amps share.
struct Study<'a> {
    network: &'a Network,
    /// As found, then as proposed if anything is.
    sides: Vec<&'a SolvedCircuit>,
    plan: Plan,
    row: Row,
    settings: SpreadSettings,
    /// The figures of the amp of the file, a row a side.
    nominal: Vec<Vec<f64>>,
    /// Lowest level tried on each side, V r.m.s.; none where there is nothing to try.
    lowest: Vec<Option<f64>>,
}

/// The figures of one drawn amp, a row a side; none without a solution.
type Drawn = Option<Vec<Vec<f64>>>;

impl<'a> Study<'a> {
    fn new(amp: &'a SolvedAmp, settings: SpreadSettings) -> Self {
        let sides: Vec<&SolvedCircuit> = std::iter::once(&amp.as_found)
            .chain(&amp.proposed)
            .collect();
        let network = &amp.network;
        let row = Row::new(network, &amp.as_found.circuit);
        let mut nominal = Vec::new();
        let mut lowest = Vec::new();
        for side in &sides {
            let mut figures = row.read(network, &side.values, &side.point);
            let clean = clean_of_file(network, side);
            row.put_clean(&mut figures, clean, [f64::NAN; 2]);
            lowest.push(match clean {
                Clean::Upto(volts) => Some(volts * 10f64.powf(-BELOW_DB / 20.0)),
                _ => None,
            });
            nominal.push(figures);
        }
        Study {
            network,
            plan: Plan::new(&amp.as_found.circuit, settings.mains),
            sides,
            row,
            settings,
            nominal,
            lowest,
        }
    }

    /// Groups of [`LANES`] amps.
    fn groups(&self) -> usize {
        self.settings.amps.div_ceil(LANES)
    }

    /// Draws and solves the amps of one group.
    fn group(&self, index: usize) -> Vec<Drawn> {
        let first = index * LANES;
        let last = (first + LANES).min(self.settings.amps);
        let mut solver = OperatingPointSolver::new(self.network);
        // By amp, then by side: values and operating point.
        let amps: Vec<Option<Vec<(Values, OperatingPoint)>>> = (first..last)
            .map(|amp| {
                let luck = self.plan.luck(self.settings.seed, amp);
                let solve = |side: &&SolvedCircuit| self.solve(side, &luck, &mut solver);
                self.sides.iter().map(solve).collect()
            })
            .collect();
        let mut drawn: Vec<Drawn> = amps
            .iter()
            .map(|amp| {
                let sides = amp.as_ref()?.iter();
                let read = |(values, point): &(Values, OperatingPoint)| {
                    self.row.read(self.network, values, point)
                };
                Some(sides.map(read).collect())
            })
            .collect();
        for (side, lowest) in self.lowest.iter().enumerate() {
            let Some(lowest) = *lowest else { continue };
            // Lanes without an amp play the one of the file.
            let lanes: [(&Values, &[f64]); LANES] =
                std::array::from_fn(|lane| match amps.get(lane).and_then(Option::as_ref) {
                    Some(amp) => (&amp[side].0, amp[side].1.solution.as_slice()),
                    None => {
                        let file = self.sides[side];
                        (&file.values, file.point.solution.as_slice())
                    }
                });
            let levels = rise(self.network, lanes, [lowest; LANES], SPAN_DB);
            let ends = self.levels(lowest);
            for (row, clean) in drawn.iter_mut().zip(levels) {
                if let Some(rows) = row {
                    self.row.put_clean(&mut rows[side], clean, ends);
                }
            }
        }
        drawn
    }

    /// Lowest and highest level tried, V r.m.s.
    fn levels(&self, lowest: f64) -> [f64; 2] {
        [lowest, lowest * 10f64.powf(SPAN_DB / 20.0)]
    }

    fn solve(
        &self,
        side: &SolvedCircuit,
        luck: &Luck,
        solver: &mut OperatingPointSolver,
    ) -> Option<(Values, OperatingPoint)> {
        let mut values = side.values.clone();
        draw(self.network, &side.circuit, &side.values, luck, &mut values);
        let point = operating_point_near(self.network, &values, &side.point.solution, solver)?;
        Some((values, point))
    }
}

/// The operating point of an amp that is much like another one, found from there if that leads to
/// it, else from cold; none without one.
pub(crate) fn operating_point_near(
    network: &Network,
    values: &Values,
    start: &[f64],
    solver: &mut OperatingPointSolver,
) -> Option<OperatingPoint> {
    let near = solver.solve_near(network, values, start, NEAR_ITERATIONS);
    let solution = match near {
        Ok(solution) => solution.to_vec(),
        Err(_) => solver.solve(network, values).ok()?.to_vec(),
    };
    Some(OperatingPoint {
        solution,
        iterations: solver.iterations(),
    })
}

/// The level at which the amp of the file stops being clean.
fn clean_of_file(network: &Network, side: &SolvedCircuit) -> Clean {
    let lane = (&side.values, side.point.solution.as_slice());
    let count = LANES / 2;
    let lowest = std::array::from_fn(|lane| {
        LOWEST_VOLTS * 10f64.powf(LANE_DB / 20.0 * (lane % count) as f64)
    });
    let found = rise(network, [lane; LANES], lowest, LANE_DB + OVERLAP_DB);
    for (lane, clean) in found.into_iter().enumerate().take(count) {
        match clean {
            Clean::Beyond => {}
            Clean::Below if lane > 0 => return Clean::Upto(lowest[lane]),
            other => return other,
        }
    }
    Clean::Beyond
}
