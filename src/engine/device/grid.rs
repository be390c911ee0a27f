//! Current into a control grid: one law for triodes and pentodes.

use super::lanes::lanes;
use crate::numeric::real::Real;
use serde::Deserialize;

/// Parameters of the grid-current law, one value a lane.
///
/// `Ig = K·s³/((s + c)·√((s + c)(1 + d·s)))` with the smooth ramp
/// `s = ½(e + √(e² + w²))`, `e = vg + offset`. Well above zero this is `K·vg^1.5`, flattening
/// into a straight line of slope `K/√d`; below zero it falls with the third power of the ramp,
/// so that a grid leak of megohms is not disturbed.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct GridLaw<T> {
    /// Perveance `K`, A/V^1.5.
    pub perveance: T,
    /// Voltage added to the grid before anything else, V.
    pub offset: T,
    /// Width `w` of the ramp's bend, V.
    pub width: T,
    /// Voltage `c` below which the current falls with the cube of the ramp, V.
    pub threshold: T,
    /// Flattening `d` at high positive grid, 1/V.
    pub flattening: T,
}

/// Grid current with its first two derivatives by the grid voltage.
#[derive(Clone, Copy, Debug)]
pub struct GridCurrent<T> {
    /// Current into the grid, A.
    pub current: T,
    /// First derivative, S.
    pub slope: T,
    /// An upper estimate of the second derivative, A/V².
    pub curvature: T,
}

lanes!(GridLaw {
    perveance,
    offset,
    width,
    threshold,
    flattening
});

impl<T: Real> GridLaw<T> {
    /// `e = vg + offset` and `r = √(e² + w²)`: the caller divides by `r` together with its own
    /// denominators and hands `1/r` to [`GridLaw::current`].
    #[inline(always)]
    pub(crate) fn bend(&self, vg: T) -> (T, T) {
        let e = vg + self.offset;
        (e, (e * e + self.width * self.width).sqrt())
    }

    /// The current at grid voltage `vg`.
    pub fn at(&self, vg: T) -> GridCurrent<T> {
        let bend = self.bend(vg);
        self.current(bend, T::ONE / bend.1)
    }

    /// The current, from what [`GridLaw::bend`] gave and `per_r = 1/r`.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub(crate) fn current(&self, (e, r): (T, T), per_r: T) -> GridCurrent<T> {
        let half = T::splat(0.5);
        let s = half * (e + r);
        let above = s + self.threshold;
        let flat = T::ONE + self.flattening * s;
        // (s + c)(1 + d·s) ≥ c > 0, so nothing here can divide by zero; s itself may round to
        // zero far below cut-off and is never divided by.
        let product = above * flat;
        let root = product.sqrt();
        let per = T::ONE / (above * product * root);
        let scaled = self.perveance * s * per;
        // dI/ds = I·(3/s − 1.5/(s+c) − 0.5·d/(1+d·s)), brought over the common denominator.
        let by_ramp_over_s = scaled
            * (T::splat(3.0) * product
                - s * (T::splat(1.5) * flat + half * self.flattening * above));
        let by_ramp = by_ramp_over_s * s;
        let ramp_slope = s * per_r;
        // d²I/ds² ≤ (dI/ds)/s·(2 − 1.5·s/(s+c)): exact in both limits, a little high between
        // them. d²s/dv² = ½w²/r³.
        let bend = T::splat(2.0) - T::splat(1.5) * s * per * product * root;
        let curvature = by_ramp_over_s * bend * ramp_slope * ramp_slope
            + by_ramp * half * self.width * self.width * per_r * per_r * per_r;
        GridCurrent {
            current: scaled * s * s * product,
            slope: by_ramp * ramp_slope,
            curvature,
        }
    }
}
