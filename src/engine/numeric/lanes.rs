//! Several independent numbers side by side: one lane a circuit of the same topology.
//!
//! `Lanes<N, FUSED>` is an array that the compiler turns into vector registers when the calling
//! function enables them. With `FUSED` a multiply-add is one instruction; use it only below a
//! function that has enabled FMA, since elsewhere each would be a library call.

use super::real::{Field, Real};
use std::ops::{Add, AddAssign, Div, Index, IndexMut, Mul, Neg, Sub, SubAssign};

/// `N` numbers, one a lane.
#[derive(Clone, Copy, Debug, PartialEq)]
#[repr(C, align(32))]
pub struct Lanes<const N: usize, const FUSED: bool>(pub [f64; N]);

macro_rules! lanewise {
    ($trait:ident, $method:ident, $op:tt) => {
        impl<const N: usize, const FUSED: bool> $trait for Lanes<N, FUSED> {
            type Output = Self;
            #[inline(always)]
            fn $method(self, other: Self) -> Self {
                Lanes(std::array::from_fn(|i| self.0[i] $op other.0[i]))
            }
        }
    };
}
lanewise!(Add, add, +);
lanewise!(Sub, sub, -);
lanewise!(Mul, mul, *);
lanewise!(Div, div, /);

impl<const N: usize, const FUSED: bool> Neg for Lanes<N, FUSED> {
    type Output = Self;
    #[inline(always)]
    fn neg(self) -> Self {
        self.map(|x| -x)
    }
}

impl<const N: usize, const FUSED: bool> AddAssign for Lanes<N, FUSED> {
    #[inline(always)]
    fn add_assign(&mut self, other: Self) {
        *self = *self + other;
    }
}

impl<const N: usize, const FUSED: bool> SubAssign for Lanes<N, FUSED> {
    #[inline(always)]
    fn sub_assign(&mut self, other: Self) {
        *self = *self - other;
    }
}

impl<const N: usize, const FUSED: bool> Index<usize> for Lanes<N, FUSED> {
    type Output = f64;
    #[inline(always)]
    fn index(&self, lane: usize) -> &f64 {
        &self.0[lane]
    }
}

impl<const N: usize, const FUSED: bool> IndexMut<usize> for Lanes<N, FUSED> {
    #[inline(always)]
    fn index_mut(&mut self, lane: usize) -> &mut f64 {
        &mut self.0[lane]
    }
}

impl<const N: usize, const FUSED: bool> Lanes<N, FUSED> {
    /// Applies `f` to every lane.
    #[inline(always)]
    pub fn map(self, f: impl Fn(f64) -> f64) -> Self {
        let mut out = self.0;
        for x in &mut out {
            *x = f(*x);
        }
        Lanes(out)
    }
}

impl<const N: usize, const FUSED: bool> Field for Lanes<N, FUSED> {
    const ZERO: Self = Lanes([0.0; N]);
    const ONE: Self = Lanes([1.0; N]);
    #[inline(always)]
    fn plus_product(self, a: Self, b: Self) -> Self {
        Lanes(std::array::from_fn(|i| {
            if FUSED {
                a.0[i].mul_add(b.0[i], self.0[i])
            } else {
                self.0[i] + a.0[i] * b.0[i]
            }
        }))
    }
    #[inline(always)]
    fn minus_product(self, a: Self, b: Self) -> Self {
        Lanes(std::array::from_fn(|i| {
            if FUSED {
                (-a.0[i]).mul_add(b.0[i], self.0[i])
            } else {
                self.0[i] - a.0[i] * b.0[i]
            }
        }))
    }
}

impl<const N: usize, const FUSED: bool> Real for Lanes<N, FUSED> {
    const LANES: usize = N;
    #[inline(always)]
    fn lane(self, lane: usize) -> f64 {
        self.0[lane]
    }
    #[inline(always)]
    fn set_lane(&mut self, lane: usize, x: f64) {
        self.0[lane] = x;
    }
    #[inline(always)]
    fn splat(x: f64) -> Self {
        Lanes([x; N])
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        self.map(f64::sqrt)
    }
    #[inline(always)]
    fn abs(self) -> Self {
        self.map(f64::abs)
    }
    #[inline(always)]
    fn max(self, other: Self) -> Self {
        Lanes(std::array::from_fn(|i| {
            if self.0[i] > other.0[i] {
                self.0[i]
            } else {
                other.0[i]
            }
        }))
    }
    #[inline(always)]
    fn min(self, other: Self) -> Self {
        Lanes(std::array::from_fn(|i| {
            if self.0[i] < other.0[i] {
                self.0[i]
            } else {
                other.0[i]
            }
        }))
    }
    #[inline(always)]
    fn if_positive(self, yes: Self, no: Self) -> Self {
        Lanes(std::array::from_fn(|i| {
            if self.0[i] > 0.0 { yes.0[i] } else { no.0[i] }
        }))
    }
    #[inline(always)]
    fn largest(self) -> f64 {
        let mut largest = self.0[0];
        for &x in &self.0[1..] {
            largest = if x > largest { x } else { largest };
        }
        largest
    }
    #[inline(always)]
    fn all_finite(self) -> bool {
        // A sum of zeros stays zero; a single infinity or NaN makes it NaN.
        let mut sum = 0.0;
        for x in self.0 {
            sum += x * 0.0;
        }
        sum == 0.0
    }
}
