//! What command line and window both ask for, each put together and answered in one place.

pub mod opening;
