//! Levels to try next, where something is reached between two that were tried.
//!
//! Everything is looked at on logarithmic axes: distortion, grid current and the nearness of
//! clipping are straight there between levels that lie close together.

/// Share of the way from the lower to the higher level at which a ratio passes 1; the end where it
/// does not rise. `floor` stands for all smaller ratios.
pub fn crossing([low, high]: [f64; 2], floor: f64) -> f64 {
    let [a, b] = [low, high].map(|ratio| ratio.max(floor).ln());
    if b > a {
        (-a / (b - a)).clamp(0.0, 1.0)
    } else {
        1.0
    }
}

/// What lies at this share of the way between two figures.
pub fn between([low, high]: [f64; 2], share: f64) -> f64 {
    let [a, b] = [low, high].map(|figure| figure.max(1e-12).ln());
    (a + (b - a) * share).exp()
}

/// How closely a level is wanted.
#[derive(Clone, Copy, Debug)]
pub struct Closeness {
    /// Ratio of a bracket that is near enough.
    pub ratio: f64,
    /// Share by which a new level keeps off the ends of its bracket and within that ratio.
    pub margin: f64,
}

/// `N` levels within the brackets (lower end, estimate, higher end) that are still too wide; none
/// when all are near enough.
pub fn next_levels<const N: usize>(
    brackets: impl Iterator<Item = [f64; 3]>,
    closeness: Closeness,
) -> Option<[f64; N]> {
    let Closeness { ratio, margin } = closeness;
    let mut open: Vec<[f64; 3]> = brackets
        .filter(|[low, _, high]| high / low > ratio)
        .collect();
    open.dedup();
    if open.is_empty() {
        return None;
    }
    // Just below and above each estimate, so that the next bracket is narrow; then, where lanes are
    // left, at even ratios between the ends, should the estimate have missed.
    let half = ratio.sqrt() * (1.0 - margin);
    let near = open.iter().flat_map(|&[low, guess, high]| {
        [guess / half, guess * half].map(|v| v.clamp(low * (1.0 + margin), high / (1.0 + margin)))
    });
    let even = (1..=N).flat_map(|n| {
        let share = n as f64 / (N + 1) as f64;
        open.iter()
            .map(move |&[low, _, high]| low * (high / low).powf(share))
    });
    let list: Vec<f64> = near.chain(even).take(N).collect();
    list.try_into().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_crossing_is_found_where_the_ratio_passes_one() {
        assert!((crossing([0.1, 10.0], 1e-9) - 0.5).abs() < 1e-12);
        assert!((crossing([2.0, 1.0], 1e-9) - 1.0).abs() < 1e-12);
        assert!((between([1.0, 4.0], 0.5) - 2.0).abs() < 1e-12);
    }

    #[test]
    fn brackets_become_narrower_until_they_are_near_enough() {
        let closeness = Closeness {
            ratio: 1.02,
            margin: 1e-4,
        };
        let levels: [f64; 4] = next_levels([[1.0, 1.5, 2.0]].into_iter(), closeness).unwrap();
        assert!(levels[0] < 1.5 && levels[1] > 1.5 && levels[1] / levels[0] < 1.02);
        assert!(levels.iter().all(|level| (1.0..2.0).contains(level)));
        let near = [[1.0, 1.005, 1.01]].into_iter();
        assert_eq!(next_levels::<4>(near, closeness), None);
    }
}
