//! The three inner loops of the factors, without bounds checks.
//!
//! Checking every index cost 10 % of a step. The proof that none is needed: a [`Program`] is made
//! only by [`Program::new`], its fields are private to this module and its parent, and nothing
//! changes them. `new` gives every pivot `1 + 2·degree` slots of its own below `slots`, fills
//! `targets` with slots that it has looked up, hence below `slots`, `degree²` a pivot, and
//! `neighbours` with positions of unknowns, hence below `order.len()`, `degree` a pivot. Each
//! function asserts that the slices it is handed are that long; pivots are fetched with a check.

use super::Program;
use crate::numeric::real::Field;

impl Program {
    /// Factors the pivots of `range` in place.
    ///
    /// `values`: one entry a slot, the matrix before and its factors after; each diagonal is
    /// replaced by its reciprocal and each column by its multipliers.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn factor<T: Field>(&self, range: std::ops::Range<usize>, values: &mut [T]) {
        assert!(values.len() >= self.slots);
        for pivot in &self.pivots[range] {
            let degree = pivot.degree as usize;
            let slot = pivot.slot as usize;
            // SAFETY: see the module's header.
            unsafe {
                let inverse = T::ONE / *values.get_unchecked(slot);
                *values.get_unchecked_mut(slot) = inverse;
                let mut target = self.targets.as_ptr().add(pivot.targets as usize);
                for a in 0..degree {
                    let multiplier = *values.get_unchecked(slot + 1 + degree + a) * inverse;
                    *values.get_unchecked_mut(slot + 1 + degree + a) = multiplier;
                    for b in 0..degree {
                        let t = *target as usize;
                        target = target.add(1);
                        *values.get_unchecked_mut(t) = values
                            .get_unchecked(t)
                            .minus_product(multiplier, *values.get_unchecked(slot + 1 + b));
                    }
                }
            }
        }
    }

    /// Forward substitution of the pivots of `range`; `right`: one entry a position.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn forward<T: Field>(&self, range: std::ops::Range<usize>, values: &[T], right: &mut [T]) {
        assert!(values.len() >= self.slots && right.len() >= self.order.len());
        for position in range {
            let pivot = self.pivots[position];
            let degree = pivot.degree as usize;
            // SAFETY: see the module's header.
            unsafe {
                let y = *right.get_unchecked(position);
                for a in 0..degree {
                    let row =
                        *self.neighbours.get_unchecked(pivot.neighbours as usize + a) as usize;
                    let m = *values.get_unchecked(pivot.slot as usize + 1 + degree + a);
                    *right.get_unchecked_mut(row) = right.get_unchecked(row).minus_product(m, y);
                }
            }
        }
    }

    /// Back-substitution of the pivots of `range`, last first: the right-hand side of those
    /// positions becomes the solution. Later positions must hold their solution already.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn backward<T: Field>(&self, range: std::ops::Range<usize>, values: &[T], right: &mut [T]) {
        assert!(values.len() >= self.slots && right.len() >= self.order.len());
        for position in range.rev() {
            let pivot = self.pivots[position];
            let degree = pivot.degree as usize;
            // SAFETY: see the module's header.
            unsafe {
                let mut sum = *right.get_unchecked(position);
                for a in 0..degree {
                    let column =
                        *self.neighbours.get_unchecked(pivot.neighbours as usize + a) as usize;
                    sum = sum.minus_product(
                        *values.get_unchecked(pivot.slot as usize + 1 + a),
                        *right.get_unchecked(column),
                    );
                }
                *right.get_unchecked_mut(position) =
                    sum * *values.get_unchecked(pivot.slot as usize);
            }
        }
    }
}
