//! The amp as the recording would show it: its level at the frequencies of the recording for any
//! values of the unknowns, with the slopes, and how far everything else in the amp may move it.

use super::unknowns::{Unknown, placed};
use crate::advice::spread::{
    ENVELOPE_SHARE, Luck, TRANSFORMER_TOLERANCE, VALVE_DEVIATION, draw, envelope, tolerance,
    transformer_branches,
};
use crate::analysis::response::Path;
use crate::analysis::sensitivity::{branches, levels, with_a_value};
use crate::circuit::{Circuit, PartId, PartKind};
use crate::network::Network;
use crate::solve::OperatingPointSolver;
use crate::solve::solved::SolvedCircuit;

/// How far a valve's current is moved to see what it does, as a share.
const VALVE_STEP: f64 = 0.02;

/// Starts besides the amp as found, and by how many standard deviations of the belief they lie away.
const PATTERNS: usize = 6;
const ZIGZAG: f64 = 0.8;

/// The amp, and what of it is unknown.
pub struct Model<'a> {
    /// Equations.
    pub network: &'a Network,
    /// As found.
    pub circuit: &'a Circuit,
    /// What is sought.
    pub unknowns: &'a [Unknown],
    /// Frequencies, Hz.
    pub hz: Vec<f64>,
    /// What stands behind the amp and is known, such as its own loudspeaker, dB by frequency.
    pub behind_db: Vec<f64>,
}

/// The amp at some values of the unknowns.
#[derive(Clone)]
pub struct Linearised {
    /// The unknowns.
    pub x: Vec<f64>,
    /// The circuit at rest.
    pub side: SolvedCircuit,
    /// Level, dB, a value a frequency.
    pub db: Vec<f64>,
    /// By unknown, dB for one of its number, a value a frequency.
    pub slopes: Vec<Vec<f64>>,
}

impl Model<'_> {
    /// The circuit at rest with the unknowns at these numbers; none without an operating point.
    /// `near` is the solution of a circuit much like it.
    pub fn side(&self, x: &[f64], near: &[f64]) -> Option<SolvedCircuit> {
        let circuit = placed(self.circuit, self.unknowns, x);
        self.at_rest(circuit, near)
    }

    fn at_rest(&self, circuit: Circuit, near: &[f64]) -> Option<SolvedCircuit> {
        let values = self.network.values(&circuit);
        let mut solver = OperatingPointSolver::new(self.network);
        let point = solver.operating_point_near(self.network, &values, near)?;
        Some(SolvedCircuit {
            circuit,
            values,
            point,
        })
    }

    /// Level and slopes with the unknowns at these numbers.
    pub fn linearised(&self, x: &[f64], near: &[f64]) -> Option<Linearised> {
        let side = self.side(x, near)?;
        let each = self.unknowns.iter().zip(x);
        let motions = each.map(|(unknown, &x)| unknown.motion(self.network, &side, x));
        let levels = levels(
            self.network,
            &side,
            Path::default(),
            &self.hz,
            motions.collect(),
        );
        let finite = levels.slopes.iter().chain([&levels.db]);
        if !finite.flatten().all(|db| db.is_finite()) {
            return None;
        }
        Some(Linearised {
            x: x.to_vec(),
            db: self.with_what_is_behind(levels.db),
            slopes: levels.slopes,
            side,
        })
    }

    /// Level of a circuit at rest, dB.
    pub fn level(&self, side: &SolvedCircuit) -> Vec<f64> {
        let levels = levels(self.network, side, Path::default(), &self.hz, Vec::new());
        self.with_what_is_behind(levels.db)
    }

    /// Where the descent begins: as found, and about it with some values up and the others down. Without
    /// a solution a start is left out.
    pub fn starts(&self, as_found: &SolvedCircuit) -> Vec<Linearised> {
        let near = &as_found.point.solution;
        let at = |pattern: usize| -> Option<Linearised> {
            let each = self.unknowns.iter().enumerate();
            let x: Vec<f64> = each
                .map(|(i, u)| {
                    // By turns, by pairs, by fours; and each the other way round.
                    let up = (i >> (pattern.saturating_sub(1) / 2)) % 2 == pattern % 2;
                    let way = match (pattern, up) {
                        (0, _) => 0.0,
                        (_, true) => 1.0,
                        (_, false) => -1.0,
                    };
                    (u.start + way * ZIGZAG * u.prior).clamp(u.range[0], u.range[1])
                })
                .collect();
            self.linearised(&x, near)
        };
        (0..=PATTERNS).filter_map(at).collect()
    }

    fn with_what_is_behind(&self, db: Vec<f64>) -> Vec<f64> {
        let both = db.iter().zip(&self.behind_db);
        both.map(|(amp, behind)| amp + behind).collect()
    }

    /// What the rest of the amp may do to the level, dB by frequency: a row for every cause, worth
    /// one standard deviation of it. Parts that are not varied lie anywhere within their tolerance,
    /// output transformers in three respects; valves spread as [`crate::advice::spread`] has it.
    pub fn others(&self, side: &SolvedCircuit) -> Vec<Vec<f64>> {
        let varied = |id: &PartId| {
            // Of a pot only the position is unknown: its track has a tolerance like any part.
            let mut values = self.unknowns.iter().filter(|u| !u.is_position());
            values.any(|u| u.parts.contains(id))
        };
        let parts: Vec<PartId> = with_a_value(&side.circuit)
            .filter(|id| !varied(id))
            .collect();
        let shares = parts
            .iter()
            .map(|&id| tolerance(&side.circuit, id).map_or(0.0, |(share, _)| share));
        let mut shares: Vec<f64> = shares.collect();
        let motions = parts.iter().map(|&id| branches(self.network, side, id));
        let mut motions: Vec<_> = motions.collect();
        for branches in transformer_branches(self.network, &side.circuit) {
            motions.push(branches.into_iter().map(|branch| (branch, 1.0)).collect());
            shares.push(TRANSFORMER_TOLERANCE);
        }
        let slopes = levels(self.network, side, Path::default(), &self.hz, motions).slopes;
        // Evenly within ±t: a standard deviation of t/√3.
        let mut rows: Vec<Vec<f64>> = slopes
            .into_iter()
            .zip(shares)
            .map(|(slope, share)| {
                let deviation = share / 3f64.sqrt();
                slope.into_iter().map(|db| db * deviation).collect()
            })
            .collect();
        rows.extend(self.valves(side));
        rows.retain(|row| row.iter().all(|db| db.is_finite()) && row.iter().any(|db| *db != 0.0));
        rows
    }

    /// The rows of the valves: each section's own part of its spread, and each bottle's.
    fn valves(&self, side: &SolvedCircuit) -> Vec<Vec<f64>> {
        let circuit = &side.circuit;
        let before = self.level(side);
        let mut solver = OperatingPointSolver::new(self.network);
        let mut rows = Vec::new();
        let mut bottles: Vec<(&str, Vec<f64>)> = Vec::new();
        for (index, part) in circuit.parts().iter().enumerate() {
            let valve = matches!(
                part.kind,
                PartKind::Triode { .. } | PartKind::Pentode { .. } | PartKind::Rectifier { .. }
            );
            if !valve || !part.fitted {
                continue;
            }
            let mut luck = Luck::average(circuit.parts().len());
            luck.factors[index] += VALVE_STEP;
            let mut values = side.values.clone();
            draw(self.network, circuit, &side.values, &luck, &mut values);
            let start = &side.point.solution;
            let Some(point) = solver.operating_point_near(self.network, &values, start) else {
                continue;
            };
            let moved = SolvedCircuit {
                circuit: circuit.clone(),
                values,
                point,
            };
            let scale = VALVE_DEVIATION / VALVE_STEP;
            let row: Vec<f64> = self
                .level(&moved)
                .iter()
                .zip(&before)
                .map(|(after, before)| scale * (after - before))
                .collect();
            let name = envelope(&part.designator);
            let of_bottle = match bottles.iter().position(|(b, _)| *b == name) {
                Some(place) => &mut bottles[place].1,
                None => {
                    bottles.push((name, vec![0.0; row.len()]));
                    let last = bottles.len() - 1;
                    &mut bottles[last].1
                }
            };
            for (sum, db) in of_bottle.iter_mut().zip(&row) {
                *sum += ENVELOPE_SHARE.sqrt() * db;
            }
            let own = (1.0 - ENVELOPE_SHARE).sqrt();
            rows.push(row.into_iter().map(|db| own * db).collect());
        }
        rows.extend(bottles.into_iter().map(|(_, row)| row));
        rows
    }
}
