//! Pictures for paper and files: plain numbers in, SVG out. Knows no report and no file.

mod axis;
pub mod curve;
