//! Products of vectors.

/// `aᵀ·b`.
pub fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// `xᵀ·A·x`.
pub fn quadratic_form(matrix: &[Vec<f64>], x: &[f64]) -> f64 {
    let rows = matrix.iter().zip(x);
    rows.map(|(row, x_i)| x_i * dot(row, x)).sum()
}
