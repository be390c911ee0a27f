//! Presolder: hear a part before you solder it.
//!
//! The crate map, from the floor up; a module imports only from floors below its own, and
//! `tests/tidy` enforces it:
//!
//! 0. [`units`], [`numeric`]: values and their notation, linear algebra, lanes
//! 1. [`device`]: laws of valves and rectifiers, loudspeaker and transformer data, the catalogue
//! 2. [`circuit`]: text to checked circuit, diagnostics, text back
//! 3. [`network`]: checked circuit to unknowns, branches, stamps, elimination order
//! 4. [`solve`]: operating point, small-signal response, transient oracle;
//!    [`realtime`]: the processor that is heard
//! 5. [`analysis`]: plain report structs; [`picture`]: plain numbers to SVG
//! 6. [`job_sheet`]: the report of a job to a page to print
//! 7. [`command_line`]: reports to text, JSON, SVG and WAV; [`live`]: the amp while it plays
//! 8. [`editor`]: reports to pictures, gestures to edits
//! 9. `plugin`: parameters, state, exports

pub mod advice;
pub mod analysis;
pub mod circuit;
pub mod command_line;
pub mod device;
#[cfg(feature = "plugin")]
pub mod editor;
pub mod files;
pub mod job_sheet;
pub mod live;
pub mod network;
pub mod numeric;
pub mod picture;
#[cfg(feature = "plugin")]
pub mod plugin;
pub mod realtime;
pub mod recording;
pub mod requests;
pub mod solve;
pub mod sound;
pub mod text;
pub mod units;
