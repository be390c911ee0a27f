//! Text for people: numbers with the digits they deserve, lists, tables, reports.

pub mod digits;
pub mod list;
pub mod report;
pub mod table;
