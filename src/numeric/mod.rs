//! Numerical building blocks that know nothing of circuits: scalar traits, lanes, sparse factors.

pub mod lanes;
pub mod real;
