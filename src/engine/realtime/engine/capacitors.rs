//! All capacitors of a circuit at once, by what stands on its nodes.
//!
//! Their charges on a node, `q = C·v` with the matrix of all capacitances, and their currents out
//! of it, `i`, are enough to go on by the trapezoidal rule: `i' = 2/h·(q' − q) − i`. A node with
//! five capacitors to ground costs what one costs, and a step of another length needs nothing but
//! another `h`. Where a capacitance changes its voltage and current stay, as branch by branch.

use super::inflow::rounds;
use crate::network::{BranchKind, BranchValue, Network};
use crate::numeric::real::Real;

/// A capacitor between two positions; one of them may be ground.
#[derive(Clone, Copy, Debug)]
struct Capacitor {
    branch: usize,
    /// Index among the nodes of each end that is not ground.
    nodes: [Option<u16>; 2],
    /// Index among the pairs.
    pair: Option<u16>,
}

/// A node with capacitors.
#[derive(Clone, Copy, Debug)]
struct Node {
    at: u16,
    slot: u16,
}

/// Two nodes with a capacitor between them.
#[derive(Clone, Copy, Debug)]
struct Pair {
    nodes: [u16; 2],
    slots: [u16; 2],
}

/// All of them, in the lanes of the engine.
#[derive(Clone, Debug)]
pub(super) struct Capacitors<T> {
    all: Vec<Capacitor>,
    nodes: Vec<Node>,
    pairs: Vec<Pair>,
    /// The matrix's products beside the diagonal: node, position of the other, index of the pair;
    /// no node twice in a row where others are left.
    mutual: Vec<(u16, u16, u16)>,
    /// Capacitance of each node to everything, F.
    own: Vec<T>,
    /// The same between the nodes of each pair, below zero.
    between: Vec<T>,
    /// Charge on each node, C.
    charge: Vec<T>,
    /// Current out of each node into its capacitors, A.
    amps: Vec<T>,
    /// Charge to be.
    next: Vec<T>,
}

impl<T: Real> Capacitors<T> {
    /// Without charge; [`Capacitors::take_over`] and [`Capacitors::charge`] follow.
    pub fn new(network: &Network) -> Self {
        let (ground, program) = (network.unknowns(), network.program());
        let slot = |row: usize, column: usize| {
            let [row, column] = [row, column].map(|at| program.unknown_at(at));
            program.slot(row, column).expect("in the pattern") as u16
        };
        let (mut nodes, mut pairs) = (Vec::<Node>::new(), Vec::<Pair>::new());
        let mut node = |at: usize| {
            let known = nodes.iter().position(|n| usize::from(n.at) == at);
            let index = known.unwrap_or_else(|| {
                nodes.push(Node {
                    at: at as u16,
                    slot: slot(at, at),
                });
                nodes.len() - 1
            });
            index as u16
        };
        let mut all = Vec::new();
        for (branch, one) in network.branches().iter().enumerate() {
            if one.kind != BranchKind::Capacitive {
                continue;
            }
            let ends: Vec<usize> = one.terminals.iter().map(|t| t.0).collect();
            let ends: Vec<usize> = ends.into_iter().filter(|&at| at != ground).collect();
            let at: Vec<u16> = ends.iter().map(|&at| node(at)).collect();
            let pair = (at.len() == 2).then(|| {
                let same = |p: &Pair| p.nodes == [at[0], at[1]] || p.nodes == [at[1], at[0]];
                let index = pairs.iter().position(same).unwrap_or_else(|| {
                    pairs.push(Pair {
                        nodes: [at[0], at[1]],
                        slots: [slot(ends[0], ends[1]), slot(ends[1], ends[0])],
                    });
                    pairs.len() - 1
                });
                index as u16
            });
            all.push(Capacitor {
                branch,
                nodes: [at.first().copied(), at.get(1).copied()],
                pair,
            });
        }
        let mutual = pairs.iter().enumerate().flat_map(|(index, pair)| {
            let [a, b] = pair.nodes;
            [(a, b), (b, a)].map(|(node, other)| (node, nodes[usize::from(other)].at, index as u16))
        });
        let mutual = rounds(mutual, nodes.len(), |term| term.0.into());
        let zero = |count: usize| vec![T::ZERO; count];
        Capacitors {
            own: zero(nodes.len()),
            between: zero(pairs.len()),
            charge: zero(nodes.len()),
            amps: zero(nodes.len()),
            next: zero(nodes.len()),
            all,
            nodes,
            pairs,
            mutual,
        }
    }

    /// Takes over the capacitances of all lanes; voltages (`volts`, by position) and currents stay.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn take_over(&mut self, lanes: &[Vec<BranchValue>], volts: &[T]) {
        self.own.fill(T::ZERO);
        self.between.fill(T::ZERO);
        for one in &self.all {
            let mut farads = T::ZERO;
            for (lane, values) in lanes.iter().enumerate() {
                if let BranchValue::Capacitive { farads: f } = values[one.branch] {
                    farads.set_lane(lane, f);
                }
            }
            for node in one.nodes.into_iter().flatten() {
                self.own[usize::from(node)] += farads;
            }
            if let Some(pair) = one.pair {
                self.between[usize::from(pair)] -= farads;
            }
        }
        self.charge(volts);
    }

    /// Adds the companions' conductances for a step of `1/rate` s.
    #[inline(always)]
    pub fn stamp(&self, rate: f64, matrix: &mut [T]) {
        let twice = T::splat(2.0 * rate);
        for (node, &farads) in self.nodes.iter().zip(&self.own) {
            let slot = &mut matrix[usize::from(node.slot)];
            *slot = slot.plus_product(farads, twice);
        }
        for (pair, &farads) in self.pairs.iter().zip(&self.between) {
            for slot in pair.slots {
                let slot = &mut matrix[usize::from(slot)];
                *slot = slot.plus_product(farads, twice);
            }
        }
    }

    /// Adds what they put into each position in a step of `1/rate` s.
    #[inline(always)]
    pub fn push(&self, rate: f64, right: &mut [T]) {
        let twice = T::splat(2.0 * rate);
        let stored = self.charge.iter().zip(&self.amps);
        for (node, (&charge, &amps)) in self.nodes.iter().zip(stored) {
            let right = &mut right[usize::from(node.at)];
            *right = (*right + amps).plus_product(charge, twice);
        }
    }

    /// Charges all nodes to `volts`, by position; the currents stay.
    #[inline(always)]
    pub fn charge(&mut self, volts: &[T]) {
        self.reckon(volts);
        std::mem::swap(&mut self.charge, &mut self.next);
    }

    /// Goes on by a step of `1/rate` s to `volts`, by position.
    #[inline(always)]
    pub fn go_on(&mut self, rate: f64, volts: &[T]) {
        self.reckon(volts);
        let twice = T::splat(2.0 * rate);
        let charges = self.charge.iter_mut().zip(&self.next);
        for ((charge, &next), amps) in charges.zip(&mut self.amps) {
            *amps = (next - *charge) * twice - *amps;
            *charge = next;
        }
    }

    #[inline(always)]
    fn reckon(&mut self, volts: &[T]) {
        for ((next, &own), node) in self.next.iter_mut().zip(&self.own).zip(&self.nodes) {
            *next = own * volts[usize::from(node.at)];
        }
        for &(node, other, pair) in &self.mutual {
            let next = &mut self.next[usize::from(node)];
            *next = next.plus_product(self.between[usize::from(pair)], volts[usize::from(other)]);
        }
    }

    /// Without current in one lane.
    pub fn settle(&mut self, lane: usize) {
        for amps in &mut self.amps {
            amps.set_lane(lane, 0.0);
        }
    }

    /// Number of nodes with capacitors.
    pub fn nodes(&self) -> usize {
        self.nodes.len()
    }

    /// Current of one lane out of a node into its capacitors, A.
    pub fn node_amps(&self, node: usize, lane: usize) -> f64 {
        self.amps[node].lane(lane)
    }

    /// Adds to that current.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn add_amps(&mut self, node: usize, lane: usize, more: f64) {
        let amps = &mut self.amps[node];
        amps.set_lane(lane, amps.lane(lane) + more);
    }
}
