//! Order of elimination for a sparse matrix whose pattern is symmetric and never changes.
//!
//! Takes the pattern and, for each unknown, how often its equation changes; gives the order, found
//! once. What never changes leads, what changes once a step follows, what changes in every Newton
//! iteration trails. Trailing unknowns are factored again in every iteration, so the order is
//! chosen to make that part cheap: a linear unknown that would tie many trailing ones together (a
//! supply rail, say) is left to trail as well.

/// A symmetric pattern, one bit row an unknown; the diagonal is not stored.
#[derive(Clone)]
struct Pattern {
    words: usize,
    rows: Vec<u64>,
}

impl Pattern {
    fn new(unknowns: usize, pairs: &[(usize, usize)]) -> Self {
        let words = unknowns.div_ceil(64).max(1);
        let mut pattern = Pattern {
            words,
            rows: vec![0; words * unknowns],
        };
        for &(a, b) in pairs {
            if a != b {
                pattern.rows[a * words + b / 64] |= 1 << (b % 64);
                pattern.rows[b * words + a / 64] |= 1 << (a % 64);
            }
        }
        pattern
    }

    fn row(&self, unknown: usize) -> &[u64] {
        &self.rows[unknown * self.words..(unknown + 1) * self.words]
    }

    fn degree(&self, unknown: usize) -> usize {
        self.row(unknown)
            .iter()
            .map(|w| w.count_ones() as usize)
            .sum()
    }

    fn neighbours(&self, unknown: usize) -> Vec<usize> {
        let mut out = Vec::new();
        for (index, &word) in self.row(unknown).iter().enumerate() {
            let mut word = word;
            while word != 0 {
                out.push(index * 64 + word.trailing_zeros() as usize);
                word &= word - 1;
            }
        }
        out
    }

    /// Joins the neighbours of `unknown` to each other and removes it.
    fn eliminate(&mut self, unknown: usize) -> Vec<usize> {
        let neighbours = self.neighbours(unknown);
        let row: Vec<u64> = self.row(unknown).to_vec();
        for &a in &neighbours {
            for (w, &bits) in row.iter().enumerate() {
                self.rows[a * self.words + w] |= bits;
            }
            self.rows[a * self.words + a / 64] &= !(1 << (a % 64));
            self.rows[a * self.words + unknown / 64] &= !(1 << (unknown % 64));
        }
        self.rows[unknown * self.words..(unknown + 1) * self.words].fill(0);
        neighbours
    }
}

/// How often the coefficients of an unknown's equation change.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Changes {
    /// Only with the value of a part.
    Never,
    /// Once a step.
    EachStep,
    /// In each Newton iteration.
    EachIteration,
}

/// The order found: unknowns by position, and each pivot's later neighbours.
#[derive(Clone, Debug)]
pub struct Order {
    /// Unknown at each position.
    pub unknowns: Vec<usize>,
    /// Number of positions that only change with a value.
    pub constant: usize,
    /// Number of positions that do not change within a step: those and the ones that follow them.
    pub leading: usize,
    /// For each position, the unknowns that its elimination touches.
    pub neighbours: Vec<Vec<usize>>,
}

/// Cost of one elimination, in units of one multiply-subtract: `degree²` for the matrix and
/// twice `degree` for the right-hand side and back-substitution. A trailing pivot also costs a
/// division and its device work of memory traffic, taken as eight such units, and is
/// counted one and a half times per step; one that changes once a step costs the same once; a
/// leading one only its right-hand side.
fn cost(degree: usize, changes: Changes) -> usize {
    let factored = degree * degree + 2 * degree + 8;
    match changes {
        Changes::EachIteration => 3 * factored,
        Changes::EachStep => 2 * factored,
        Changes::Never => 2 * (2 * degree + 2),
    }
}

fn simulate(pattern: &Pattern, changes: &[Changes]) -> (usize, Order) {
    let n = changes.len();
    let mut work = pattern.clone();
    let mut done = vec![false; n];
    let mut total = 0;
    let mut order = Order {
        unknowns: Vec::with_capacity(n),
        constant: 0,
        leading: 0,
        neighbours: Vec::with_capacity(n),
    };
    for phase in [Changes::Never, Changes::EachStep, Changes::EachIteration] {
        loop {
            let next = (0..n)
                .filter(|&u| !done[u] && changes[u] == phase)
                .min_by_key(|&u| (work.degree(u), u));
            let Some(unknown) = next else { break };
            done[unknown] = true;
            let neighbours = work.eliminate(unknown);
            total += cost(neighbours.len(), phase);
            order.unknowns.push(unknown);
            order.neighbours.push(neighbours);
        }
        match phase {
            Changes::Never => order.constant = order.unknowns.len(),
            Changes::EachStep => order.leading = order.unknowns.len(),
            Changes::EachIteration => {}
        }
    }
    (total, order)
}

/// Finds the order by minimum degree within the groups, then moves linear unknowns from the
/// groups before to the trailing one as long as that makes a step cheaper.
///
/// `pairs`: the off-diagonal places, in either or both triangles; `changes`: one entry an
/// unknown.
pub fn order(pairs: &[(usize, usize)], changes: &[Changes]) -> Order {
    let n = changes.len();
    let pattern = Pattern::new(n, pairs);
    let mut tried = changes.to_vec();
    let (mut best_cost, mut best) = simulate(&pattern, &tried);
    let mut candidates: Vec<usize> = (0..n)
        .filter(|&u| changes[u] != Changes::EachIteration)
        .collect();
    candidates.sort_by_key(|&u| (std::cmp::Reverse(pattern.degree(u)), u));
    loop {
        let before = best_cost;
        for &candidate in &candidates {
            let kept = tried[candidate];
            tried[candidate] = match kept {
                Changes::EachIteration => changes[candidate],
                _ => Changes::EachIteration,
            };
            let (total, order) = simulate(&pattern, &tried);
            if total < best_cost {
                (best_cost, best) = (total, order);
            } else {
                tried[candidate] = kept;
            }
        }
        if best_cost == before {
            return best;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Changes, order};

    fn iterated(yes: bool) -> Changes {
        if yes {
            Changes::EachIteration
        } else {
            Changes::Never
        }
    }

    #[test]
    fn every_unknown_is_eliminated_once_and_forced_ones_trail() {
        let pairs: Vec<(usize, usize)> = (0..9).map(|i| (i, i + 1)).collect();
        let changes: Vec<Changes> = (0..10)
            .map(|i| match i % 3 {
                0 => Changes::EachIteration,
                1 if i == 4 => Changes::EachStep,
                _ => Changes::Never,
            })
            .collect();
        let found = order(&pairs, &changes);
        let mut seen = found.unknowns.clone();
        seen.sort_unstable();
        assert_eq!(seen, (0..10).collect::<Vec<_>>());
        for (position, &unknown) in found.unknowns.iter().enumerate() {
            match changes[unknown] {
                Changes::Never => {}
                Changes::EachStep => assert!(position >= found.constant),
                Changes::EachIteration => assert!(position >= found.leading),
            }
        }
    }

    #[test]
    fn a_hub_between_nonlinear_unknowns_trails() {
        // Six trailing unknowns tied only to one linear hub: leading it would join all six.
        let pairs: Vec<(usize, usize)> = (1..7).map(|i| (0, i)).collect();
        let changes: Vec<Changes> = (0..7).map(|i| iterated(i > 0)).collect();
        let found = order(&pairs, &changes);
        assert_eq!(found.leading, 0);
        assert!(found.neighbours.iter().all(|n| n.len() <= 1));
    }
}
