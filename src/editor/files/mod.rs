//! Circuits, proposals, prices and impulse responses in files.

pub mod guitar;
pub mod panel;
pub mod prices;
pub mod standing;
pub mod state;
pub mod thread;
