//! How long something takes on a machine that does other work too.

use std::sync::LazyLock;
use std::time::Instant;

/// Seconds of a processor that this thread has used; elsewhere than on Linux those on the clock.
pub fn seconds() -> f64 {
    static START: LazyLock<Instant> = LazyLock::new(Instant::now);
    let used = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = used.and_then(|u| u.split(' ').next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(|| START.elapsed().as_secs_f64(), |n| n * 1e-9)
}
