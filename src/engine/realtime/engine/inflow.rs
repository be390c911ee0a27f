//! What flows into the nodes in a step, added in rounds, one term a node in each: a sum would
//! otherwise wait for the one before it on the same node.

use super::Coil;
use crate::numeric::real::Real;

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

/// Terms in rounds: the first of every place, then the second of every place, and so on. `place`
/// gives a term's, below `places`.
pub(super) fn rounds<A>(
    terms: impl IntoIterator<Item = A>,
    places: usize,
    place: impl Fn(&A) -> usize,
) -> Vec<A> {
    let mut met = vec![0; places];
    let mut numbered: Vec<(usize, A)> = Vec::new();
    for term in terms {
        let round = &mut met[place(&term)];
        numbered.push((*round, term));
        *round += 1;
    }
    numbered.sort_by_key(|(round, term)| (*round, place(term)));
    numbered.into_iter().map(|(_, term)| term).collect()
}

/// Copies in registers of the numbers' own width: `copy_from_slice` calls the library, whose wider
/// loads wait until the narrower stores just made have left the processor's queue.
#[inline(always)]
pub(super) fn copy<T: Copy>(to: &mut [T], from: &[T]) {
    let (to, last_to) = to.as_chunks_mut::<4>();
    let (from, last_from) = from.as_chunks::<4>();
    for ([a, b, c, d], &[e, f, g, h]) in to.iter_mut().zip(from) {
        (*a, *b, *c, *d) = (e, f, g, h);
    }
    for (to, &from) in last_to.iter_mut().zip(last_from) {
        *to = from;
    }
}
