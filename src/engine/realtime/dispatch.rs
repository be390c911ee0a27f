//! One text, two sets of instructions: the block loop compiled plainly and for AVX2 with FMA.
//!
//! The only `unsafe` of the engine stands here. A function that enables instructions may be
//! called only where the machine has them; [`Chosen`] is made by asking the machine, so a value
//! of it is the proof.

use super::stepper::Stepper;
use crate::numeric::lanes::Lanes;
use crate::numeric::real::Real;

/// Which instructions the machine has.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Instructions {
    /// What every processor of the family has.
    Baseline,
    /// 256-bit vectors and fused multiply-add.
    Avx2Fma,
}

impl Instructions {
    /// Asks the machine.
    pub fn detect() -> Self {
        #[cfg(target_arch = "x86_64")]
        if std::arch::is_x86_feature_detected!("avx2") && std::arch::is_x86_feature_detected!("fma")
        {
            return Instructions::Avx2Fma;
        }
        Instructions::Baseline
    }
}

#[inline(always)]
fn block<T: Real>(stepper: &mut Stepper<T>, inputs: &[&[f64]], outputs: &mut [&mut [f64]]) {
    let frames = outputs[0].len();
    for frame in 0..frames {
        let mut x = T::ZERO;
        for (lane, input) in inputs.iter().enumerate() {
            x.set_lane(lane, input[frame]);
        }
        let y = stepper.sample(x);
        for (lane, output) in outputs.iter_mut().enumerate() {
            output[frame] = y.lane(lane);
        }
    }
}

/// The block loop with baseline instructions.
pub(crate) fn plain<T: Real>(
    stepper: &mut Stepper<T>,
    inputs: &[&[f64]],
    outputs: &mut [&mut [f64]],
) {
    block(stepper, inputs, outputs);
}

/// A stepper that runs on AVX2 and FMA, made only where the machine has them.
#[derive(Clone, Debug)]
pub(crate) struct Fused<T>(Stepper<T>);

impl<T: Real> Fused<T> {
    /// Nothing where the machine lacks the instructions.
    ///
    /// `T` may be a type whose operations need AVX2 and FMA: `make` is called only where the
    /// machine has both, and so is every method.
    pub(crate) fn new(make: impl FnOnce() -> Stepper<T>) -> Option<Self> {
        (Instructions::detect() == Instructions::Avx2Fma).then(|| Fused(make()))
    }

    pub(crate) fn stepper(&mut self) -> &mut Stepper<T> {
        &mut self.0
    }

    pub(crate) fn shared(&self) -> &Stepper<T> {
        &self.0
    }

    pub(crate) fn block(&mut self, inputs: &[&[f64]], outputs: &mut [&mut [f64]]) {
        #[cfg(target_arch = "x86_64")]
        {
            #[target_feature(enable = "avx2,fma")]
            fn fused<T: Real>(
                stepper: &mut Stepper<T>,
                inputs: &[&[f64]],
                outputs: &mut [&mut [f64]],
            ) {
                block(stepper, inputs, outputs);
            }
            // SAFETY: `Fused::new` is the only constructor and has found AVX2 and FMA on this
            // machine.
            unsafe { fused(&mut self.0, inputs, outputs) }
        }
        #[cfg(not(target_arch = "x86_64"))]
        block(&mut self.0, inputs, outputs);
    }
}

/// The lanes that the fused build of `N` circuits runs on.
pub trait FusedLanes {
    /// Registers of four where `N` is a multiple of four, an array otherwise.
    type Type: Real + std::fmt::Debug;
}

/// Stands for a number of circuits.
#[derive(Clone, Copy, Debug)]
pub struct Circuits<const N: usize>;

impl FusedLanes for Circuits<1> {
    type Type = Lanes<1, true>;
}
impl FusedLanes for Circuits<2> {
    type Type = Lanes<2, true>;
}
#[cfg(target_arch = "x86_64")]
impl FusedLanes for Circuits<4> {
    type Type = super::wide::Wide<1>;
}
#[cfg(target_arch = "x86_64")]
impl FusedLanes for Circuits<8> {
    type Type = super::wide::Wide<2>;
}
#[cfg(not(target_arch = "x86_64"))]
impl FusedLanes for Circuits<4> {
    type Type = Lanes<4, true>;
}
#[cfg(not(target_arch = "x86_64"))]
impl FusedLanes for Circuits<8> {
    type Type = Lanes<8, true>;
}
