//! The coils of a circuit: their companions in a step and what they put into the nodes.

use crate::network::{BranchKind, Network};
use crate::numeric::real::Real;
use crate::numeric::rounds::rounds;

/// A coil between at most three unknowns; the third has a weight of its own.
#[derive(Clone, Debug)]
pub(super) struct Coil {
    pub branch: usize,
    pub at: [usize; 3],
    pub third: f64,
}

/// Companion of one coil in all lanes: `i = siemens·u − J`, `J = from_volts·u₋ + from_amps·i₋`.
#[derive(Clone, Copy, Debug)]
pub(super) struct Weights<T> {
    pub siemens: T,
    pub from_volts: T,
    pub from_amps: T,
}

/// What a coil remembers.
#[derive(Clone, Copy, Debug)]
pub(super) struct CoilState<T> {
    pub volts: T,
    pub amps: T,
}

/// The coils.
pub(super) fn coils(network: &Network) -> Vec<Coil> {
    let n = network.unknowns();
    let mut coils = Vec::new();
    for (index, branch) in network.branches().iter().enumerate() {
        if branch.kind != BranchKind::Coil {
            continue;
        }
        let find = |sign: f64| {
            branch
                .terminals
                .iter()
                .find(|t| t.1 == sign)
                .map_or(n, |t| t.0)
        };
        let third = branch.terminals.iter().find(|t| t.1.abs() != 1.0);
        // A transformer without a fraction (share 1) has −1 twice; keep the second apart.
        let negatives: Vec<usize> = branch
            .terminals
            .iter()
            .filter(|t| t.1 == -1.0)
            .map(|t| t.0)
            .collect();
        let (third_at, weight) = match (third, negatives.as_slice()) {
            (Some(&(at, c)), _) => (at, c),
            (None, [_, second]) => (*second, -1.0),
            _ => (n, 0.0),
        };
        let negative = negatives.first().copied().unwrap_or(n);
        coils.push(Coil {
            branch: index,
            at: [find(1.0), negative, third_at],
            third: weight,
        });
    }
    coils
}

/// Which coils feed which position, and with what sign or share.
#[derive(Clone, Debug)]
pub(super) struct Inflow {
    /// Position, index among the coils, share of its current.
    terms: Vec<(u16, u16, f64)>,
}

impl Inflow {
    /// `unknowns`: positions without ground, where nothing needs to be counted.
    pub fn new(coils: &[Coil], unknowns: usize) -> Self {
        let mut terms = Vec::new();
        for (index, coil) in coils.iter().enumerate() {
            let [a, b, c] = coil.at;
            for (at, share) in [(a, 1.0), (b, -1.0), (c, coil.third)] {
                if at < unknowns && share != 0.0 {
                    terms.push((at as u16, index as u16, share));
                }
            }
        }
        Inflow {
            terms: rounds(terms, unknowns, |term| term.0.into()),
        }
    }

    /// Adds to `right`, by position, each coil's share of its `currents`, A.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn add<T: Real>(&self, currents: &[T], right: &mut [T]) {
        for &(at, index, share) in &self.terms {
            let right = &mut right[at as usize];
            *right = right.plus_product(currents[index as usize], T::splat(share));
        }
    }
}
