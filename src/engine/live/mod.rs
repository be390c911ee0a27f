//! The loaded amp while it plays: what can be adjusted, what is heard, what is measured.
//!
//! No plugin framework and no window: [`adjustable`] lists what an owner can adjust, [`amp`] holds
//! a loaded amp with its two sets of values, [`renderer`] turns samples into samples. The plugin
//! and the editor stand on it.
//!
//! # From a host's number to a branch
//!
//! A host knows positions from 0 to 1. `parameter_map::ParameterMap` turns one into a value: the
//! share of two decades about the file's value, drawn to preferred values unless set otherwise. A
//! value that was typed is remembered beside the position that stands for it, since 32-bit
//! positions are too coarse to carry `12k345` there and back. `CircuitPair::follow` compares
//! positions bit by bit on every block and sends what changed to `PartSmoother`, a critically
//! damped glide in the value's logarithm.
//!
//! While a part that carries direct current glides, the operating point is solved for on every
//! step from the last one (2 to 4 µs) and the stored voltages of the whole circuit are shifted by
//! the difference. Without it an anode load that moves from 100k to 220k in 5 ms sends its 60 V
//! change through the coupling capacitor into the output valves; with it the roughness of the
//! output stays that of the note (`tests/live/sound.rs`). A valve or loudspeaker is swapped in 35
//! ms of silence on its side. With more than three parts on their way, they move on every fourth
//! sample.
//!
//! Values far from any amp can leave the equations without a solution for a while, or charges
//! astray that would take seconds to drain. `CircuitPair` sees both every 64 samples and begins
//! again at the operating point.
//!
//! The first block after a reset takes all values at once and solves for the operating point; that
//! takes some tens of factorisations (under 0.1 ms) and makes "reset equals new" exact.

pub mod adjustable;
pub mod adjustables;
pub mod amp;
pub mod cabinets;
pub mod circuit_pair;
mod circuit_state;
pub mod fade;
mod format;
mod guard;
mod hold_back;
mod incoming_pair;
pub mod jack_guitar;
mod lanes;
pub mod loudness;
pub mod meters;
mod mute;
mod own_slots;
pub mod parameter_map;
mod preferred_values;
mod radiation;
pub mod recording;
mod render_settings;
pub mod renderer;
pub mod settings;
mod smoother;
mod typed_parts;

pub use adjustable::{Adjustable, AdjustableKind, Refusal};
pub use amp::{LiveAmp, NotLoaded};
