//! The plain solves: operating point, small-signal response, and the transient oracle.
//!
//! All three use the stamps of [`crate::network`]. None is in a hurry; the processor that is
//! heard is checked against them.

pub mod operating_point;
pub mod response;
pub mod solved;
pub mod stability;
pub mod transient;

pub use operating_point::{OperatingPoint, OperatingPointSolver, Unsolved, operating_point};
pub use response::{Factored, SmallSignal};
pub use stability::{Howl, Remedy, Stability, stability};
pub use transient::Transient;
