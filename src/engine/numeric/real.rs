//! What an algorithm may ask of a number, so that one text serves `f64`, complex numbers and lanes.
//!
//! [`Field`] is enough for linear algebra; [`Real`] adds what device laws need. Device laws use
//! no transcendental function: a square root and a division vectorise on every machine, and any
//! circuit simulator can evaluate exactly the same law.

use num_complex::Complex64;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};

/// A number with the four operations.
pub trait Field:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
    + AddAssign
    + SubAssign
{
    /// The additive identity.
    const ZERO: Self;
    /// The multiplicative identity.
    const ONE: Self;
    /// `a·b + self`, fused where the type says that the machine does so.
    fn plus_product(self, a: Self, b: Self) -> Self;
    /// `self − a·b`, fused where the type says that the machine does so.
    fn minus_product(self, a: Self, b: Self) -> Self;
}

/// An ordered real number, or several of them side by side.
pub trait Real: Field {
    /// How many numbers stand side by side.
    const LANES: usize;
    /// The number in one lane.
    fn lane(self, lane: usize) -> f64;
    /// Replaces the number in one lane.
    fn set_lane(&mut self, lane: usize, x: f64);
    /// The same value in every lane.
    fn splat(x: f64) -> Self;
    /// Square root, lane by lane.
    fn sqrt(self) -> Self;
    /// Absolute value, lane by lane.
    fn abs(self) -> Self;
    /// The larger of two, lane by lane.
    fn max(self, other: Self) -> Self;
    /// The smaller of two, lane by lane.
    fn min(self, other: Self) -> Self;
    /// Lane by lane `if self > 0 { yes } else { no }`; both are evaluated.
    fn if_positive(self, yes: Self, no: Self) -> Self;
    /// The largest of the lanes.
    fn largest(self) -> f64;
    /// True when every lane is finite.
    fn all_finite(self) -> bool;
}

impl Field for f64 {
    const ZERO: Self = 0.0;
    const ONE: Self = 1.0;
    #[inline(always)]
    fn plus_product(self, a: Self, b: Self) -> Self {
        self + a * b
    }
    #[inline(always)]
    fn minus_product(self, a: Self, b: Self) -> Self {
        self - a * b
    }
}

impl Real for f64 {
    const LANES: usize = 1;
    #[inline(always)]
    fn lane(self, _lane: usize) -> f64 {
        self
    }
    #[inline(always)]
    fn set_lane(&mut self, _lane: usize, x: f64) {
        *self = x;
    }
    #[inline(always)]
    fn splat(x: f64) -> Self {
        x
    }
    #[inline(always)]
    fn sqrt(self) -> Self {
        f64::sqrt(self)
    }
    #[inline(always)]
    fn abs(self) -> Self {
        f64::abs(self)
    }
    #[inline(always)]
    fn max(self, other: Self) -> Self {
        if self > other { self } else { other }
    }
    #[inline(always)]
    fn min(self, other: Self) -> Self {
        if self < other { self } else { other }
    }
    #[inline(always)]
    fn if_positive(self, yes: Self, no: Self) -> Self {
        if self > 0.0 { yes } else { no }
    }
    #[inline(always)]
    fn largest(self) -> f64 {
        self
    }
    #[inline(always)]
    fn all_finite(self) -> bool {
        self.is_finite()
    }
}

impl Field for Complex64 {
    const ZERO: Self = Complex64::new(0.0, 0.0);
    const ONE: Self = Complex64::new(1.0, 0.0);
    #[inline(always)]
    fn plus_product(self, a: Self, b: Self) -> Self {
        self + a * b
    }
    #[inline(always)]
    fn minus_product(self, a: Self, b: Self) -> Self {
        self - a * b
    }
}
