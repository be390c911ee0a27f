//! The weighting of the loudness measure over frequency, to weigh bands as it does.

use num_complex::Complex64;
use std::f64::consts::TAU;

/// Rate that the printed coefficients are for, Hz.
const RATE: f64 = 48_000.0;

/// ITU-R BS.1770-4, Tables 1 and 2 (seen in secondary copies): numerators and denominators of the
/// two filters in series.
const FILTERS: [[[f64; 3]; 2]; 2] = [
    [
        [1.53512485958697, -2.69169618940638, 1.19839281085285],
        [1.0, -1.69065929318241, 0.73248077421585],
    ],
    [[1.0, -2.0, 1.0], [1.0, -1.99004745483398, 0.99007225036621]],
];

/// Power gain of the weighting at a frequency up to 24 kHz.
pub fn weight(hz: f64) -> f64 {
    let step = Complex64::from_polar(1.0, -TAU * hz / RATE);
    let polynomial = |c: &[f64; 3]| c[0] + step * (c[1] + step * c[2]);
    let gain = |[over, under]: &[[f64; 3]; 2]| (polynomial(over) / polynomial(under)).norm_sqr();
    FILTERS.iter().map(gain).product()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Gain of the K-weighting, dB, computed from the coefficients of BS.1770-4; at 997 Hz it is
    /// 0.691 dB.
    #[test]
    fn the_weighting_curve() {
        for (hz, db) in [
            (50.0, -3.934),
            (100.0, -1.134),
            (500.0, 0.043),
            (997.0, 0.691),
            (4000.0, 3.968),
        ] {
            let gain = 10.0 * weight(hz).log10();
            assert!((gain - db).abs() < 0.001, "{hz} Hz: {gain}");
        }
    }
}
