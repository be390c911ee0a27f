//! Presolder: hear a part before you solder it.
//!
//! What computes is the package [`engine`], whose rooms are handed on here under their own names.
//! Above them:
//!
//! 11. [`command_line`]: reports to text, JSON, SVG and WAV;
//!     [`editor`]: reports to pictures, gestures to edits
//! 12. `plugin`: parameters, state, exports

pub mod command_line;
#[cfg(feature = "plugin")]
pub mod editor;
#[cfg(feature = "plugin")]
pub mod plugin;

pub use engine::{
    advice, analysis, circuit, device, drawing, files, job_sheet, live, network, numeric, picture,
    realtime, recording, requests, solve, sound, text, units,
};
