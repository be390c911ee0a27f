//! The amp on the bench while it plays: what can be adjusted, what is heard, what is measured.
//!
//! No plugin framework and no window: [`slots`] lists what an owner can adjust, [`amp`] holds a
//! loaded amp with its two sets of values, [`rig`] turns samples into samples. The plugin and the
//! editor stand on it.

pub mod amp;
pub mod bench;
pub mod cabinets;
pub mod deck;
pub mod fade;
mod format;
mod hold_back;
mod ladder;
pub mod loudness;
pub mod meters;
mod moving;
mod mute;
mod radiation;
pub mod recording;
pub mod rig;
mod side;
pub mod slots;
mod take_over;
mod types;

pub use amp::{LiveAmp, NotLoaded};
pub use slots::{Slot, SlotKind};
