//! The amp on the bench while it plays: what can be adjusted, what is heard, what is measured.
//!
//! No plugin framework and no window: [`adjustable`] lists what an owner can adjust, [`amp`] holds a
//! loaded amp with its two sets of values, [`renderer`] turns samples into samples. The plugin and the
//! editor stand on it.

pub mod adjustable;
pub mod amp;
pub mod cabinets;
pub mod circuit_pair;
mod circuit_state;
pub mod fade;
mod format;
mod handover;
mod hold_back;
mod ladder;
pub mod loudness;
pub mod meters;
mod mute;
pub mod parameter_map;
mod radiation;
pub mod recording;
pub mod renderer;
mod smoother;
mod types;

pub use adjustable::{Adjustable, AdjustableKind};
pub use amp::{LiveAmp, NotLoaded};
