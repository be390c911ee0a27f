//! Pentode and beam tetrode: anode, screen and grid current as functions of three voltages.

use crate::numeric::real::Real;

/// Currents into the electrodes of a pentode and their derivatives (amperes, siemens).
#[derive(Clone, Copy, Debug)]
pub struct PentodeCurrents<T> {
    /// Anode current.
    pub anode: T,
    /// Derivative of the anode current by the anode voltage.
    pub anode_by_anode: T,
    /// Derivative of the anode current by the screen voltage.
    pub anode_by_screen: T,
    /// Derivative of the anode current by the control-grid voltage.
    pub anode_by_grid: T,
    /// Screen current.
    pub screen: T,
    /// Derivative of the screen current by the anode voltage.
    pub screen_by_anode: T,
    /// Derivative of the screen current by the screen voltage.
    pub screen_by_screen: T,
    /// Derivative of the screen current by the control-grid voltage.
    pub screen_by_grid: T,
    /// Control-grid current.
    pub grid: T,
    /// Derivative of the control-grid current by the control-grid voltage.
    pub grid_by_grid: T,
    /// A bound near the second derivative of the cathode current by the grid voltage (A/V²),
    /// for judging a Newton step.
    pub cathode_curvature: T,
    /// A bound near the second derivative of the anode current by the anode voltage (A/V²).
    pub anode_curvature: T,
    /// The same for the grid current by the grid voltage.
    pub grid_curvature: T,
}

/// Parameters of the pentode law, one value a lane.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PentodeLaw<T> {
    /// Amplification factor from screen to control grid.
    pub mu: T,
    /// Perveance, A/V^1.5.
    pub perveance: T,
    /// Width of the transition at cut-off, V.
    pub knee: T,
    /// Grid current perveance, A/V^1.5.
    pub grid_perveance: T,
}

impl<T: Real> PentodeLaw<T> {
    /// Copies one lane's parameters from a single law.
    pub fn set_lane(&mut self, lane: usize, law: &PentodeLaw<f64>) {
        self.mu.set_lane(lane, law.mu);
        self.perveance.set_lane(lane, law.perveance);
        self.knee.set_lane(lane, law.knee);
        self.grid_perveance.set_lane(lane, law.grid_perveance);
    }

    /// The same law in every lane.
    pub fn splat(law: &PentodeLaw<f64>) -> Self {
        PentodeLaw {
            mu: T::splat(law.mu),
            perveance: T::splat(law.perveance),
            knee: T::splat(law.knee),
            grid_perveance: T::splat(law.grid_perveance),
        }
    }

    /// Currents at anode voltage `va`, screen voltage `vs` and grid voltage `vg`.
    ///
    /// # Real-time
    /// Allocates nothing.
    #[inline(always)]
    pub fn currents(&self, va: T, vs: T, vg: T) -> PentodeCurrents<T> {
        // PROVISIONAL: replaced by the fitted law.
        let half = T::splat(0.5);
        let s_pos = vs.max(T::ZERO);
        let e = vg + s_pos / self.mu;
        let r = (e * e + self.knee * self.knee).sqrt();
        let s = half * (e + r);
        let ds = s / r;
        let root = s.sqrt();
        let gate = s_pos / (s_pos + T::splat(5.0));
        let dgate = vs.if_positive(
            T::splat(5.0) / ((s_pos + T::splat(5.0)) * (s_pos + T::splat(5.0))),
            T::ZERO,
        );
        let ik = self.perveance * s * root * gate;
        let dik = self.perveance * T::splat(1.5) * root * ds * gate;
        let dik_s = dik / self.mu + self.perveance * s * root * dgate;
        let v0 = T::splat(12.0);
        let rr = (va * va + v0 * v0).sqrt();
        let f = T::splat(0.9) * va.max(T::ZERO) / rr;
        let df = va.if_positive(T::splat(0.9) * v0 * v0 / (rr * rr * rr), T::ZERO);
        let g = T::ONE - f;
        let w = T::splat(0.2);
        let rg = (vg * vg + w * w).sqrt();
        let sg = half * (vg + rg);
        let den_g = (sg + w) * (sg + w).sqrt();
        let grid = self.grid_perveance * sg * sg * sg / den_g;
        let grid_by_s = grid * (T::splat(3.0) / sg - T::splat(1.5) / (sg + w));
        PentodeCurrents {
            anode: ik * f,
            anode_by_anode: ik * df,
            anode_by_screen: dik_s * f,
            anode_by_grid: dik * f,
            screen: ik * g,
            screen_by_anode: -(ik * df),
            screen_by_screen: dik_s * g,
            screen_by_grid: dik * g,
            grid,
            grid_by_grid: grid_by_s * sg / rg,
            cathode_curvature: self.perveance / (root + T::splat(0.1)),
            anode_curvature: ik * f / (rr * rr),
            grid_curvature: self.grid_perveance / (sg.sqrt() + T::splat(0.3)),
        }
    }
}
