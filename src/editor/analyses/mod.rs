//! Work beside the window: what is asked for and reported, the threads that follow the values, and
//! work that a button asks for.

pub mod background;
pub mod reports;
pub mod worker;
