//! Iron core of a transformer: the magnetising current beyond that of its inductance.
//!
//! A core that carries more flux than its iron likes takes a current that grows far faster than
//! the flux. With `φ` the flux linkage of the whole primary (V·s), the magnetising current is
//! `φ/L + I·(φ/φᵣ)⁹`: the inductance as stated, and a ninth power that counts near the rated flux
//! `φᵣ` only. Odd, smooth, without roots or divisions. At the rated flux the power alone takes `I`,
//! a share [`RATED_SHARE`] of the load's peak current at rated power: a stage of pentodes then loses
//! some 0.4 dB by it there, and 2 dB of the same power at two thirds of the frequency. From
//! [`SATURATED`] times the rated flux on the iron gives nothing more, and the law goes on with the
//! slope that it has there, a thousandth or so of the inductance as of a coil in air. The form is
//! the usual one of a power law added to a line; the power and the share are our choice (no source).

use super::lanes::lanes;
use crate::numeric::real::Real;

/// Parameters of a core, one value a lane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoreLaw<T> {
    /// Inverse of the rated flux linkage of the whole primary, 1/(V·s).
    pub per_flux: T,
    /// Current at the rated flux beyond that of the inductance, A; 0 for no core.
    pub amps: T,
}

lanes!(CoreLaw { per_flux, amps });

/// Current beyond that of the inductance, and its slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoreCurrent<T> {
    /// Current, A.
    pub current: T,
    /// Derivative by the flux linkage, 1/H; never negative.
    pub by_flux: T,
    /// Second derivative, 1/(H·V·s).
    pub by_flux_squared: T,
}

/// Current at the rated flux beyond that of the inductance, as a share of the load's peak current at
/// rated power.
pub const RATED_SHARE: f64 = 0.35;

/// Power of the flux.
const POWER: f64 = 9.0;
/// Flux over the rated one from which on the slope stays.
pub const SATURATED: f64 = 2.0;

impl<T: Real> CoreLaw<T> {
    /// The current at a flux linkage of `flux` V·s.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn current(&self, flux: T) -> CoreCurrent<T> {
        let whole = flux * self.per_flux;
        let end = T::splat(SATURATED);
        let x = whole.min(end).max(-end);
        let beyond = whole - x;
        let square = x * x;
        let fourth = square * square;
        let seventh = self.amps * fourth * square * x;
        let eighth = seventh * x;
        let power = T::splat(POWER);
        let slope = power * self.per_flux;
        let bend = T::splat(POWER - 1.0) * slope * self.per_flux * seventh;
        CoreCurrent {
            current: eighth * (x + power * beyond),
            by_flux: slope * eighth,
            by_flux_squared: beyond.abs().if_positive(T::ZERO, bend),
        }
    }
}

/// Newton iterations for the flux of a current: from above, where the law is convex, each takes at
/// least a ninth off.
const ITERATIONS: usize = 60;

impl CoreLaw<f64> {
    /// Current through the inductance alone (A) when the whole magnetising current is `amps`, with
    /// `henries` of inductance: what is left flows through the core.
    pub fn inductance_share(&self, amps: f64, henries: f64) -> f64 {
        if self.amps <= 0.0 || amps == 0.0 {
            return amps;
        }
        let size = amps.abs();
        // The inductance alone would need more flux.
        let mut flux = size * henries;
        for _ in 0..ITERATIONS {
            let core = self.current(flux);
            let excess = flux / henries + core.current - size;
            let step = excess / (1.0 / henries + core.by_flux);
            flux -= step;
            if step.abs() <= 1e-15 * flux {
                break;
            }
        }
        (flux / henries).copysign(amps)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const LAW: CoreLaw<f64> = CoreLaw {
        per_flux: 1.0 / 0.65,
        amps: 0.061,
    };

    #[test]
    fn the_slope_is_the_derivative() {
        for flux in [
            -1.6, -1.1, -0.65, -0.2, 0.0, 0.01, 0.4, 0.65, 0.9, 1.29, 2.0,
        ] {
            let step = 1e-6;
            let rise = LAW.current(flux + step).current - LAW.current(flux - step).current;
            let slope = LAW.current(flux).by_flux;
            assert!(
                (rise / (2.0 * step) - slope).abs() <= 1e-8 * (1.0 + slope),
                "{flux}"
            );
            let rise = LAW.current(flux + step).by_flux - LAW.current(flux - step).by_flux;
            let second = LAW.current(flux).by_flux_squared;
            assert!(
                (rise / (2.0 * step) - second).abs() <= 1e-7 * (1.0 + second.abs()),
                "{flux}"
            );
        }
        assert_eq!(LAW.current(0.0).by_flux, 0.0);
    }

    #[test]
    fn the_shares_of_a_current_add_up() {
        for amps in [-0.5, -0.045, 1e-9, 0.02, 0.1, 3.0] {
            let share = LAW.inductance_share(amps, 8.0);
            let sum = share + LAW.current(8.0 * share).current;
            assert!(
                (sum - amps).abs() < 1e-13 + 1e-12 * amps.abs(),
                "{amps}: {sum}"
            );
        }
        let none = CoreLaw { amps: 0.0, ..LAW };
        assert_eq!(none.inductance_share(0.3, 8.0), 0.3);
    }
}
