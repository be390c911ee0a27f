//! The processor that is heard: several circuits of one topology side by side, sample by sample.
//!
//! Imports nothing of [`crate::solve`]; tests compare the two. No function marked *Real-time*
//! allocates, locks, logs or touches files.
//!
//! # What each measure bought
//!
//! `solve/transient.rs` is the plain text of it; `realtime/` is the same mathematics tuned.
//! Bradawl 15, hard chord, four lanes, × 2 at 48 kHz: 9.0 % of a core of the two-core build
//! machine. Taking one measure away (each measured when the whole stood at 9.7 %, before the last
//! row was added):
//!
//! | measure | without it |
//! |---|---|
//! | static elimination: linear unknowns lead and are factored only when a value changes | 11.6 % |
//! | hubs (supply rails) trail although linear: 190 products an iteration instead of 459 | 11.5 % |
//! | prediction of the next step by a straight line: 1.22 iterations instead of 1.93 | 12.9 % |
//! | accept by estimate (`½·f″·Δ²`) instead of by a confirming iteration | 13.5 % |
//! | lanes as spelt-out 256-bit registers instead of arrays | 11.5 % |
//! | unchecked inner loops of the factors (`numeric/sparse/kernel.rs`) | about 10.5 % |
//! | AVX2 and FMA at all (baseline instructions) | about 17 % |
//! | elimination and forward substitution in one pass, loops of constant length | 9.7 % |
//!
//! Since then the transformers' cores have been added. Beside the code before the following, in the same
//! run (× 2 / × 4 / × 8: 10.0 / 17.7 / 34.4 % of a core of another machine), all of it takes
//! 8.6 / 15.8 / 31.2 %, 0.86 to 0.91 of the time, with these steps on the way:
//!
//! | measure | × 2 before it | after it |
//! |---|---|---|
//! | prediction by a parabola: 1.13 iterations an interval instead of 1.26 | 10.1 % | 9.5 % |
//! | rows multiplied by the pivot's reciprocal instead of columns, and a row's latest products last: back-substitution waits less | 9.4 % | 9.2 % |
//! | one copy of the matrix an iteration instead of two, copies in the numbers' own registers, inflow added in rounds | 9.2 % | 8.7 % |
//! | capacitors by nodes (`realtime/engine/capacitors.rs`) | 8.8 % | 8.6 % |
//!
//! What keeps it accurate: steps of 1/2^level of the oversampled interval, the level chosen by
//! the local error of the trapezoidal rule on the output anodes; sub-samples of refined intervals
//! brought into band (`realtime/subsample.rs`). What keeps it within its time: a governor that
//! grants Newton iterations; when they run out, errors no longer refine, only failures do.
//!
//! What made it robust: from the third iteration on each port of a device may move by 1.6 times
//! its last step onwards and by 0.4 of it back (`realtime/engine/ports.rs`). Plain Newton swings
//! about a pentode's knee; bounding by fixed voltages only slows that down. Under ±50 V noise,
//! with the governor, × 2, it took the iterations from 18 to 9 an interval on the first test amp;
//! with all parts jumping on every sample, the steps without a solution went from tens of
//! thousands to none.
//!
//! What did not pay: keeping a valve's tangent from step to step where the estimate allows it. At
//! the iteration's own tolerance it saves 12 % but raises the error at full output from −95 to
//! −53 dB (a first stage's bend is lost and then amplified); at a tolerance that keeps the bars
//! it saves 1 %. Ordering equal pivots by how long they wait for others: nothing; all pivots by the levels
//! of the elimination's tree: nothing. Indices multiplied beforehand, and loops of constant length in
//! the substitutions too: nothing. 512-bit machines' instructions on 256-bit registers: nothing.
//!
//! A rectifier's law takes some 45 roots and divisions where a triode's takes 7; its tangent is
//! kept until the reservoir has moved 50 mV.

pub mod cabinet;
pub mod dispatch;
pub mod engine;
pub mod half_band;
pub mod stepper;
pub mod subsample;
#[cfg(target_arch = "x86_64")]
mod wide;

use crate::network::{BranchValue, DeviceValues, Network, Values};
use crate::numeric::lanes::Lanes;
use crate::numeric::real::Real;
use dispatch::{Circuits, Fused, FusedLanes, Instructions};
pub use engine::Storage;
use stepper::Stepper;
pub use stepper::{Counts, Governor, Settings};

/// A processor of `N` lanes, whichever instructions it runs on.
#[derive(Clone, Debug)]
enum Inner<const N: usize>
where
    Circuits<N>: FusedLanes,
{
    Plain(Box<Stepper<Lanes<N, false>>>),
    Fused(Box<Fused<<Circuits<N> as FusedLanes>::Type>>),
}

/// `N` circuits of one topology, 1, 2, 4 or 8; an input and an output each.
#[derive(Clone, Debug)]
pub struct Processor<const N: usize>
where
    Circuits<N>: FusedLanes,
{
    inner: Inner<N>,
    settings: Settings,
}

macro_rules! with_stepper {
    ($self:expr, $name:ident => $body:expr) => {
        match &mut $self.inner {
            Inner::Plain($name) => $body,
            Inner::Fused(fused) => {
                let $name = fused.stepper();
                $body
            }
        }
    };
}

impl<const N: usize> Processor<N>
where
    Circuits<N>: FusedLanes,
{
    /// Builds a processor at rest. `lanes`: values and operating point (volts by position, ground
    /// last) of each lane's circuit; `instructions` beyond what the machine has fall back.
    pub fn new(
        network: &Network,
        lanes: [(&Values, &[f64]); N],
        settings: Settings,
        instructions: Instructions,
    ) -> Self {
        let fused = match instructions {
            Instructions::Avx2Fma => Fused::new(|| Stepper::new(network, &lanes, &settings)),
            Instructions::Baseline => None,
        };
        let inner = match fused {
            Some(fused) => Inner::Fused(Box::new(fused)),
            None => Inner::Plain(Box::new(Stepper::new(network, &lanes, &settings))),
        };
        Processor { inner, settings }
    }

    /// Delay from input to output, samples of the host's rate.
    pub fn latency(&self) -> usize {
        self.settings.latency()
    }

    /// What the work took so far.
    pub fn counts(&self) -> Counts {
        match &self.inner {
            Inner::Plain(stepper) => stepper.counts(),
            Inner::Fused(fused) => fused.shared().counts(),
        }
    }

    /// Volts at a position of the solution (see [`Network::position`]) in one lane, where the last
    /// processed sample left the circuit: ahead of the output by the delay of its filters.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn volts(&self, lane: usize, position: usize) -> f64 {
        match &self.inner {
            Inner::Plain(stepper) => stepper.engine.solution()[position].lane(lane),
            Inner::Fused(fused) => fused.shared().engine.solution()[position].lane(lane),
        }
    }

    /// Processes a block: `inputs` are volts at the jack, `outputs` volts heard, one slice a
    /// lane, all of one length.
    ///
    /// # Real-time
    /// Allocates nothing; the result does not depend on how a signal is cut into blocks.
    pub fn process(&mut self, inputs: &[&[f64]; N], outputs: &mut [&mut [f64]; N]) {
        match &mut self.inner {
            Inner::Plain(stepper) => dispatch::plain(stepper, inputs, outputs),
            Inner::Fused(fused) => fused.block(inputs, outputs),
        }
    }

    /// Replaces the value of one branch (see [`Network::branches_of`]) in one lane from the next
    /// sample on.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn set_branch(&mut self, lane: usize, branch: usize, value: BranchValue) {
        with_stepper!(self, stepper => stepper.engine.set_branch(lane, branch, value));
    }

    /// Replaces all valve laws of one lane.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn set_devices(&mut self, lane: usize, values: &DeviceValues) {
        with_stepper!(self, stepper => stepper.engine.set_devices(lane, values));
    }

    /// Moves the state of one lane by the difference between two operating points, V by
    /// position, ground last.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn shift(&mut self, lane: usize, difference: &[f64]) {
        with_stepper!(self, stepper => stepper.engine.shift(lane, difference));
    }

    /// What stores, in the order of [`Processor::stored_amps`].
    pub fn storages(&self) -> Vec<Storage> {
        match &self.inner {
            Inner::Plain(stepper) => stepper.engine.storages().collect(),
            Inner::Fused(fused) => fused.shared().engine.storages().collect(),
        }
    }

    /// Current through a storage of one lane, A, where the last processed sample left it.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn stored_amps(&self, lane: usize, place: usize) -> f64 {
        match &self.inner {
            Inner::Plain(stepper) => stepper.engine.stored_amps(place, lane),
            Inner::Fused(fused) => fused.shared().engine.stored_amps(place, lane),
        }
    }

    /// Moves one lane by `volts` (by position, ground last) and the currents of its storages by
    /// `amps` (in their order).
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn displace(&mut self, lane: usize, volts: &[f64], amps: &[f64]) {
        with_stepper!(self, stepper => stepper.engine.displace(lane, volts, amps));
    }

    /// Back to rest at the operating points given, one a lane.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn reset(&mut self, network: &Network, points: [&[f64]; N]) {
        with_stepper!(self, stepper => stepper.reset(network, &points));
    }
}
