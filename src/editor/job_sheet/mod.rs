//! The job sheet.

pub mod order;
pub mod panel;
