//! All capacitors of a circuit at once, by what stands on its nodes.
//!
//! Their charges on a node, `q = C·v` with the matrix of all capacitances, and their currents out
//! of it, `i`, are enough to go on by the trapezoidal rule: `i' = 2/h·(q' − q) − i`. A node with
//! five capacitors to ground costs what one costs, and a step of another length needs nothing but
//! another `h`. Where a capacitance changes its voltage and current stay, as branch by branch.

use crate::network::{BranchKind, BranchValue, Network};
use crate::numeric::real::Real;
use crate::numeric::rounds::rounds;

/// A capacitor between two positions; one of them may be ground.
#[derive(Clone, Copy, Debug)]
struct Capacitor {
    branch: usize,
    /// Index among the nodes of each end that is not ground, and its weight, as in a branch.
    ends: [Option<(u16, f64)>; 2],
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
    /// The same between the nodes of each pair, mostly below zero.
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
            let inner = one.terminals.iter().filter(|terminal| terminal.0 != ground);
            let inner: Vec<(usize, f64)> = inner.copied().collect();
            let ends: Vec<(u16, f64)> = inner.iter().map(|&(at, c)| (node(at), c)).collect();
            let pair = (ends.len() == 2).then(|| {
                let [a, b] = [ends[0].0, ends[1].0];
                let same = |p: &Pair| p.nodes == [a, b] || p.nodes == [b, a];
                let index = pairs.iter().position(same).unwrap_or_else(|| {
                    let [row, column] = [inner[0].0, inner[1].0];
                    pairs.push(Pair {
                        nodes: [a, b],
                        slots: [slot(row, column), slot(column, row)],
                    });
                    pairs.len() - 1
                });
                index as u16
            });
            all.push(Capacitor {
                branch,
                ends: [ends.first().copied(), ends.get(1).copied()],
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
            for (node, weight) in one.ends.into_iter().flatten() {
                self.own[usize::from(node)] += farads * T::splat(weight * weight);
            }
            if let (Some(pair), [Some((_, a)), Some((_, b))]) = (one.pair, one.ends) {
                self.between[usize::from(pair)] += farads * T::splat(a * b);
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

#[cfg(test)]
mod tests {
    use super::Capacitors;
    use crate::circuit::{NamedGuitar, built_in_circuits, read};
    use crate::device::Catalogue;
    use crate::network::{BranchKind, BranchValue, Network};
    use crate::numeric::random::Random;
    use std::sync::Arc;

    /// Beside each capacitor's own companion: volts at random, steps of several lengths, values that
    /// change on the way.
    #[test]
    fn nodes_hold_what_their_capacitors_hold_one_by_one() {
        for amp in built_in_circuits() {
            let circuit = read(amp.text, &Catalogue::built_in()).expect("a built-in amp");
            // A guitar's lead has a weight of its own.
            let guitar = NamedGuitar::Humbucker.guitar();
            let circuit = circuit.with_guitar(Some(Arc::new(guitar)));
            let network = Network::new(&circuit);
            let ground = network.unknowns();
            let mut random = Random::new(5, 0);
            let mut lane = network.values(&circuit).branches;
            let every = network.branches().iter().enumerate();
            let capacitive: Vec<usize> = every
                .filter(|(_, branch)| branch.kind == BranchKind::Capacitive)
                .map(|(index, _)| index)
                .collect();
            let across = |branch: usize, volts: &[f64]| -> f64 {
                let terminals = &network.branches()[branch].terminals;
                terminals.iter().map(|&(at, c)| c * volts[at]).sum()
            };
            let mut volts = vec![0.0; ground + 1];
            let mut amps = vec![0.0; capacitive.len()];
            let mut nodes = Capacitors::<f64>::new(&network);
            nodes.take_over(std::slice::from_ref(&lane), &volts);
            for step in 0..60 {
                if step % 20 == 10 {
                    for &branch in &capacitive {
                        lane[branch] = lane[branch].scaled(0.5 + random.unit());
                    }
                    nodes.take_over(std::slice::from_ref(&lane), &volts);
                }
                let rate = 96e3 * [1.0, 4.0, 2.0][step % 3];
                let mut right = vec![0.0; ground + 1];
                nodes.push(rate, &mut right);
                let mut expected = vec![0.0; ground + 1];
                let mut next = volts.clone();
                next[..ground].fill_with(|| 100.0 * random.even());
                for (&branch, amps) in capacitive.iter().zip(&mut amps) {
                    let BranchValue::Capacitive { farads } = lane[branch] else {
                        panic!("a capacitor");
                    };
                    let siemens = 2.0 * rate * farads;
                    let remembered = siemens * across(branch, &volts) + *amps;
                    for &(at, c) in &network.branches()[branch].terminals {
                        expected[at] += c * remembered;
                    }
                    *amps = siemens * across(branch, &next) - remembered;
                }
                let largest = expected[..ground]
                    .iter()
                    .fold(0.0_f64, |a, b| a.max(b.abs()));
                for (at, (got, want)) in right.iter().zip(&expected).enumerate().take(ground) {
                    let difference = (got - want).abs();
                    assert!(
                        difference <= 1e-10 * largest,
                        "{}, step {step}, position {at}: {got} for {want}",
                        amp.name
                    );
                }
                nodes.go_on(rate, &next);
                volts = next;
            }
        }
    }
}
