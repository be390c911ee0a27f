//! Full-wave rectifier with reservoir, averaged over a mains half-period.
//!
//! The current that a rectifier pushes into a reservoir at a given voltage, averaged over the
//! half-period, is a smooth function of that voltage. It carries the regulation (sag) of the
//! supply and leaves out its ripple.

use crate::numeric::real::Real;

/// Averaged current out of the rectifier's cathode and its derivative.
#[derive(Clone, Copy, Debug)]
pub struct RectifierCurrent<T> {
    /// Average current into the reservoir, A.
    pub current: T,
    /// Derivative by the reservoir voltage, S; never positive.
    pub by_voltage: T,
}

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

impl<T: Real> RectifierLaw<T> {
    /// Copies one lane's parameters from a single law.
    pub fn set_lane(&mut self, lane: usize, law: &RectifierLaw<f64>) {
        self.peak.set_lane(lane, law.peak);
        self.resistance.set_lane(lane, law.resistance);
        self.drop.set_lane(lane, law.drop);
    }

    /// The same law in every lane.
    pub fn splat(law: &RectifierLaw<f64>) -> Self {
        RectifierLaw {
            peak: T::splat(law.peak),
            resistance: T::splat(law.resistance),
            drop: T::splat(law.drop),
        }
    }

    /// Average current at reservoir voltage `v`.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn current(&self, v: T) -> RectifierCurrent<T> {
        // PROVISIONAL: replaced by the averaged law.
        let over = (self.peak - v).max(T::ZERO);
        RectifierCurrent {
            current: T::splat(0.2) * over / self.resistance,
            by_voltage: over.if_positive(-(T::splat(0.2) / self.resistance), T::ZERO),
        }
    }
}
