//! Part values from a recording of a real amp.

pub mod drive;
pub mod hear;
pub mod panel;
pub mod recorded;
pub mod report;
pub mod request;
pub mod target_curve;
pub mod vary;
