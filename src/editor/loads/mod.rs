//! Every way of connecting loudspeakers.

pub mod panel;
pub mod report;
pub mod swap;
