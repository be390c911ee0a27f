//! Triode: anode and grid current as functions of anode and grid voltage.

use super::grid::GridLaw;
use super::lanes::lanes;
use crate::numeric::real::Real;
use serde::Deserialize;

/// Currents into the electrodes of a triode and their derivatives (amperes, siemens).
#[derive(Clone, Copy, Debug)]
pub struct TriodeCurrents<T> {
    /// Anode current.
    pub anode: T,
    /// Derivative of the anode current by the anode voltage, 1/ra.
    pub anode_by_anode: T,
    /// Derivative of the anode current by the grid voltage, the mutual conductance gm.
    pub anode_by_grid: T,
    /// Grid current.
    pub grid: T,
    /// Derivative of the grid current by the grid voltage.
    pub grid_by_grid: T,
    /// A bound near the second derivative of the anode current by the effective voltage
    /// `vg + va/µ` (A/V²), for judging a Newton step.
    pub anode_curvature: T,
    /// The same for the grid current by the grid voltage.
    pub grid_curvature: T,
}

/// Parameters of the triode law, one value a lane.
///
/// `Ia = K·s³/(s + a)^1.5·(x/(x + k))²` with `x = max(va, 0)`, the smooth ramp
/// `s = ½(e + √(e² + w²))`, `e = vg + x/µ + offset`, `w = width + spread·x` and
/// `a = tail·(x/µ + width)`. Far above cut-off this is Child's three-halves power; the ramp's
/// width, growing with the anode voltage, is what a grid of uneven pitch does near cut-off, and
/// `a` makes the current fall with the cube of the ramp below it. The last factor lets the anode
/// lose its electrons to the grid as its own voltage approaches zero. With `tail` below one the
/// anode conductance cannot become negative.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TriodeLaw<T> {
    /// Amplification factor `µ` of the ramp, well above cut-off.
    pub mu: T,
    /// Perveance `K`, A/V^1.5.
    pub perveance: T,
    /// Contact potential and the like, referred to the grid, V.
    pub offset: T,
    /// Width of the bend at cut-off at zero anode voltage, V; above zero.
    pub width: T,
    /// Growth of that width with the anode voltage, V/V.
    pub spread: T,
    /// Share of the cut-off voltage over which the tail reaches, between 0 and 1.
    pub tail: T,
    /// Anode voltage `k` of the knee, V; above zero.
    pub knee: T,
    /// Grid current.
    pub grid: GridLaw<T>,
}

lanes!(TriodeLaw { mu, perveance, offset, width, spread, tail, knee } { grid: GridLaw });

impl<T: Real> TriodeLaw<T> {
    /// Currents at anode voltage `va` and grid voltage `vg`.
    ///
    /// # Real-time
    /// Allocates nothing. Three divisions, four square roots.
    #[inline(always)]
    pub fn currents(&self, va: T, vg: T) -> TriodeCurrents<T> {
        let half = T::splat(0.5);
        let two = T::splat(2.0);
        let x = va.max(T::ZERO);

        // One division serves 1/µ and 1/(x + k), another every bend: no factor can be zero.
        let beyond_knee = x + self.knee;
        let per = T::ONE / (self.mu * beyond_knee);
        let per_mu = per * beyond_knee;
        let per_knee = per * self.mu;
        let reach = x * per_mu;
        let e = vg + reach + self.offset;
        let w = self.width + self.spread * x;
        let r = (e * e + w * w).sqrt();
        let s = half * (e + r);
        let above = s + self.tail * (reach + self.width);
        let root = above.sqrt();
        let power = above * root;
        let grid_bend = self.grid.bend(vg);
        let bends = r * grid_bend.1;
        let per = T::ONE / (bends * power);
        let per_r = per * grid_bend.1 * power;
        let per_power = per * bends;
        let grid = self.grid.current(grid_bend, per * r * power);

        // g = s³/(s + a)^1.5 with its derivatives by s (twice) and by a, from u = s/(s + a).
        let u = s * root * per_power;
        let scaled = self.perveance * s * per_power;
        let space = scaled * s * s;
        let space_by_ramp = scaled * s * (T::splat(3.0) - T::splat(1.5) * u);
        let space_by_ramp_twice =
            scaled * (T::splat(6.0) - u * (T::splat(9.0) - T::splat(3.75) * u));
        let space_by_tail = -(T::splat(1.5) * scaled * s * u);
        let ramp_by_grid = s * per_r;
        let ramp_by_anode = (s * per_mu + half * w * self.spread) * per_r;
        let space_by_anode = space_by_ramp * ramp_by_anode + space_by_tail * self.tail * per_mu;

        // The knee (x/(x + k))² and its slope vanish at x = 0: below that every term is zero.
        let kept = x * per_knee;
        let kept_slope = self.knee * per_knee * per_knee;
        let knee = kept * kept;
        let knee_slope = two * kept * kept_slope;

        // Second derivatives of the ramp and of what follows it, in the steeper of the two
        // directions, at the scale of the effective voltage: the anode also widens the bend.
        let widening = self.spread * self.mu;
        let slope = (s + half * w * widening) * per_r;
        let across = w + e.abs() * widening;
        let ramp_curvature = space_by_ramp_twice * slope * slope
            + space_by_ramp * half * across * across * per_r * per_r * per_r;
        // The knee's own, 2k(k−2x)/(x+k)⁴ with its terms made positive.
        let knee_curvature = space * two * kept_slope * (kept_slope + two * kept * per_knee);
        TriodeCurrents {
            anode: space * knee,
            anode_by_anode: space_by_anode * knee + space * knee_slope,
            anode_by_grid: space_by_ramp * ramp_by_grid * knee,
            grid: grid.current,
            grid_by_grid: grid.slope,
            anode_curvature: ramp_curvature * knee
                + va.if_positive(knee_curvature * self.mu * self.mu, T::ZERO),
            grid_curvature: grid.curvature,
        }
    }
}
