//! What command line and window both ask for, each in one place: a plain struct of what is asked,
//! and a function that makes the analyses' question from it and answers.
//!
//! What nobody states (what is played and how loud, how many amps are drawn) stands here once, so
//! that the same question has the same answer on the command line, in the window and on the sheet.
//! Work that takes long is told a function that is given the share done and answers whether to go
//! on; the answer is none when it says no.

pub mod drawer;
pub mod drawing;
pub mod drive;
pub mod fit;
pub mod guitar;
pub mod loads;
pub mod opening;
pub mod played;
pub mod sheet;
pub mod spread;
pub mod verdict;
