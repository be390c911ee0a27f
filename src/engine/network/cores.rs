//! Cores of transformers among the equations: a current that follows the integral of a voltage.
//!
//! The volts of the whole primary are an unknown, and its inductance is a branch from there to
//! ground that carries `i`; the flux linkage is `φ = L·i` in every kind of solve. The core takes
//! what its law adds at that flux ([`CoreLaw`]). At rest the branch is a short for both together.

use super::branch::{BranchValue, Companion};
use crate::circuit::{Part, PartId, PartKind};
use crate::device::CoreLaw;

/// A core's place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Core {
    /// The transformer.
    pub part: PartId,
    /// The branch of its inductance.
    pub branch: usize,
    /// Position in the solution of the volts of the whole primary.
    pub at: usize,
    /// Slot of that position's diagonal entry.
    pub slot: usize,
}

/// A core's current as a line in the volts of the whole primary: `siemens·e − amps`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CoreTangent {
    /// Slope, S.
    pub siemens: f64,
    /// What the line passes below 0 V, A.
    pub amps: f64,
}

/// The law of a part's core; none in a part without one.
pub(super) fn core_law(part: &Part) -> Option<CoreLaw<f64>> {
    let PartKind::OutputTransformer(t) = &part.kind else {
        return None;
    };
    let law = t.core_law();
    Some(if part.fitted {
        law
    } else {
        CoreLaw { amps: 0.0, ..law }
    })
}

/// Inductance of a branch, H.
pub(crate) fn henries(value: &BranchValue) -> f64 {
    match value {
        BranchValue::Coil { henries, .. } => *henries,
        _ => 0.0,
    }
}

impl Core {
    /// Current through the inductance at rest, A, where `volts` stand across its branch.
    pub fn amps_at_rest(&self, branch: &BranchValue, law: &CoreLaw<f64>, volts: f64) -> f64 {
        let rest = branch.at_rest();
        law.inductance_share(rest.siemens * volts - rest.constant, henries(branch))
    }

    /// Slope of the core's current by the flux linkage at rest, 1/H, where `volts` stand across its
    /// branch.
    pub fn slope_at_rest(&self, branch: &BranchValue, law: &CoreLaw<f64>, volts: f64) -> f64 {
        let amps = self.amps_at_rest(branch, law, volts);
        law.current(amps * henries(branch)).by_flux
    }

    /// What [`Core::slope_at_rest`] gains for each volt more across the branch, 1/(H·V).
    pub fn slope_by_volts_at_rest(
        &self,
        branch: &BranchValue,
        law: &CoreLaw<f64>,
        volts: f64,
    ) -> f64 {
        let henries = henries(branch);
        let flux = henries * self.amps_at_rest(branch, law, volts);
        let core = law.current(flux);
        // Of both currents together, the inductance's share grows with the flux.
        let flux_by_volts = branch.at_rest().siemens / (1.0 / henries + core.by_flux);
        core.by_flux_squared * flux_by_volts
    }

    /// The core's current in a trapezoidal step that ends at `volts`, as its tangent there; the
    /// inductance's branch has `companion` and the history `history` (A).
    pub fn tangent(
        &self,
        branch: &BranchValue,
        law: &CoreLaw<f64>,
        companion: &Companion,
        history: f64,
        volts: f64,
    ) -> CoreTangent {
        let henries = henries(branch);
        let core = law.current(henries * (companion.siemens * volts - history));
        let siemens = core.by_flux * henries * companion.siemens;
        CoreTangent {
            siemens,
            amps: siemens * volts - core.current,
        }
    }
}
