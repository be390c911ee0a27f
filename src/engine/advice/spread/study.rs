//! The draws: amps of one model, each solved as found and as proposed.

use super::draw::{Luck, Plan, draw};
use super::figures::Row;
use super::report::SpreadSettings;
use super::rising::{Clean, LANES, rise};
use crate::network::{Network, Values};
use crate::solve::solved::{SolvedAmp, SolvedCircuit};
use crate::solve::{OperatingPoint, OperatingPointSolver};
use crate::units::ratio_from_decibels;

/// Levels tried about the amp of the file, dB below and in all.
const BELOW_DB: f64 = 24.0;
const SPAN_DB: f64 = 36.0;
/// Levels tried with the amp of the file itself: from 1 mV, in lanes of 20 dB that overlap.
const LOWEST_VOLTS: f64 = 1e-3;
const LANE_DB: f64 = 20.0;
const OVERLAP_DB: f64 = 1.0;
/// What all groups of amps share.
pub struct Study<'a> {
    pub network: &'a Network,
    /// As found, then as proposed if anything is.
    pub sides: Vec<&'a SolvedCircuit>,
    pub plan: Plan,
    pub row: Row,
    pub settings: SpreadSettings,
    /// The figures of the amp of the file, a row a side.
    pub nominal: Vec<Vec<f64>>,
    /// Lowest level tried on each side, V r.m.s.; none where there is nothing to try.
    pub lowest: Vec<Option<f64>>,
}

/// The figures of one drawn amp, a row a side; none without a solution.
pub type Drawn = Option<Vec<Vec<f64>>>;

impl<'a> Study<'a> {
    /// For an amp, both of its sides.
    pub fn new(amp: &'a SolvedAmp, settings: SpreadSettings) -> Self {
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
                Clean::Upto(volts) => Some(volts * ratio_from_decibels(-BELOW_DB)),
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
    pub fn groups(&self) -> usize {
        self.settings.amps.div_ceil(LANES)
    }

    /// Draws and solves the amps of one group.
    pub fn group(&self, index: usize) -> Vec<Drawn> {
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
    pub fn levels(&self, lowest: f64) -> [f64; 2] {
        [lowest, lowest * ratio_from_decibels(SPAN_DB)]
    }

    fn solve(
        &self,
        side: &SolvedCircuit,
        luck: &Luck,
        solver: &mut OperatingPointSolver,
    ) -> Option<(Values, OperatingPoint)> {
        let mut values = side.values.clone();
        draw(self.network, &side.circuit, &side.values, luck, &mut values);
        let point = solver.operating_point_near(self.network, &values, &side.point.solution)?;
        Some((values, point))
    }
}

/// The level at which the amp of the file stops being clean.
fn clean_of_file(network: &Network, side: &SolvedCircuit) -> Clean {
    let lane = (&side.values, side.point.solution.as_slice());
    let count = LANES / 2;
    let lowest = std::array::from_fn(|lane| {
        LOWEST_VOLTS * ratio_from_decibels(LANE_DB * (lane % count) as f64)
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
