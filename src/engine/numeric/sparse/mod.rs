//! LU factors of a sparse matrix with a fixed, symmetric pattern, over any [`Field`].
//!
//! The pattern is compiled once into a [`Program`]: a flat list of slots and, per pivot, the
//! slots that its elimination changes. Factoring and solving then run through the list without
//! searching. No pivoting takes place: the diagonal of a nodal matrix of passive parts with gain
//! between them serves, and tests compare with a pivoting solver.

mod kernel;

pub use super::elimination::Changes;
use super::elimination::{Order, order};
use super::real::Field;

/// One elimination. Its slots lie together: diagonal, then `degree` of the row, then `degree` of
/// the column.
#[derive(Clone, Copy, Debug)]
struct Pivot {
    slot: u16,
    degree: u16,
    /// Where its neighbours' positions start in `Program::neighbours`.
    neighbours: u32,
    /// Where its `degree²` target slots start in `Program::targets`.
    targets: u32,
}

/// A compiled pattern.
#[derive(Clone, Debug)]
pub struct Program {
    order: Vec<usize>,
    position: Vec<usize>,
    constant: usize,
    leading: usize,
    pivots: Vec<Pivot>,
    neighbours: Vec<u16>,
    targets: Vec<u16>,
    slots: usize,
}

impl Program {
    /// Compiles the pattern given by off-diagonal `pairs` over `changes.len()` unknowns.
    ///
    /// # Panics
    /// When the factors need more than 65,536 slots, far beyond the checker's 256 nodes.
    pub fn new(pairs: &[(usize, usize)], changes: &[Changes]) -> Self {
        let Order {
            unknowns,
            constant,
            leading,
            neighbours,
        } = order(pairs, changes);
        let mut position = vec![0; unknowns.len()];
        for (place, &unknown) in unknowns.iter().enumerate() {
            position[unknown] = place;
        }
        let mut program = Program {
            order: unknowns,
            position,
            constant,
            leading,
            pivots: Vec::new(),
            neighbours: Vec::new(),
            targets: Vec::new(),
            slots: 0,
        };
        for list in &neighbours {
            let mut places: Vec<u16> = list.iter().map(|&u| program.position[u] as u16).collect();
            places.sort_unstable();
            program.pivots.push(Pivot {
                slot: u16::try_from(program.slots).expect("at most 65,536 slots"),
                degree: places.len() as u16,
                neighbours: program.neighbours.len() as u32,
                targets: 0,
            });
            program.slots += 1 + 2 * places.len();
            program.neighbours.extend(places);
        }
        for index in 0..program.pivots.len() {
            program.pivots[index].targets = program.targets.len() as u32;
            let list = program.neighbours_of(index).to_vec();
            for &row in &list {
                for &column in &list {
                    let slot = program
                        .slot_at(row as usize, column as usize)
                        .expect("fill is in the pattern");
                    program.targets.push(slot as u16);
                }
            }
        }
        program
    }

    fn neighbours_of(&self, position: usize) -> &[u16] {
        let pivot = self.pivots[position];
        &self.neighbours[pivot.neighbours as usize..][..pivot.degree as usize]
    }

    fn slot_at(&self, row: usize, column: usize) -> Option<usize> {
        let low = row.min(column);
        let pivot = self.pivots[low];
        if row == column {
            return Some(pivot.slot as usize);
        }
        let place = self
            .neighbours_of(low)
            .binary_search(&(row.max(column) as u16))
            .ok()?;
        let side = if row < column {
            0
        } else {
            pivot.degree as usize
        };
        Some(pivot.slot as usize + 1 + side + place)
    }

    /// Slot of the matrix entry in the row and column of two unknowns, if it is in the pattern.
    pub fn slot(&self, row: usize, column: usize) -> Option<usize> {
        self.slot_at(self.position[row], self.position[column])
    }

    /// Number of unknowns.
    pub fn unknowns(&self) -> usize {
        self.order.len()
    }
    /// Number of value slots.
    pub fn slots(&self) -> usize {
        self.slots
    }
    /// Number of pivots that change only with a value; they come first.
    pub fn constant(&self) -> usize {
        self.constant
    }
    /// Number of pivots that do not change within a step.
    pub fn leading(&self) -> usize {
        self.leading
    }
    /// First slot of the pivots from a position on.
    pub fn first_slot(&self, position: usize) -> usize {
        self.pivots
            .get(position)
            .map_or(self.slots, |p| p.slot as usize)
    }
    /// Unknown at a position.
    pub fn unknown_at(&self, position: usize) -> usize {
        self.order[position]
    }
    /// Position of an unknown: right-hand sides and solutions are kept by position.
    pub fn position(&self, unknown: usize) -> usize {
        self.position[unknown]
    }
    /// Slots of the pivots in their order; factoring leaves the inverse of each there.
    pub fn pivot_slots(&self) -> impl Iterator<Item = usize> + '_ {
        self.pivots.iter().map(|pivot| pivot.slot as usize)
    }
    /// Multiply-subtracts in one factoring of the trailing pivots.
    pub fn trailing_products(&self) -> usize {
        self.pivots[self.leading..]
            .iter()
            .map(|p| (p.degree as usize).pow(2))
            .sum()
    }

    /// Factors and solves at once, plainly: `values` becomes the factors and `right`, one entry a
    /// position, the solution.
    pub fn solve<T: Field>(&self, values: &mut [T], right: &mut [T]) {
        let all = 0..self.unknowns();
        self.factor(all.clone(), values);
        self.forward(all.clone(), values, right);
        self.backward(all, values, right);
    }

    /// Solves with the transposed matrix, plainly: `factors` as [`Program::factor`] leaves them for
    /// all positions, `right` one entry a position, which becomes the solution.
    pub fn solve_transposed<T: Field>(&self, factors: &[T], right: &mut [T]) {
        // A = LU with ones on U's diagonal: first Uᵀ downwards, then Lᵀ upwards.
        for (position, pivot) in self.pivots.iter().enumerate() {
            let row = pivot.slot as usize;
            let y = right[position];
            for (a, &later) in self.neighbours_of(position).iter().enumerate() {
                let later = later as usize;
                right[later] = right[later].minus_product(factors[row + 1 + a], y);
            }
        }
        for (position, pivot) in self.pivots.iter().enumerate().rev() {
            let column = pivot.slot as usize + 1 + pivot.degree as usize;
            let mut sum = right[position];
            for (a, &later) in self.neighbours_of(position).iter().enumerate() {
                sum = sum.minus_product(factors[column + a], right[later as usize]);
            }
            right[position] = sum * factors[pivot.slot as usize];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::{Changes, Program};
    use crate::numeric::random::Random;
    use crate::numeric::real::Field;
    use num_complex::Complex64;

    /// Gaussian elimination with partial pivoting, the reference.
    fn dense(mut a: Vec<Vec<Complex64>>, mut b: Vec<Complex64>) -> Vec<Complex64> {
        let n = b.len();
        for k in 0..n {
            let best = (k..n)
                .max_by(|&i, &j| a[i][k].norm().total_cmp(&a[j][k].norm()))
                .unwrap();
            a.swap(k, best);
            b.swap(k, best);
            for i in k + 1..n {
                let m = a[i][k] / a[k][k];
                let pivot = a[k].clone();
                for (x, u) in a[i][k..].iter_mut().zip(&pivot[k..]) {
                    *x -= m * u;
                }
                let y = b[k];
                b[i] -= m * y;
            }
        }
        for k in (0..n).rev() {
            for j in k + 1..n {
                let x = b[j];
                b[k] -= a[k][j] * x;
            }
            b[k] /= a[k][k];
        }
        b
    }

    #[test]
    fn agrees_with_a_pivoting_dense_solver() {
        let mut sequence = Random::new(1, 0);
        let mut random = move || sequence.unit() - 0.5;
        for n in [1usize, 2, 5, 12, 40] {
            let mut pairs = Vec::new();
            for i in 0..n {
                for j in 0..i {
                    if random() > 0.5 - 3.0 / n as f64 {
                        pairs.push((i, j));
                    }
                }
            }
            let kinds = [
                Changes::EachIteration,
                Changes::Never,
                Changes::EachIteration,
                Changes::EachStep,
            ];
            let changes: Vec<Changes> = (0..n).map(|i| kinds[i % 4]).collect();
            let program = Program::new(&pairs, &changes);
            let mut matrix = vec![vec![Complex64::ZERO; n]; n];
            for &(i, j) in &pairs {
                matrix[i][j] = Complex64::new(random(), random());
                matrix[j][i] = Complex64::new(random(), random());
            }
            for (i, row) in matrix.iter_mut().enumerate() {
                row[i] = Complex64::new(n as f64, random());
            }
            let right: Vec<Complex64> =
                (0..n).map(|_| Complex64::new(random(), random())).collect();
            let mut values = vec![<Complex64 as Field>::ZERO; program.slots()];
            for (i, row) in matrix.iter().enumerate() {
                for (j, &entry) in row.iter().enumerate() {
                    match program.slot(i, j) {
                        Some(slot) => values[slot] = entry,
                        None => assert_eq!(entry, Complex64::ZERO),
                    }
                }
            }
            let by_position: Vec<Complex64> =
                (0..n).map(|p| right[program.unknown_at(p)]).collect();
            let (mut solution, mut across) = (by_position.clone(), by_position);
            program.solve(&mut values, &mut solution);
            program.solve_transposed(&values, &mut across);
            let turned = (0..n)
                .map(|i| matrix.iter().map(|row| row[i]).collect())
                .collect();
            for (what, solution, expected) in [
                ("as it is", solution, dense(matrix, right.clone())),
                ("transposed", across, dense(turned, right)),
            ] {
                for (unknown, &x) in expected.iter().enumerate() {
                    let difference = (solution[program.position(unknown)] - x).norm();
                    assert!(
                        difference < 1e-12 * n as f64,
                        "{what}, n {n}, unknown {unknown}: {difference}"
                    );
                }
            }
        }
    }
}
