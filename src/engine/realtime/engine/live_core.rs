//! A transformer's core in the lanes of the engine.

use crate::device::CoreLaw;
use crate::network::cores::henries;
use crate::network::{BranchValue, Core, Network, Values};
use crate::numeric::real::Real;

/// A core in all lanes.
#[derive(Clone, Debug)]
pub(super) struct LiveCore<T> {
    /// Where it stands.
    pub place: Core,
    /// Index of its inductance among the coils.
    pub coil: usize,
    /// Its inductance, H.
    pub henries: T,
    /// Its law.
    pub law: CoreLaw<T>,
    /// Its slope in the volts of the primary in this step, S.
    pub tangent: T,
    /// The law again, a lane each.
    pub lanes: Vec<CoreLaw<f64>>,
}

/// The cores of a network with the laws of all lanes; `coil` is the index of a branch among the
/// coils.
pub(super) fn cores<T: Real>(
    network: &Network,
    lanes: &[(&Values, &[f64])],
    coil: impl Fn(usize) -> usize,
) -> Vec<LiveCore<T>> {
    let core = |(index, &place): (usize, &Core)| {
        let laws: Vec<_> = lanes
            .iter()
            .map(|(values, _)| values.cores[index])
            .collect();
        let mut core = LiveCore {
            place,
            coil: coil(place.branch),
            henries: T::ZERO,
            law: CoreLaw::splat(&laws[0]),
            tangent: T::ZERO,
            lanes: laws,
        };
        for (lane, (values, _)) in lanes.iter().enumerate() {
            core.law.set_lane(lane, &core.lanes[lane]);
            core.follow(lane, place.branch, &values.branches[place.branch]);
        }
        core
    };
    network.cores().iter().enumerate().map(core).collect()
}

impl<T: Real> LiveCore<T> {
    /// Current through the inductance and the core of a lane together (A), where the inductance
    /// carries `amps`.
    pub(super) fn both(&self, lane: usize, amps: f64) -> f64 {
        amps + self.lanes[lane]
            .current(self.henries.lane(lane) * amps)
            .current
    }

    /// Current through the inductance of a lane, where both together carry `amps`.
    pub(super) fn inductance(&self, lane: usize, amps: f64) -> f64 {
        self.lanes[lane].inductance_share(amps, self.henries.lane(lane))
    }

    /// Takes over the inductance of a branch that may be its own; whether it is and has one.
    pub(super) fn follow(&mut self, lane: usize, branch: usize, value: &BranchValue) -> bool {
        let own = branch == self.place.branch;
        if own {
            self.henries.set_lane(lane, henries(value));
        }
        own && henries(value) > 0.0
    }
}
