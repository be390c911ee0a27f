//! Independent pieces of work on all cores, with a caller who hears how far they are and may give
//! them up.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

/// Told the share that is done, answers whether to go on.
pub type GoOn<'a> = &'a mut dyn FnMut(f64) -> bool;

/// Does `count` pieces of work on all cores. `go_on` is asked from the calling thread only; the
/// pieces get one of their own, told the share of the piece.
pub fn on_all_cores<T: Send>(
    count: usize,
    go_on: GoOn<'_>,
    work: &(dyn Fn(usize, GoOn<'_>) -> Option<T> + Sync),
) -> Option<Vec<T>> {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let next = AtomicUsize::new(0);
    let finished = AtomicUsize::new(0);
    let given_up = AtomicBool::new(false);
    let run = |ask: &mut dyn FnMut(f64) -> bool| {
        let mut results = Vec::new();
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            if index >= count || given_up.load(Ordering::Relaxed) {
                return results;
            }
            let share =
                |piece: f64| (finished.load(Ordering::Relaxed) as f64 + piece) / count as f64;
            let mut told = |piece: f64| {
                let on = ask(share(piece).min(1.0)) && !given_up.load(Ordering::Relaxed);
                given_up.fetch_or(!on, Ordering::Relaxed);
                on
            };
            match work(index, &mut told) {
                Some(result) => results.push((index, result)),
                None => given_up.store(true, Ordering::Relaxed),
            }
            finished.fetch_add(1, Ordering::Relaxed);
        }
    };
    let mut results = std::thread::scope(|scope| {
        let others: Vec<_> = (1..cores.min(count))
            .map(|_| scope.spawn(|| run(&mut |_| true)))
            .collect();
        let mut results = run(go_on);
        for other in others {
            let more = other.join();
            results.extend(more.unwrap_or_else(|fault| std::panic::resume_unwind(fault)));
        }
        results
    });
    results.sort_by_key(|(index, _)| *index);
    let all = results.len() == count && !given_up.load(Ordering::Relaxed);
    all.then(|| results.into_iter().map(|(_, result)| result).collect())
}
