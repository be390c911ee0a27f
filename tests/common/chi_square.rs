//! Between which bounds errors must lie that are as large as their stated deviations say: too large
//! errors fail, and so do deviations that are stated too large.

/// Standard normal deviate that one number in a thousand exceeds.
const ONE_IN_A_THOUSAND: f64 = 3.090;

/// The root mean square of so many independent errors, each over its true deviation, lies between
/// these in 998 cases of 1,000: χ² of `count` degrees over `count` by its cube root (E. Wilson,
/// M. Hilferty 1931, from memory; for ten degrees and more within 0.015).
pub fn bounds(count: usize) -> [f64; 2] {
    let part = 2.0 / (9.0 * count as f64);
    [-ONE_IN_A_THOUSAND, ONE_IN_A_THOUSAND].map(|z| {
        let root: f64 = 1.0 - part + z * part.sqrt();
        root.max(0.0).powi(3).sqrt()
    })
}

/// Root mean square.
pub fn rms(values: &[f64]) -> f64 {
    (values.iter().map(|v| v * v).sum::<f64>() / values.len() as f64).sqrt()
}

/// Holds errors over their stated deviations to their bounds, `independent` of them not hanging
/// together with one another.
pub fn assert_as_stated(what: &str, pulls: &[f64], independent: usize) {
    let [least, most] = bounds(independent);
    let rms = rms(pulls);
    println!(
        "{what}: {} errors, {rms:.2} stated deviations r.m.s., bounds {least:.2} and {most:.2}",
        pulls.len()
    );
    assert!(
        (least..=most).contains(&rms),
        "{what}: errors are {rms:.2} of the stated deviations r.m.s., not {least:.2} to {most:.2}"
    );
}

/// Against the table (1 in 1,000 and 999 in 1,000): 10 degrees 1.479 and 29.588, 30 degrees 11.588
/// and 59.703.
#[test]
fn bounds_are_those_of_the_table() {
    for (count, table) in [(10, [1.479, 29.588]), (30, [11.588, 59.703])] {
        for (bound, chi) in bounds(count).into_iter().zip(table) {
            let expected = f64::sqrt(chi / count as f64);
            assert!(
                (bound - expected).abs() < 0.015,
                "{count}: {bound} {expected}"
            );
        }
    }
}
