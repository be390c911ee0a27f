//! Text for people: numbers with the digits they deserve, tables, reports.

pub mod digits;
pub mod report;
pub mod table;
