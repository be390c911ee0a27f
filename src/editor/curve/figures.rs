//! Figures of the response: at a frequency, where it differs most, and in words.

use crate::editor::analyses::reports::Quick;
use crate::text::digits::{fixed, printed_hertz, signed_db};

/// Gain at a frequency, dB: as found and proposed.
pub fn gain_at(quick: &Quick, hz: f64) -> Option<[f64; 2]> {
    let after = quick.hz.partition_point(|&x| x < hz);
    let after = after.clamp(1, quick.hz.len().checked_sub(1)?);
    let [x0, x1] = [quick.hz[after - 1].ln(), quick.hz[after].ln()];
    let share = ((hz.ln() - x0) / (x1 - x0)).clamp(0.0, 1.0);
    let between = |y: &[f64]| y[after - 1] + share * (y[after] - y[after - 1]);
    Some([between(&quick.db.as_found), between(&quick.db.proposed)])
}

/// The figures at a frequency.
pub fn in_words(quick: &Quick, hz: f64) -> String {
    let Some([a, p]) = gain_at(quick, hz) else {
        return String::new();
    };
    format!(
        "{}: as found {} dB, proposed {} dB, difference {} dB",
        printed_hertz(hz),
        fixed(a, 1),
        fixed(p, 1),
        signed_db(p - a)
    )
}

/// The picture for those who do not see it.
pub fn spoken(quick: &Quick) -> String {
    let points: Vec<String> = [82.0, 1e3, 5e3]
        .iter()
        .map(|&hz| in_words(quick, hz))
        .collect();
    format!("Response from the input. {}.", points.join(". "))
}

/// The largest difference within a range of frequencies: where, and how much, dB.
pub fn largest_difference(quick: &Quick, range: [f64; 2]) -> Option<(f64, f64)> {
    let pairs = quick.db.as_found.iter().zip(&quick.db.proposed);
    quick
        .hz
        .iter()
        .zip(pairs)
        .filter(|(hz, _)| (range[0]..=range[1]).contains(*hz))
        .map(|(&hz, (a, p))| (hz, p - a))
        .filter(|(_, db)| db.is_finite())
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
}
