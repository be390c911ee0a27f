//! The drawn amp: where everything is seen and touched. The list of parts is the other view of the same
//! selection.

pub mod panel;

mod notes;
mod paint;
mod pointer;
mod shown;
mod state;
mod toolbar;

pub use state::SchematicState;
