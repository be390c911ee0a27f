//! From values to positions and preferred values.

use super::adjustable::{Adjustable, AdjustableKind};

/// Preferred values in an adjustable's range, rising.
pub fn preferred(adjustable: &Adjustable) -> Vec<f64> {
    let AdjustableKind::Value { low, high, .. } = adjustable.kind else {
        return Vec::new();
    };
    let series = adjustable.series();
    let first = series.next(low * (1.0 - 1e-6));
    std::iter::successors(Some(first), |&value| Some(series.next(value)))
        .take_while(|&value| value <= high)
        .collect()
}

/// Share of an adjustable's range at which a value stands, 0 to 1.
pub fn position(adjustable: &Adjustable, value: f64) -> f64 {
    match &adjustable.kind {
        AdjustableKind::Value { low, high, .. } => (value / low).ln() / (high / low).ln(),
        AdjustableKind::Choice { types } if types.len() > 1 => value / (types.len() - 1) as f64,
        AdjustableKind::Choice { .. } => 0.0,
        _ => value,
    }
}

/// Rounded to four significant digits.
pub fn four_digits(value: f64) -> f64 {
    let unit = 10f64.powi(value.abs().log10().floor() as i32 - 3);
    // Dividing by a power of ten that is exact keeps decimal values exact.
    if unit < 1.0 {
        let scale = (1.0 / unit).round();
        (value * scale).round() / scale
    } else {
        (value / unit).round() * unit
    }
}
