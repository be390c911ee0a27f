//! What a part or the whole proposal does.

pub mod panel;
pub mod verdict;
