//! Triode: anode and grid current as functions of anode and grid voltage.

use crate::numeric::real::Real;

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
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TriodeLaw<T> {
    /// Amplification factor.
    pub mu: T,
    /// Perveance, A/V^1.5.
    pub perveance: T,
    /// Width of the transition at cut-off, V.
    pub knee: T,
    /// Grid current perveance, A/V^1.5.
    pub grid_perveance: T,
}

impl<T: Real> TriodeLaw<T> {
    /// Copies one lane's parameters from a single law.
    pub fn set_lane(&mut self, lane: usize, law: &TriodeLaw<f64>) {
        self.mu.set_lane(lane, law.mu);
        self.perveance.set_lane(lane, law.perveance);
        self.knee.set_lane(lane, law.knee);
        self.grid_perveance.set_lane(lane, law.grid_perveance);
    }

    /// The same law in every lane.
    pub fn splat(law: &TriodeLaw<f64>) -> Self {
        TriodeLaw {
            mu: T::splat(law.mu),
            perveance: T::splat(law.perveance),
            knee: T::splat(law.knee),
            grid_perveance: T::splat(law.grid_perveance),
        }
    }

    /// Currents at anode voltage `va` and grid voltage `vg`.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn currents(&self, va: T, vg: T) -> TriodeCurrents<T> {
        // PROVISIONAL: replaced by the fitted law.
        let half = T::splat(0.5);
        let e = vg + va / self.mu;
        let r = (e * e + self.knee * self.knee).sqrt();
        let s = half * (e + r);
        let ds = s / r;
        let root = s.sqrt();
        let ik = self.perveance * s * root;
        let dik = self.perveance * T::splat(1.5) * root * ds;
        let saturation = T::splat(10.0);
        let den = va.max(T::ZERO) + saturation;
        let f = va.max(T::ZERO) / den;
        let df = va.if_positive(saturation / (den * den), T::ZERO);
        let w = T::splat(0.2);
        let rg = (vg * vg + w * w).sqrt();
        let sg = half * (vg + rg);
        let q = sg * sg * sg;
        let den_g = (sg + w) * (sg + w).sqrt();
        let grid = self.grid_perveance * q / den_g;
        let grid_by_s = grid * (T::splat(3.0) / sg - T::splat(1.5) / (sg + w));
        TriodeCurrents {
            anode: ik * f,
            anode_by_anode: dik * f / self.mu + ik * df,
            anode_by_grid: dik * f,
            grid,
            grid_by_grid: grid_by_s * sg / rg,
            anode_curvature: self.perveance / (root + T::splat(0.1)),
            grid_curvature: self.grid_perveance / (sg.sqrt() + T::splat(0.3)),
        }
    }
}
