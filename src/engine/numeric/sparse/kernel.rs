//! The three inner loops of the factors, without bounds checks.
//!
//! Checking every index cost 7 % of a step. The proof that none is needed: a [`Program`] is made
//! only by [`Program::new`], its fields are private to this module and its parent, and nothing
//! changes them. `new` gives every pivot `1 + 2·degree` slots of its own below `slots`, fills
//! `targets` with slots that it has looked up, hence below `slots`, `degree²` a pivot, and
//! `neighbours` with positions of unknowns, hence below `order.len()`, `degree` a pivot. Each
//! function asserts that the slices it is handed are that long; pivots are fetched with a check.

use super::{Pivot, Program};
use crate::numeric::real::Field;

impl Program {
    /// Factors the pivots of `range` in place.
    ///
    /// `values`: one entry a slot, the matrix before and its factors after; each diagonal is
    /// replaced by its reciprocal and each row multiplied by it.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn factor<T: Field>(&self, range: std::ops::Range<usize>, values: &mut [T]) {
        assert!(values.len() >= self.slots);
        for pivot in &self.pivots[range] {
            // SAFETY: see the module's header.
            unsafe { self.eliminate(pivot, values, |_| |_, _| ()) }
        }
    }

    /// Factors the pivots of `range` and takes the right-hand side along in one pass: what
    /// [`Program::factor`] and [`Program::forward`] do one after the other.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn factor_forward<T: Field>(
        &self,
        range: std::ops::Range<usize>,
        values: &mut [T],
        right: &mut [T],
    ) {
        assert!(values.len() >= self.slots && right.len() >= self.order.len());
        for position in range {
            let pivot = &self.pivots[position];
            let right = &mut *right;
            // SAFETY: see the module's header.
            unsafe {
                self.eliminate(pivot, values, move |inverse| {
                    let y = *right.get_unchecked(position) * inverse;
                    *right.get_unchecked_mut(position) = y;
                    move |a, below| {
                        let row =
                            *self.neighbours.get_unchecked(pivot.neighbours as usize + a) as usize;
                        *right.get_unchecked_mut(row) =
                            right.get_unchecked(row).minus_product(below, y);
                    }
                });
            }
        }
    }

    /// Eliminates one pivot, with loops of constant length for the degrees that occur most. Hands
    /// the pivot's reciprocal to `begin`, and what stands below it in each row to what that gives.
    ///
    /// # Safety
    /// `values` has a place for every slot.
    #[inline(always)]
    unsafe fn eliminate<T: Field, A: FnMut(usize, T)>(
        &self,
        pivot: &Pivot,
        values: &mut [T],
        begin: impl FnOnce(T) -> A,
    ) {
        // SAFETY: the caller's promise.
        unsafe {
            let slot = pivot.slot as usize;
            let inverse = T::ONE / *values.get_unchecked(slot);
            *values.get_unchecked_mut(slot) = inverse;
            let also = begin(inverse);
            match pivot.degree {
                1 => self.eliminate_degree::<T, 1>(pivot, inverse, values, also),
                2 => self.eliminate_degree::<T, 2>(pivot, inverse, values, also),
                3 => self.eliminate_degree::<T, 3>(pivot, inverse, values, also),
                4 => self.eliminate_degree::<T, 4>(pivot, inverse, values, also),
                5 => self.eliminate_degree::<T, 5>(pivot, inverse, values, also),
                6 => self.eliminate_degree::<T, 6>(pivot, inverse, values, also),
                _ => self.eliminate_any(pivot, inverse, values, also),
            }
        }
    }

    /// # Safety
    /// As [`Program::eliminate`]; the pivot's degree is `D`.
    #[inline(always)]
    unsafe fn eliminate_degree<T: Field, const D: usize>(
        &self,
        pivot: &Pivot,
        inverse: T,
        values: &mut [T],
        mut also: impl FnMut(usize, T),
    ) {
        let slot = pivot.slot as usize;
        // SAFETY: the caller's promise and the module's header.
        unsafe {
            let row: [T; D] =
                std::array::from_fn(|b| *values.get_unchecked(slot + 1 + b) * inverse);
            for (b, &u) in row.iter().enumerate() {
                *values.get_unchecked_mut(slot + 1 + b) = u;
            }
            let targets = self.targets.as_ptr().add(pivot.targets as usize);
            for a in 0..D {
                let below = *values.get_unchecked(slot + 1 + D + a);
                also(a, below);
                for (b, &u) in row.iter().enumerate() {
                    let t = *targets.add(a * D + b) as usize;
                    *values.get_unchecked_mut(t) = values.get_unchecked(t).minus_product(below, u);
                }
            }
        }
    }

    /// # Safety
    /// As [`Program::eliminate`].
    #[inline(always)]
    unsafe fn eliminate_any<T: Field>(
        &self,
        pivot: &Pivot,
        inverse: T,
        values: &mut [T],
        mut also: impl FnMut(usize, T),
    ) {
        let degree = pivot.degree as usize;
        let slot = pivot.slot as usize;
        // SAFETY: the caller's promise and the module's header.
        unsafe {
            for b in 0..degree {
                let u = *values.get_unchecked(slot + 1 + b) * inverse;
                *values.get_unchecked_mut(slot + 1 + b) = u;
            }
            let mut target = self.targets.as_ptr().add(pivot.targets as usize);
            for a in 0..degree {
                let below = *values.get_unchecked(slot + 1 + degree + a);
                also(a, below);
                for b in 0..degree {
                    let t = *target as usize;
                    target = target.add(1);
                    let u = *values.get_unchecked(slot + 1 + b);
                    *values.get_unchecked_mut(t) = values.get_unchecked(t).minus_product(below, u);
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
                let y = *right.get_unchecked(position) * *values.get_unchecked(pivot.slot as usize);
                *right.get_unchecked_mut(position) = y;
                for a in 0..degree {
                    let row =
                        *self.neighbours.get_unchecked(pivot.neighbours as usize + a) as usize;
                    let below = *values.get_unchecked(pivot.slot as usize + 1 + degree + a);
                    *right.get_unchecked_mut(row) =
                        right.get_unchecked(row).minus_product(below, y);
                }
            }
        }
    }

    /// Back-substitution of the pivots of `range`, last first: the right-hand side of those
    /// positions becomes the solution. Later positions must hold their solution already.
    ///
    /// Of a row's products those with the positions solved last come last, so that the others need
    /// not wait for them.
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
                for a in (0..degree).rev() {
                    let column =
                        *self.neighbours.get_unchecked(pivot.neighbours as usize + a) as usize;
                    sum = sum.minus_product(
                        *values.get_unchecked(pivot.slot as usize + 1 + a),
                        *right.get_unchecked(column),
                    );
                }
                *right.get_unchecked_mut(position) = sum;
            }
        }
    }
}
