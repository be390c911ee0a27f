//! Order of elimination for a sparse matrix whose pattern is symmetric and never changes.
//!
//! Takes the pattern and, for each unknown, whether it may be eliminated before the rest (its
//! equation is linear); gives the order, found once. Unknowns that must trail are factored again
//! in every Newton iteration, so the order is chosen to make that part cheap: a linear unknown
//! that would tie many trailing ones together (a supply rail, say) is left to trail as well.

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

/// The order found: unknowns by position, and each pivot's later neighbours.
#[derive(Clone, Debug)]
pub struct Order {
    /// Unknown at each position.
    pub unknowns: Vec<usize>,
    /// Number of positions that lead.
    pub leading: usize,
    /// For each position, the unknowns that its elimination touches.
    pub neighbours: Vec<Vec<usize>>,
}

/// Cost of one elimination, in units of one multiply-subtract: `degree²` for the matrix and
/// twice `degree` for the right-hand side and back-substitution. A trailing pivot also costs a
/// division and its device work of memory traffic, taken as eight such units, and is
/// counted one and a half times per step; a leading one only its right-hand side.
fn cost(degree: usize, trailing: bool) -> usize {
    if trailing {
        3 * (degree * degree + 2 * degree + 8)
    } else {
        2 * (2 * degree + 2)
    }
}

fn simulate(pattern: &Pattern, trails: &[bool]) -> (usize, Order) {
    let n = trails.len();
    let mut work = pattern.clone();
    let mut done = vec![false; n];
    let mut total = 0;
    let mut order = Order {
        unknowns: Vec::with_capacity(n),
        leading: 0,
        neighbours: Vec::with_capacity(n),
    };
    for phase in [false, true] {
        loop {
            let next = (0..n)
                .filter(|&u| !done[u] && trails[u] == phase)
                .min_by_key(|&u| (work.degree(u), u));
            let Some(unknown) = next else { break };
            done[unknown] = true;
            let neighbours = work.eliminate(unknown);
            total += cost(neighbours.len(), phase);
            order.unknowns.push(unknown);
            order.neighbours.push(neighbours);
        }
        if !phase {
            order.leading = order.unknowns.len();
        }
    }
    (total, order)
}

/// Finds the order by minimum degree within the two groups, then moves linear unknowns from the
/// leading group to the trailing one as long as that makes a step cheaper.
///
/// `pairs`: the off-diagonal places, in either or both triangles; `must_trail`: one flag an
/// unknown.
pub fn order(pairs: &[(usize, usize)], must_trail: &[bool]) -> Order {
    let n = must_trail.len();
    let pattern = Pattern::new(n, pairs);
    let mut trails = must_trail.to_vec();
    let (mut best_cost, mut best) = simulate(&pattern, &trails);
    let mut candidates: Vec<usize> = (0..n).filter(|&u| !must_trail[u]).collect();
    candidates.sort_by_key(|&u| (std::cmp::Reverse(pattern.degree(u)), u));
    loop {
        let before = best_cost;
        for &candidate in &candidates {
            trails[candidate] = !trails[candidate];
            let (total, order) = simulate(&pattern, &trails);
            if total < best_cost {
                (best_cost, best) = (total, order);
            } else {
                trails[candidate] = !trails[candidate];
            }
        }
        if best_cost == before {
            return best;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::order;

    #[test]
    fn every_unknown_is_eliminated_once_and_forced_ones_trail() {
        let pairs: Vec<(usize, usize)> = (0..9).map(|i| (i, i + 1)).collect();
        let must: Vec<bool> = (0..10).map(|i| i % 3 == 0).collect();
        let found = order(&pairs, &must);
        let mut seen = found.unknowns.clone();
        seen.sort_unstable();
        assert_eq!(seen, (0..10).collect::<Vec<_>>());
        for (position, &unknown) in found.unknowns.iter().enumerate() {
            assert!(!must[unknown] || position >= found.leading);
        }
    }

    #[test]
    fn a_hub_between_nonlinear_unknowns_trails() {
        // Six trailing unknowns tied only to one linear hub: leading it would join all six.
        let pairs: Vec<(usize, usize)> = (1..7).map(|i| (0, i)).collect();
        let must: Vec<bool> = (0..7).map(|i| i > 0).collect();
        let found = order(&pairs, &must);
        assert_eq!(found.leading, 0);
        assert!(found.neighbours.iter().all(|n| n.len() <= 1));
    }
}
