//! Text for people: numbers with the digits they deserve, lists, tables.

pub mod digits;
pub mod list;
pub mod table;
