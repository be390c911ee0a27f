//! Lanes in 256-bit registers, four a register, for the AVX2 and FMA build of the block loop.
//!
//! The compiler turns arrays of four numbers into such registers by itself most of the time;
//! spelling the instructions out makes it all of the time (square roots and selections were left
//! scalar: arrays take 19 % more time).
//!
//! Every function here is inlined into `dispatch::Fused::block`, whose constructor proves that
//! the machine has the instructions.
#![cfg(target_arch = "x86_64")]

use crate::numeric::real::{Field, Real};
use std::arch::x86_64::*;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// `4·M` numbers, one a lane.
#[derive(Clone, Copy, Debug)]
pub struct Wide<const M: usize>([__m256d; M]);

/// Applies an intrinsic to each register.
macro_rules! each {
    ($m:ident, |$i:ident| $body:expr) => {{
        let mut out = $m.0;
        for $i in 0..M {
            // SAFETY: values of this type are worked on only below a function that enables AVX2
            // and FMA, on a machine that has them (see the module's header).
            out[$i] = unsafe { $body };
        }
        Wide(out)
    }};
}

macro_rules! operator {
    ($trait:ident, $method:ident, $intrinsic:ident) => {
        impl<const M: usize> $trait for Wide<M> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                each!(self, |i| $intrinsic(self.0[i], other.0[i]))
            }
        }
    };
}
operator!(Add, add, _mm256_add_pd);
operator!(Sub, sub, _mm256_sub_pd);
operator!(Mul, mul, _mm256_mul_pd);
operator!(Div, div, _mm256_div_pd);

impl<const M: usize> Neg for Wide<M> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        each!(self, |i| _mm256_xor_pd(self.0[i], _mm256_set1_pd(-0.0)))
    }
}

impl<const M: usize> AddAssign for Wide<M> {
    #[inline(always)]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl<const M: usize> SubAssign for Wide<M> {
    #[inline(always)]
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl<const M: usize> Wide<M> {
    /// The same number in every lane, as plain bits, so that it can be a constant.
    const fn constant(x: f64) -> Self {
        // SAFETY: a 256-bit register of doubles is four doubles, and any bits are a double.
        Wide([unsafe { std::mem::transmute::<[f64; 4], __m256d>([x; 4]) }; M])
    }

    #[inline(always)]
    fn numbers(self, register: usize) -> [f64; 4] {
        // SAFETY: as in `constant`.
        unsafe { std::mem::transmute::<__m256d, [f64; 4]>(self.0[register]) }
    }
}

impl<const M: usize> Field for Wide<M> {
    const ZERO: Self = Self::constant(0.0);
    const ONE: Self = Self::constant(1.0);
    #[inline(always)]
    fn plus_product(self, a: Self, b: Self) -> Self {
        each!(self, |i| _mm256_fmadd_pd(a.0[i], b.0[i], self.0[i]))
    }
    #[inline(always)]
    fn minus_product(self, a: Self, b: Self) -> Self {
        each!(self, |i| _mm256_fnmadd_pd(a.0[i], b.0[i], self.0[i]))
    }
}

impl<const M: usize> Real for Wide<M> {
    const LANES: usize = 4 * M;
    #[inline(always)]
    fn lane(self, lane: usize) -> f64 {
        self.numbers(lane / 4)[lane % 4]
    }
    #[inline(always)]
    fn set_lane(&mut self, lane: usize, x: f64) {
        let mut numbers = self.numbers(lane / 4);
        numbers[lane % 4] = x;
        // SAFETY: as in `constant`.
        self.0[lane / 4] = unsafe { std::mem::transmute::<[f64; 4], __m256d>(numbers) };
    }
    #[inline(always)]
    fn splat(x: f64) -> Self {
        Self::constant(x)
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        each!(self, |i| _mm256_sqrt_pd(self.0[i]))
    }
    #[inline(always)]
    fn abs(self) -> Self {
        each!(self, |i| _mm256_andnot_pd(_mm256_set1_pd(-0.0), self.0[i]))
    }
    #[inline(always)]
    fn max(self, other: Self) -> Self {
        each!(self, |i| _mm256_max_pd(self.0[i], other.0[i]))
    }
    #[inline(always)]
    fn min(self, other: Self) -> Self {
        each!(self, |i| _mm256_min_pd(self.0[i], other.0[i]))
    }
    #[inline(always)]
    fn if_positive(self, yes: Self, no: Self) -> Self {
        each!(self, |i| {
            let positive = _mm256_cmp_pd::<_CMP_GT_OQ>(self.0[i], _mm256_setzero_pd());
            _mm256_blendv_pd(no.0[i], yes.0[i], positive)
        })
    }
    #[inline(always)]
    fn largest(self) -> f64 {
        let mut all = self.0[0];
        for &register in &self.0[1..] {
            // SAFETY: as in `each!`.
            all = unsafe { _mm256_max_pd(all, register) };
        }
        let [a, b, c, d] = Wide::<1>([all]).numbers(0);
        Real::max(Real::max(a, b), Real::max(c, d))
    }
    #[inline(always)]
    fn all_finite(self) -> bool {
        // x·0 is 0 for every finite x and NaN for the others; NaN is unordered with itself.
        let zero = self * Self::ZERO;
        let mut odd = 0;
        for &register in &zero.0 {
            // SAFETY: as in `each!`.
            odd |= unsafe { _mm256_movemask_pd(_mm256_cmp_pd::<_CMP_UNORD_Q>(register, register)) };
        }
        odd == 0
    }
}
