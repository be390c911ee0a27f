//! Levenberg-Marquardt least squares with a numerical Jacobian, for a dozen parameters.
//!
//! K. Levenberg, Quart. Appl. Math. 2, 164-168, 1944; D. Marquardt, SIAM J. Appl. Math. 11,
//! 431-441, 1963. Parameters are scaled by their starting values, so all must start non-zero.

/// Steps of the numerical Jacobian, relative to the starting values.
const STEP: f64 = 1e-6;
/// A step that improves the sum of squares by less than this share of it ends the fit.
const ENOUGH: f64 = 1e-15;
/// Most iterations.
const MOST: usize = 400;

/// Parameters that make the sum of the squared residuals smallest, and that sum.
///
/// `start`: one value a parameter, none zero. `residuals`: takes parameters, gives one residual
/// a point, always as many. `ranges`: lowest and highest value of each parameter; one that
/// reaches an end stays there as long as the fit pushes it outwards.
pub fn fit(
    start: &[f64],
    ranges: &[(f64, f64)],
    residuals: impl Fn(&[f64]) -> Vec<f64>,
) -> (Vec<f64>, f64) {
    let unscale = |x: &[f64]| -> Vec<f64> { x.iter().zip(start).map(|(x, s)| x * s).collect() };
    let ends: Vec<(f64, f64)> = start
        .iter()
        .zip(ranges)
        .map(|(s, (low, high))| ((low / s).min(high / s), (low / s).max(high / s)))
        .collect();
    let mut x = vec![1.0; start.len()];
    let mut r = residuals(&unscale(&x));
    let mut sum = squares(&r);
    let mut damping = 1e-3;
    let mut small_steps = 0;
    for _ in 0..MOST {
        let mut jacobian: Vec<Vec<f64>> = (0..x.len())
            .map(|k| {
                let at = |shift: f64| {
                    let mut y = x.clone();
                    y[k] += shift;
                    residuals(&unscale(&y))
                };
                let (above, below) = (at(STEP), at(-STEP));
                above
                    .iter()
                    .zip(&below)
                    .map(|(a, b)| (a - b) / (2.0 * STEP))
                    .collect()
            })
            .collect();
        for (k, column) in jacobian.iter_mut().enumerate() {
            let gradient: f64 = column.iter().zip(&r).map(|(j, r)| j * r).sum();
            let (low, high) = ends[k];
            if (x[k] <= low && gradient > 0.0) || (x[k] >= high && gradient < 0.0) {
                column.fill(0.0);
            }
        }
        let mut moved = false;
        while damping < 1e12 {
            let step = step(&jacobian, &r, damping);
            let candidate: Vec<f64> = x
                .iter()
                .zip(&step)
                .zip(&ends)
                .map(|((x, d), (low, high))| (x - d).clamp(*low, *high))
                .collect();
            let trial = residuals(&unscale(&candidate));
            let trial_sum = squares(&trial);
            if trial_sum < sum {
                let small = sum - trial_sum < ENOUGH * sum;
                small_steps = if small { small_steps + 1 } else { 0 };
                (x, r, sum) = (candidate, trial, trial_sum);
                damping = (damping * 0.2).max(1e-15);
                moved = true;
                break;
            }
            damping *= 4.0;
        }
        if !moved || small_steps >= 3 {
            break;
        }
    }
    (unscale(&x), sum)
}

fn squares(r: &[f64]) -> f64 {
    r.iter().map(|r| r * r).sum()
}

/// Solves `(JᵀJ + damping·diag(JᵀJ))·step = Jᵀr` by Gaussian elimination with pivots;
/// a parameter whose column is empty stays where it is.
fn step(jacobian: &[Vec<f64>], r: &[f64], damping: f64) -> Vec<f64> {
    let n = jacobian.len();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let mut rows: Vec<Vec<f64>> = (0..n)
        .map(|i| {
            let mut row: Vec<f64> = (0..n).map(|j| dot(&jacobian[i], &jacobian[j])).collect();
            row[i] *= 1.0 + damping;
            if row[i] == 0.0 {
                row[i] = 1.0;
            }
            row.push(dot(&jacobian[i], r));
            row
        })
        .collect();
    for k in 0..n {
        let pivot = (k..n)
            .max_by(|&a, &b| rows[a][k].abs().total_cmp(&rows[b][k].abs()))
            .unwrap_or(k);
        rows.swap(k, pivot);
        for i in 0..n {
            if i != k {
                let factor = rows[i][k] / rows[k][k];
                let (pivot_row, row) = if i < k {
                    let (low, high) = rows.split_at_mut(k);
                    (&high[0], &mut low[i])
                } else {
                    let (low, high) = rows.split_at_mut(i);
                    (&low[k], &mut high[0])
                };
                for (a, b) in row.iter_mut().zip(pivot_row) {
                    *a -= factor * b;
                }
            }
        }
    }
    (0..n).map(|k| rows[k][n] / rows[k][k]).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rosenbrock's valley, H. Rosenbrock, Computer J. 3, 1960: smallest at (1, 1), from (-1.2, 1).
    #[test]
    fn finds_the_end_of_rosenbrocks_valley() {
        let residuals = |p: &[f64]| vec![10.0 * (p[1] - p[0] * p[0]), 1.0 - p[0]];
        let (p, sum) = fit(&[-1.2, 1.0], &[(-5.0, 5.0); 2], residuals);
        assert!(sum < 1e-20, "{p:?} {sum:e}");
        assert!((p[0] - 1.0).abs() < 1e-8 && (p[1] - 1.0).abs() < 1e-8);
    }

    /// The same valley with a fence at 0.5: the best point on the fence is (0.5, 0.25).
    #[test]
    fn stops_at_the_end_of_a_range() {
        let residuals = |p: &[f64]| vec![10.0 * (p[1] - p[0] * p[0]), 1.0 - p[0]];
        let (p, _) = fit(&[-1.2, 1.0], &[(-5.0, 0.5), (-5.0, 5.0)], residuals);
        assert!(
            (p[0] - 0.5).abs() < 1e-12 && (p[1] - 0.25).abs() < 1e-8,
            "{p:?}"
        );
    }
}
