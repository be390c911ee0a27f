//! What to do about it: the verdict on a proposal, each change by itself, limits kept or passed,
//! how far amps of one model differ, the job to be done, and readings taken at the amp.

pub mod changes;
pub mod job;
pub mod prices;
pub mod ratings;
pub mod readings;
pub mod safety;
pub mod spread;
pub mod verdict;
pub mod voltages;
