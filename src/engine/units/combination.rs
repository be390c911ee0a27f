//! A value that no shop has, made of two that it has: in series or side by side.

use super::Series;

/// Two parts for one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Combination {
    /// The two values, the larger first, SI units.
    pub values: [f64; 2],
    /// Whether the values add up: resistors in series, capacitors side by side. Otherwise their
    /// reciprocals do.
    pub added: bool,
    /// What they make together.
    pub value: f64,
}

/// The pair of a series' values that comes nearest to `value` in ratio; the simpler way of joining
/// wins a draw, which is adding. None for what is no positive number.
///
/// Both values are sought within a factor of 100 of the whole: a smaller part beside a larger one
/// is lost in the larger one's tolerance.
pub fn combination(series: Series, value: f64) -> Option<Combination> {
    if !(value.is_finite() && value > 0.0) {
        return None;
    }
    let pairs = [true, false].into_iter().flat_map(|added| {
        // The larger share of a sum lies between a half of it and all of it, of reciprocals
        // likewise.
        let (from, to) = match added {
            true => (0.5 * value, value),
            false => (value, 2.0 * value),
        };
        values(series, from, to).filter_map(move |first| {
            let rest = match added {
                true => value - first,
                false => 1.0 / (1.0 / value - 1.0 / first),
            };
            let reach = match added {
                true => rest > value / 100.0,
                false => rest.is_finite() && rest > 0.0 && rest < value * 100.0,
            };
            let second = reach.then(|| series.nearest(rest))?;
            let made = match added {
                true => first + second,
                false => first * second / (first + second),
            };
            Some(Combination {
                values: [first.max(second), first.min(second)],
                added,
                value: made,
            })
        })
    });
    let off = |c: &Combination| (c.value / value).ln().abs();
    pairs.min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// The values of a series from `from` to `to`, with one beyond each end.
fn values(series: Series, from: f64, to: f64) -> impl Iterator<Item = f64> {
    let mut next = series.previous(from);
    std::iter::from_fn(move || {
        let now = next;
        next = series.next(next);
        (now <= to * 1.2).then_some(now)
    })
}
