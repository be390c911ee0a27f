//! Pentode and beam tetrode: anode, screen and grid current as functions of three voltages.

use super::grid::GridLaw;
use super::lanes::lanes;
use crate::numeric::real::Real;
use serde::Deserialize;

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

/// Anode voltage over which the anode's share sets in smoothly from zero, V.
const ONSET_VOLTS: f64 = 1.0;
/// Screen voltage over which the screen current sets in smoothly from zero, V.
const SCREEN_ONSET_VOLTS: f64 = 5.0;
/// Knee voltage of a valve that is nearly cut off, V.
const SMALLEST_KNEE_VOLTS: f64 = 0.5;
/// Anode voltage of the secondary-emission loss when the screen stands at zero, V.
const SMALLEST_LOSS_VOLTS: f64 = 10.0;

/// Parameters of the pentode law, one value a lane.
///
/// With `x = max(va, 0)`, `y = max(vs, 0)` and the onset `o = x/(x + 1 V)`:
/// - The space current is `Ik = K·s³/(s + a)^1.5`, `s = ½(e + √(e² + w²))`,
///   `e = vg + vs/µ + x·o/µa + offset`, `w² = width² + (spread·y)²`,
///   `a = tail·(y²/(y + 5 V)/µ + width)`: the triode's, with the screen in place of the anode.
/// - The anode takes the share
///   `A = (1 − screen_share)·o·z/√(1 + z²)·(1 − loss/(1 + (x/v)⁶))` of it: `z = x/(½ V + knee·s)`
///   is the knee, where a virtual cathode turns electrons back; the last factor is what
///   secondary emission carries from anode to screen while the anode is below
///   `v = √((10 V)² + (loss_at·y)²)`.
/// - The screen takes the rest, faded out with `(y/(y + 5 V))²` as its own voltage approaches
///   zero.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PentodeLaw<T> {
    /// Reciprocal of the amplification factor `µ` from screen to control grid.
    pub per_screen_mu: T,
    /// Reciprocal of the amplification factor `µa` from anode to control grid.
    pub per_anode_mu: T,
    /// Perveance `K`, A/V^1.5.
    pub perveance: T,
    /// Contact potential and the like, referred to the control grid, V.
    pub offset: T,
    /// Width of the bend at cut-off at zero screen voltage, V; above zero.
    pub width: T,
    /// Growth of that width with the screen voltage, V/V.
    pub spread: T,
    /// Share of the cut-off voltage over which the tail reaches, between 0 and 1.
    pub tail: T,
    /// Knee voltage per volt of the ramp `s`.
    pub knee: T,
    /// Share of the space current that the screen takes at high anode voltage.
    pub screen_share: T,
    /// Share of the anode's current that secondary emission carries to the screen.
    pub loss: T,
    /// Anode voltage where half of that loss is left, per volt of the screen.
    pub loss_at: T,
    /// Control-grid current.
    pub grid: GridLaw<T>,
}

/// The share of the space current that the anode takes, and its derivatives.
struct AnodeShare<T> {
    share: T,
    by_anode: T,
    /// By the ramp `s`.
    by_ramp: T,
    by_screen: T,
    /// A bound near the second derivative by the anode voltage, 1/V².
    curvature: T,
}

lanes!(PentodeLaw { per_screen_mu, per_anode_mu, perveance, offset, width, spread, tail, knee, screen_share, loss, loss_at } { grid: GridLaw });

impl<T: Real> PentodeLaw<T> {
    /// Currents at anode voltage `va`, screen voltage `vs` and grid voltage `vg`.
    ///
    /// # Real-time
    /// Allocates nothing. Five divisions, five square roots.
    #[inline(always)]
    pub fn currents(&self, va: T, vs: T, vg: T) -> PentodeCurrents<T> {
        let half = T::splat(0.5);
        let two = T::splat(2.0);
        let three = T::splat(3.0);
        let x = va.max(T::ZERO);
        let y = vs.max(T::ZERO);

        // Divisions are shared in pairs; every factor is bounded away from zero.
        let beyond_onset = x + T::splat(ONSET_VOLTS);
        let beyond_gate = y + T::splat(SCREEN_ONSET_VOLTS);
        let per = T::ONE / (beyond_onset * beyond_gate);
        let per_onset = per * beyond_gate;
        let per_gate = per * beyond_onset;
        let onset = x * per_onset;
        let onset_slope = T::splat(ONSET_VOLTS) * per_onset * per_onset;
        let gate_root = y * per_gate;
        let gate = gate_root * gate_root;
        let gate_root_slope = T::splat(SCREEN_ONSET_VOLTS) * per_gate * per_gate;
        let gate_slope = two * gate_root * gate_root_slope;

        let e = vg + vs * self.per_screen_mu + x * onset * self.per_anode_mu + self.offset;
        let e_by_anode = (onset + x * onset_slope) * self.per_anode_mu;
        let widening = self.spread * y;
        let ww = self.width * self.width + widening * widening;
        let r = (e * e + ww).sqrt();
        let s = half * (e + r);
        let reach = y * gate_root * self.per_screen_mu;
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
        let space_by_ramp = scaled * s * (three - T::splat(1.5) * u);
        let space_by_ramp_twice =
            scaled * (T::splat(6.0) - u * (T::splat(9.0) - T::splat(3.75) * u));
        let space_by_tail = -(T::splat(1.5) * scaled * s * u);
        let ramp_by_grid = s * per_r;
        let ramp_by_anode = ramp_by_grid * e_by_anode;
        let ramp_by_screen =
            ramp_by_grid * self.per_screen_mu + half * widening * self.spread * per_r;
        let tail_by_screen = self.tail * self.per_screen_mu * (gate_root + y * gate_root_slope);

        let AnodeShare {
            share,
            by_anode: share_by_anode,
            by_ramp: share_by_ramp,
            by_screen: share_by_screen,
            curvature: share_curvature,
        } = self.anode_share([x, y, s], [onset, onset_slope, per_onset]);
        let rest = T::ONE - share;

        let anode_by_ramp = space_by_ramp * share + space * share_by_ramp;
        let screen_by_ramp = (space_by_ramp * rest - space * share_by_ramp) * gate;
        let space_gated = space * gate;

        let cathode_curvature = space_by_ramp_twice * ramp_by_grid * ramp_by_grid
            + space_by_ramp * half * ww * per_r * per_r * per_r;
        let tail_part = space_by_tail * tail_by_screen;
        PentodeCurrents {
            anode: space * share,
            anode_by_anode: anode_by_ramp * ramp_by_anode + space * share_by_anode,
            anode_by_screen: anode_by_ramp * ramp_by_screen
                + tail_part * share
                + space * share_by_screen,
            anode_by_grid: anode_by_ramp * ramp_by_grid,
            screen: space_gated * rest,
            screen_by_anode: screen_by_ramp * ramp_by_anode - space_gated * share_by_anode,
            screen_by_screen: screen_by_ramp * ramp_by_screen + tail_part * rest * gate
                - space_gated * share_by_screen
                + space * rest * gate_slope,
            screen_by_grid: screen_by_ramp * ramp_by_grid,
            grid: grid.current,
            grid_by_grid: grid.slope,
            cathode_curvature,
            anode_curvature: va.if_positive(space * share_curvature, T::ZERO),
            grid_curvature: grid.curvature,
        }
    }

    /// The share that the anode takes, from `x`, `y` and the ramp `s` of [`PentodeLaw`] and the
    /// onset with its slope and `1/(x + 1 V)`.
    #[inline(always)]
    fn anode_share(
        &self,
        [x, y, s]: [T; 3],
        [onset, onset_slope, per_onset]: [T; 3],
    ) -> AnodeShare<T> {
        let two = T::splat(2.0);
        let three = T::splat(3.0);
        let knee_volts = T::splat(SMALLEST_KNEE_VOLTS) + self.knee * s;
        let loss_scale = self.loss_at * y;
        let loss_square =
            T::splat(SMALLEST_LOSS_VOLTS * SMALLEST_LOSS_VOLTS) + loss_scale * loss_scale;
        let per = T::ONE / (knee_volts * loss_square);
        let per_knee = per * loss_square;
        let per_loss = per * knee_volts;
        let z = x * per_knee;
        let h = (T::ONE + z * z).sqrt();
        let q = x * x * per_loss;
        let sixth = q * q * q;
        let per = T::ONE / (h * (T::ONE + sixth));
        let per_h = per * (T::ONE + sixth);
        let knee = z * per_h;
        let knee_by_z = per_h * per_h * per_h;
        let kept = T::ONE - self.loss * per * h;
        // q goes with x² and with 1/loss_square.
        let fading = per * h;
        let kept_by_q = three * self.loss * q * q * fading * fading;
        let kept_by_anode = kept_by_q * two * x * per_loss;
        let kept_by_screen = -(kept_by_q * two * q * per_loss * loss_scale * self.loss_at);
        let most = T::ONE - self.screen_share;
        let taken = most * onset;
        let share = taken * knee * kept;
        let by_anode = most * onset_slope * knee * kept
            + taken * (knee_by_z * per_knee * kept + knee * kept_by_anode);
        let by_ramp = -(taken * knee_by_z * z * per_knee * self.knee * kept);
        let by_screen = taken * knee * kept_by_screen;
        // The second derivative of the share, each term with the sign that makes it largest;
        // that of 1/(1 + t⁶) stays below 4.5.
        let curvature = most
            * (onset * three * z * knee_by_z * per_h * per_h * per_knee * per_knee
                + two * onset_slope * knee_by_z * per_knee
                + two * knee * onset_slope * per_onset
                + T::splat(4.5) * self.loss * knee * per_loss);
        AnodeShare {
            share,
            by_anode,
            by_ramp,
            by_screen,
            curvature,
        }
    }
}
