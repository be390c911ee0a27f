//! The parts list: its rows, and the field of a value.

pub mod list;
pub mod list_state;
pub mod moves;
pub mod row;
pub mod rows;
pub mod typing;
pub mod value;
