//! Full-wave rectifier with reservoir, averaged over a mains half-period.
//!
//! The current that a rectifier pushes into a reservoir at a given voltage, averaged over the
//! half-period, is a smooth function of that voltage. It carries the regulation (sag) of the
//! supply and leaves out its ripple.
//!
//! With `w` the winding's voltage over its peak `P`, `u = v/P` and `i` the current of one anode,
//! the average is `I(v) = (2/π)·∫ᵤ¹ i(P·(w − u))/√(1 − w²) dw`. Substituting
//! `w = u + (1 − u)(1 − z²)` takes the root's infinity away:
//! `I = (4/π)·√(1 − u)·∫₀¹ i(P(1 − u)(1 − z²))/√(2 − (1 − u)z²) dz`, a smooth integrand that five
//! Gauss-Legendre nodes integrate to 0.03 %.

use super::lanes::lanes;
use crate::numeric::real::Real;

/// Averaged current out of the rectifier's cathode and its derivative.
#[derive(Clone, Copy, Debug)]
pub struct RectifierCurrent<T> {
    /// Average current into the reservoir, A.
    pub current: T,
    /// Derivative by the reservoir voltage, S; never positive.
    pub by_voltage: T,
}

/// Nodes `z` of five-point Gauss-Legendre integration from 0 to 1, and their weights.
const NODES: [(f64, f64); 5] = [
    (0.046_910_077_030_668_004, 0.118_463_442_528_094_54),
    (0.230_765_344_947_158_45, 0.239_314_335_249_683_24),
    (0.5, 0.284_444_444_444_444_44),
    (0.769_234_655_052_841_6, 0.239_314_335_249_683_24),
    (0.953_089_922_969_332, 0.118_463_442_528_094_54),
];
/// Newton iterations for the current of one anode; the start is within a third of the answer for
/// any resistance that a winding has, and each iteration squares the error.
const ITERATIONS: usize = 4;
/// Smallest resistance and valve drop that the law divides by, Ω and V/A^(2/3).
const SMALLEST: f64 = 1e-3;

/// Parameters of the averaged rectifier, one value a lane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RectifierLaw<T> {
    /// Peak voltage of half the winding, V.
    pub peak: T,
    /// Resistance of winding and limiting resistors in each anode, Ω.
    pub resistance: T,
    /// `K^(−2/3)` of the valve law `i = K·v^1.5`, V/A^(2/3); 0 for silicon.
    pub drop: T,
}

lanes!(RectifierLaw {
    peak,
    resistance,
    drop
});

impl<T: Real> RectifierLaw<T> {
    /// Average current at reservoir voltage `v`.
    ///
    /// Exact between 0 V and the winding's peak, zero above, a straight line below 0 V.
    ///
    /// # Real-time
    /// Allocates nothing. About 45 divisions and square roots: evaluate it once a step.
    #[inline(always)]
    pub fn current(&self, v: T) -> RectifierCurrent<T> {
        let half = T::splat(0.5);
        let one = T::ONE;
        let per_peak = one / self.peak;
        let headroom = (self.peak - v) * per_peak;
        // Above the peak the smallest headroom stands in, and the result is masked.
        let a = headroom.max(T::splat(1e-12)).min(one);
        let below_zero = (headroom - one).max(T::ZERO);
        let root = a.sqrt();
        let reach = self.peak * a;

        // One anode: R·y³ + D·y² = volts with y = i^(1/3). In units of y₀ = √(volts/D) this is
        // ρ·η³ + η² = 1 with ρ = R·y₀/D. Silicon has D = 0 and needs no iteration.
        let resistance = self.resistance.max(T::splat(SMALLEST));
        let drop = self.drop.max(T::splat(SMALLEST));
        let per_drop = one / drop;
        let per_resistance = one / resistance;
        let full = (reach * per_drop).sqrt();
        let full_ratio = resistance * full * per_drop;

        let mut sum = T::ZERO;
        let mut slope = T::ZERO;
        for (z, weight) in NODES {
            let share = 1.0 - z * z;
            let ratio = full_ratio * T::splat(share.sqrt());
            let mut eta = one / (one + T::splat(1.5) * ratio).sqrt().sqrt();
            for _ in 0..ITERATIONS {
                let square = eta * eta;
                eta = (one + square + T::splat(2.0) * ratio * square * eta)
                    / (eta * (T::splat(2.0) + T::splat(3.0) * ratio * eta));
            }
            let y = full * T::splat(share.sqrt()) * eta;
            let volts = reach * T::splat(share);
            // di/dvolts = 3y²/(3R·y² + 2D·y), by the implicit function.
            let valve_slope = T::splat(3.0) * y / (T::splat(3.0) * resistance * y + drop + drop);
            let i = self.drop.if_positive(y * y * y, volts * per_resistance);
            let i_slope = self.drop.if_positive(valve_slope, per_resistance);
            let arc = T::splat(2.0) - a * T::splat(z * z);
            let per_arc = T::splat(weight) / arc.sqrt();
            sum += i * per_arc;
            slope += (i_slope * self.peak * T::splat(share) + half * i * T::splat(z * z) / arc)
                * per_arc;
        }
        let scale = T::splat(4.0 / std::f64::consts::PI);
        let current = scale * root * sum;
        let by_headroom = scale * (root * slope + half * sum / root);
        RectifierCurrent {
            current: headroom.if_positive(current + by_headroom * below_zero, T::ZERO),
            by_voltage: headroom.if_positive(-(by_headroom * per_peak), T::ZERO),
        }
    }
}
