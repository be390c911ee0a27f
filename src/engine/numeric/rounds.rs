//! The order and the way in which numbers are moved so that a processor need not wait.

/// Terms in rounds: the first of every place, then the second of every place, and so on. `place`
/// gives a term's, below `places`.
pub fn rounds<A>(
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
pub fn copy<T: Copy>(to: &mut [T], from: &[T]) {
    let (to, last_to) = to.as_chunks_mut::<4>();
    let (from, last_from) = from.as_chunks::<4>();
    for ([a, b, c, d], &[e, f, g, h]) in to.iter_mut().zip(from) {
        (*a, *b, *c, *d) = (e, f, g, h);
    }
    for (to, &from) in last_to.iter_mut().zip(last_from) {
        *to = from;
    }
}
