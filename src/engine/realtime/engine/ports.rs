//! Devices within a Newton iteration: stamped at their port voltages, then moved.
//!
//! A port is a voltage that a device's current depends on. Ports follow the nodes freely for the
//! first iterations; then their steps are bounded, each port for itself, so that an iterate that
//! swings about a bend (a pentode's knee, cut-off) settles.

use super::Engine;
use crate::network::devices::{rectifier_tangent, stamp_pentode, stamp_rectifier, stamp_triode};
use crate::numeric::real::Real;

/// Iterations that may move as far as they like; later ones are limited by their last step.
const FREE: usize = 2;
/// Limited ports may at first go on by this much, V: grids see cut-off and grid current within a
/// few volts, anodes and screens bend over tens.
const GRID_LIMIT: f64 = 8.0;
const ANODE_LIMIT: f64 = 100.0;
/// What is left of those limits an iteration later: in the end only swinging less counts.
const LIMIT_FADE: f64 = 0.9;
/// A limited port may always move by this much, V.
const LEAST_BOUND: f64 = 0.05;
/// A rectifier's tangent serves until its reservoir has moved this far, V: its current bends by
/// some 10 µA/V², which makes the error some 10 nA, and its law takes some 45 roots and divisions, a triode's 7.
const RESERVOIR_MOVED: f64 = 0.05;
/// Effect of a screen volt on the cathode current as a share of a grid volt's, for judging errors.
const SCREEN_SHARE: f64 = 0.05;

impl<T: Real> Engine<T> {
    /// Norton equivalents of all devices at their ports into the trailing block.
    #[inline(always)]
    pub(crate) fn stamp_devices(&mut self) {
        let (work, right) = (&mut self.work, &mut self.guess);
        let mut at = 0;
        for (site, value) in self.devices.triodes.iter().zip(&self.triodes) {
            let [va, vg, _] = self.ports[at];
            let i = stamp_triode(site, value, va, vg, work, right);
            self.curvatures[at] = [i.anode_curvature, i.grid_curvature, T::ZERO];
            at += 1;
        }
        for (site, value) in self.devices.pentodes.iter().zip(&self.pentodes) {
            let [va, vs, vg] = self.ports[at];
            let i = stamp_pentode(site, value, va, vs, vg, work, right);
            self.curvatures[at] = [i.cathode_curvature, i.grid_curvature, i.anode_curvature];
            at += 1;
        }
        for ((site, value), tangent) in self
            .devices
            .rectifiers
            .iter()
            .zip(&self.rectifiers)
            .zip(&mut self.tangents)
        {
            let volts = self.ports[at][0];
            if (volts - tangent.volts).abs().largest() > RESERVOIR_MOVED {
                *tangent = rectifier_tangent(value, volts);
            }
            stamp_rectifier(site, tangent, work, right);
            at += 1;
        }
    }

    /// Moves the ports to the new voltages, by bounded steps where `limited`, and returns the
    /// estimated error of the device currents there, A: `½·f″·Δ²`, infinite while a bound holds.
    #[inline(always)]
    pub(crate) fn move_ports(&mut self, iteration: usize) -> f64 {
        let limited = iteration >= FREE;
        let fade = LIMIT_FADE.powi(iteration as i32);
        let grid_limit = limited.then(|| T::splat(GRID_LIMIT * fade));
        let anode_limit = limited.then(|| T::splat(ANODE_LIMIT * fade));
        let volts = &self.guess;
        let node = |p: u16| volts[p as usize];
        let mut worst = T::ZERO;
        let mut missed = T::ZERO;
        let mut ports = self
            .ports
            .iter_mut()
            .zip(&mut self.steps)
            .zip(&self.curvatures);
        for (site, &share) in self.devices.triodes.iter().zip(&self.anode_shares) {
            let [a, g, k] = site.at.map(node);
            let ((port, last), &[anode, grid, _]) = ports.next().expect("one entry a device");
            let (da, dg) = (a - k - port[0], g - k - port[1]);
            let effective = dg.plus_product(da, share);
            worst = worst.max((anode * effective * effective).plus_product(grid * dg, dg));
            missed += approach(&mut port[0], a - k, &mut last[0], anode_limit);
            missed += approach(&mut port[1], g - k, &mut last[1], grid_limit);
        }
        for site in &self.devices.pentodes {
            let [a, s, g, k] = site.at.map(node);
            let ((port, last), &[cathode, grid, anode]) = ports.next().expect("one entry a device");
            let (da, ds, dg) = (a - k - port[0], s - k - port[1], g - k - port[2]);
            let effective = dg.plus_product(ds, T::splat(SCREEN_SHARE));
            let error = (cathode * effective * effective).plus_product(grid * dg, dg);
            worst = worst.max(error.plus_product(anode * da, da));
            missed += approach(&mut port[0], a - k, &mut last[0], anode_limit);
            missed += approach(&mut port[1], s - k, &mut last[1], anode_limit);
            missed += approach(&mut port[2], g - k, &mut last[2], grid_limit);
        }
        for site in &self.devices.rectifiers {
            let [r, k] = site.at.map(node);
            let ((port, last), _) = ports.next().expect("one entry a device");
            missed += approach(&mut port[0], r - k, &mut last[0], None);
        }
        // Max loses a NaN; this sum keeps it.
        if !missed.all_finite() {
            return f64::NAN;
        }
        let error = T::splat(0.5) * worst;
        if limited {
            (error + missed).largest()
        } else {
            error.largest()
        }
    }
}

/// Moves `port` to `want`; where `limit` is given, by at most 1.6 times the last step or the limit
/// onwards, and by 0.4 of the last step back, so that an iterate that swings about a bend comes
/// in. `last` becomes the step taken.
#[inline(always)]
fn approach<T: Real>(port: &mut T, want: T, last: &mut T, limit: Option<T>) -> T {
    let step = want - *port;
    let taken = match limit {
        Some(limit) => {
            let size = last.abs();
            let onwards = (T::splat(1.6) * size).max(limit);
            let back = (T::splat(0.4) * size).max(T::splat(LEAST_BOUND));
            let bound = (step * *last).if_positive(onwards, back);
            step.min(bound).max(-bound)
        }
        None => step,
    };
    *last = taken;
    *port += taken;
    (step - taken).abs()
}
