//! Cholesky factors of a small dense matrix, symmetric and positive: for distances weighted with a
//! covariance, and for least squares.

/// Lower factor `L` of `A = L·Lᵀ`, row by row.
#[derive(Clone, Debug, PartialEq)]
pub struct Cholesky {
    rows: Vec<Vec<f64>>,
}

impl Cholesky {
    /// Factors a matrix given by its rows, of which the lower half is read; none where it is not
    /// positive.
    pub fn new(matrix: &[Vec<f64>]) -> Option<Cholesky> {
        let mut rows: Vec<Vec<f64>> = Vec::with_capacity(matrix.len());
        for (i, row) in matrix.iter().enumerate() {
            let mut new = vec![0.0; i + 1];
            for j in 0..=i {
                let other = if j < i { &rows[j] } else { &new };
                let dot: f64 = (0..j).map(|k| new[k] * other[k]).sum();
                let left = row[j] - dot;
                new[j] = if j < i {
                    left / rows[j][j]
                } else if left > 0.0 && left.is_finite() {
                    left.sqrt()
                } else {
                    return None;
                };
            }
            rows.push(new);
        }
        Some(Cholesky { rows })
    }

    /// `xᵀ·A⁻¹·x`: the squared distance in units of the covariance `A`.
    pub fn distance(&self, x: &[f64]) -> f64 {
        self.white(x).iter().map(|y| y * y).sum()
    }

    /// The multiple `k` of `direction` for which `x − k·direction` is nearest to zero; 0 for a
    /// direction that leads nowhere.
    pub fn share_along(&self, x: &[f64], direction: &[f64]) -> f64 {
        let (x, direction) = (self.white(x), self.white(direction));
        let square: f64 = direction.iter().map(|d| d * d).sum();
        let dot: f64 = x.iter().zip(&direction).map(|(x, d)| x * d).sum();
        if square > 0.0 { dot / square } else { 0.0 }
    }

    /// `ln det A`.
    pub fn log_determinant(&self) -> f64 {
        let diagonal = self.rows.iter().filter_map(|row| row.last());
        2.0 * diagonal.map(|d| d.ln()).sum::<f64>()
    }

    /// `A⁻¹·x`.
    pub fn solve(&self, x: &[f64]) -> Vec<f64> {
        let mut solved = self.white(x);
        for i in (0..solved.len()).rev() {
            solved[i] /= self.rows[i][i];
            for j in 0..i {
                solved[j] -= self.rows[i][j] * solved[i];
            }
        }
        solved
    }

    /// `A⁻¹` by its rows.
    pub fn inverse(&self) -> Vec<Vec<f64>> {
        let size = self.rows.len();
        let unit = |i: usize| (0..size).map(|j| f64::from(u8::from(i == j))).collect();
        (0..size)
            .map(|i| {
                let unit: Vec<f64> = unit(i);
                self.solve(&unit)
            })
            .collect()
    }

    /// `L·x`: of independent entries of variance 1 it makes entries with the covariance `A`.
    pub fn coloured(&self, x: &[f64]) -> Vec<f64> {
        let row = |row: &Vec<f64>| row.iter().zip(x).map(|(l, x)| l * x).sum();
        self.rows.iter().map(row).collect()
    }

    /// `L⁻¹·x`: with the covariance `A` its entries are independent and of variance 1.
    pub fn white(&self, x: &[f64]) -> Vec<f64> {
        let mut solved: Vec<f64> = Vec::with_capacity(x.len());
        for (row, &x) in self.rows.iter().zip(x) {
            let (diagonal, before) = row.split_last().unwrap_or((&1.0, &[]));
            let dot: f64 = before.iter().zip(&solved).map(|(a, b)| a * b).sum();
            solved.push((x - dot) / diagonal);
        }
        solved
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A = [[4, 2], [2, 3]] has A⁻¹ = [[3, −2], [−2, 4]]/8, by hand.
    #[test]
    fn a_distance_by_hand() {
        let factors = Cholesky::new(&[vec![4.0, 2.0], vec![2.0, 3.0]]).expect("positive");
        let distance = |x: f64, y: f64| (3.0 * x * x - 4.0 * x * y + 4.0 * y * y) / 8.0;
        for [x, y] in [[1.0, 0.0], [0.0, 1.0], [2.0, -3.0]] {
            assert!((factors.distance(&[x, y]) - distance(x, y)).abs() < 1e-14);
        }
        // Along (1, 0) the distance of (2 − k, −3) is least where 6·(2 − k) + 12 = 0: k = 4.
        assert!((factors.share_along(&[2.0, -3.0], &[1.0, 0.0]) - 4.0).abs() < 1e-14);
        assert_eq!(factors.share_along(&[2.0, -3.0], &[0.0, 0.0]), 0.0);
        assert!((factors.log_determinant() - 8f64.ln()).abs() < 1e-14);
        assert_eq!(factors.white(&factors.coloured(&[1.0, -2.0])), [1.0, -2.0]);
        let by_hand = [[0.375, -0.25], [-0.25, 0.5]];
        for (row, by_hand) in factors.inverse().iter().zip(by_hand) {
            let off = row.iter().zip(by_hand).map(|(a, b)| (a - b).abs());
            assert!(off.fold(0.0, f64::max) < 1e-15);
        }
    }

    #[test]
    fn what_is_not_positive_has_no_factors() {
        assert_eq!(Cholesky::new(&[vec![1.0, 2.0], vec![2.0, 1.0]]), None);
        assert_eq!(Cholesky::new(&[vec![f64::NAN]]), None);
        assert_eq!(Cholesky::new(&[]).map(|f| f.distance(&[])), Some(0.0));
    }
}
