//! The corner that a capacitor makes, claimed only where the response bears it out.
//!
//! A circuit's gain depends on one capacitance as `H = (H₀ + jωCZ·H₁)/(1 + jωCZ)`: `H₀` without
//! it, `H₁` with a short in its place, `Z` the Thevenin impedance that it sees. With `H₀` small
//! that is a low cut at `ωC|Z| = 1`, with `H₁` small a high cut, with a real ratio between them a
//! shelf. Each is compared with the response at several frequencies; what does not fit is nothing.

use crate::analysis::response::{Path, gains};
use crate::analysis::sensitivity::{across, admittance_by_log, branches};
use crate::circuit::{PartId, PartKind};
use crate::network::assemble::empty_vector;
use crate::network::{BranchValue, Network};
use crate::solve::SmallSignal;
use crate::solve::solved::SolvedCircuit;
use crate::units::decibels_from_ratio;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// What a capacitor does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Corner {
    /// 3 dB less at this frequency, Hz, and ever less below.
    LowCut(f64),
    /// 3 dB less at this frequency, Hz, and ever less above.
    HighCut(f64),
    /// So many decibels more (or less) above this frequency, Hz, than below it.
    Shelf { hz: f64, db: f64 },
}

/// Frequencies, as shares of the corner's, at which a claim is compared with the response.
const LOOKS: [f64; 5] = [0.25, 0.5, 1.0, 2.0, 4.0];
/// By how much it may miss a first-order slope there, dB.
const MISS_DB: f64 = 1.0;
/// A step smaller than this is no shelf worth a word, dB, and one as large as this is a cut.
const LEAST_STEP_DB: f64 = 0.5;
const MOST_STEP_DB: f64 = 30.0;
/// How far a shelf may miss, as a share of its step.
const MISS_SHARE: f64 = 0.15;
/// Where corners are looked for, Hz.
const RANGE_HZ: [f64; 2] = [0.05, 100e3];
/// Stands for a short, F.
const SHORT_FARADS: f64 = 1.0;

/// A capacitor in its surroundings on one path.
pub struct Surroundings<'a> {
    network: &'a Network,
    path: Path,
    branch: usize,
    farads: f64,
    as_it_is: &'a SolvedCircuit,
    without: SolvedCircuit,
    shorted: SolvedCircuit,
}

impl<'a> Surroundings<'a> {
    /// None unless the part is a capacitor.
    pub fn new(
        network: &'a Network,
        side: &'a SolvedCircuit,
        id: PartId,
        path: Path,
    ) -> Option<Self> {
        let PartKind::Capacitor { .. } = side.circuit.part(id).kind else {
            return None;
        };
        let branch = network.branches_of(id).start;
        let BranchValue::Capacitive { farads } = side.values.branches[branch] else {
            return None;
        };
        let with = |farads: f64| {
            let mut side = side.clone();
            side.values.branches[branch] = BranchValue::Capacitive { farads };
            side
        };
        Some(Surroundings {
            network,
            path,
            branch,
            farads,
            without: with(0.0),
            shorted: with(SHORT_FARADS),
            as_it_is: side,
        })
    }

    /// What it does, if the response bears it out.
    pub fn corner(&self) -> Option<Corner> {
        let hz = self.corner_hz()?;
        let [open, short] = [&self.without, &self.shorted].map(|s| self.gain(s, hz));
        let miss = |hz: f64, base: &SolvedCircuit, model: &dyn Fn(f64) -> f64, middle: f64| {
            let found = self.gain(self.as_it_is, hz).norm() / self.gain(base, hz).norm();
            (decibels_from_ratio(found) - decibels_from_ratio(model(hz / middle))).abs()
        };
        let fits = |base: &SolvedCircuit, model: &dyn Fn(f64) -> f64, middle: f64, allowed: f64| {
            LOOKS
                .iter()
                .all(|x| miss(hz * x, base, model, middle) <= allowed)
        };
        let low_cut = |x: f64| x / x.hypot(1.0);
        let high_cut = |x: f64| 1.0 / x.hypot(1.0);
        if fits(&self.shorted, &low_cut, hz, MISS_DB) {
            return Some(Corner::LowCut(hz));
        }
        if fits(&self.without, &high_cut, hz, MISS_DB) {
            return Some(Corner::HighCut(hz));
        }
        let ratio = open.norm() / short.norm();
        let step = -decibels_from_ratio(ratio);
        if !(LEAST_STEP_DB..MOST_STEP_DB).contains(&step.abs()) {
            return None;
        }
        // Half of the step, in decibels, is reached where x² is the ratio.
        let middle = hz * ratio.sqrt();
        let shelf = |x: f64| {
            let x = x * ratio.sqrt();
            x.hypot(ratio) / x.hypot(1.0)
        };
        let allowed = 0.1 + MISS_SHARE * step.abs();
        let looks = [0.125, 0.35, 1.0, 3.0, 8.0];
        let fits = looks
            .iter()
            .all(|x| miss(middle * x, &self.shorted, &shelf, middle) <= allowed);
        // Other corners may tilt the step a little: it is told as it stands above.
        let [open, short] = [&self.without, &self.shorted].map(|s| self.gain(s, 4.0 * middle));
        fits.then_some(Corner::Shelf {
            hz: middle,
            db: decibels_from_ratio(short.norm() / open.norm()),
        })
    }

    /// Resistors and pots that make at least four fifths of the resistance that the capacitor
    /// sees at `hz`: one, or two that share it.
    pub fn partners(&self, hz: f64) -> Vec<PartId> {
        let side = &self.without;
        let linear = SmallSignal::new(self.network, &side.values, &side.point);
        let factored = linear.factored(hz);
        let volts = factored.driven(self.probe());
        let adjoint = factored.adjoint(self.probe());
        let impedance = across(self.network, self.branch, &volts);
        let circuit = &side.circuit;
        let mut shares: Vec<(f64, PartId)> = (0..circuit.parts().len())
            .map(|i| PartId(i as u16))
            .filter(|&id| {
                let kind = &circuit.part(id).kind;
                matches!(kind, PartKind::Resistor { .. } | PartKind::Pot { .. })
            })
            .map(|id| {
                let by_log: Complex64 = branches(self.network, side, id)
                    .into_iter()
                    .map(|(branch, share)| {
                        let value = &side.values.branches[branch];
                        -admittance_by_log(value, TAU * hz)
                            * share
                            * across(self.network, branch, &volts)
                            * across(self.network, branch, &adjoint)
                    })
                    .sum();
                ((by_log / impedance).re, id)
            })
            .collect();
        shares.sort_by(|a, b| b.0.total_cmp(&a.0));
        match shares[..] {
            [(one, id), ..] if one >= 0.8 => vec![id],
            [(one, id), (two, other), ..] if one + two >= 0.8 && two >= 0.2 => vec![id, other],
            _ => Vec::new(),
        }
    }

    fn gain(&self, side: &SolvedCircuit, hz: f64) -> Complex64 {
        gains(self.network, side, self.path, &[hz])[0]
    }

    fn probe(&self) -> Vec<Complex64> {
        let mut current = empty_vector::<Complex64>(self.network);
        for &(at, c) in &self.network.branches()[self.branch].terminals {
            current[at] += c;
        }
        current
    }

    /// Where the capacitor's reactance equals the impedance that it sees, Hz.
    fn corner_hz(&self) -> Option<f64> {
        let side = &self.without;
        let linear = SmallSignal::new(self.network, &side.values, &side.point);
        let beyond = |hz: f64| {
            let volts = linear.driven(hz, self.probe());
            let ohms = across(self.network, self.branch, &volts).norm();
            TAU * hz * self.farads * ohms > 1.0
        };
        let [mut low, mut high] = RANGE_HZ;
        if self.farads <= 0.0 || beyond(low) || !beyond(high) {
            return None;
        }
        // Twenty halvings of 6.3 decades leave 15 millionths.
        for _ in 0..20 {
            let middle = (low * high).sqrt();
            if beyond(middle) {
                high = middle;
            } else {
                low = middle;
            }
        }
        Some((low * high).sqrt())
    }
}
