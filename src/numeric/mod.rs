//! Numerical building blocks that know nothing of circuits: scalar traits, lanes, sparse factors,
//! random numbers, sample rates.

pub mod cholesky;
pub mod elimination;
pub mod lanes;
pub mod random;
pub mod real;
pub mod sparse;
