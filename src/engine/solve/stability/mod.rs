//! Whether an amp stays at rest when it is left alone.
//!
//! Takes a circuit at its operating point, made linear there; gives whether any of its natural
//! frequencies (the `s` at which `Y(s)·x = 0` has a solution) lies in the right half-plane, so that
//! whatever disturbs the amp grows by itself, and if so which, through which valves, and what would
//! stop it. Small-signal only: an amp that is stable at rest may still be kicked into oscillation by
//! a signal, and one that is not may settle to a level that is hardly heard.

mod amp;
mod cause;
mod count;
mod gm;
mod howl;
mod judge;
mod margin;
mod pencil;
mod poles;
mod words;

pub use amp::{AmpFault, Unfit};
pub use howl::{Howl, Remedy, Stability};
pub use judge::{growing, growing_at, marginal, stability};
pub use margin::Marginal;
