//! Numerical building blocks that know nothing of circuits: scalar traits, lanes, sparse factors,
//! random numbers, work on all cores.

pub mod cholesky;
pub mod elimination;
pub mod lanes;
pub mod log_sum;
pub mod parallel;
pub mod random;
pub mod real;
pub mod rounds;
pub mod sparse;
