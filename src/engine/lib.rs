//! The engine: from an amp's parts list to its sound, and to reports about it.
//!
//! Its rooms, from the floor up; a module imports only from floors below its own, and `tests/tidy`
//! enforces it:
//!
//! 0. [`units`], [`numeric`], [`text`], [`files`]: values and their notation, linear algebra, lanes,
//!    tables, whole files
//! 1. [`device`]: laws of valves and rectifiers, loudspeaker and transformer data, the catalogue;
//!    [`sound`]: sound in memory and in files
//! 2. [`circuit`]: text to checked circuit, diagnostics, text back
//! 3. [`drawing`]: the schematic as places, wires and texts;
//!    [`network`]: checked circuit to unknowns, branches, stamps, elimination order
//! 4. [`solve`]: operating point, small-signal response, transient oracle;
//!    [`realtime`]: the processor that is heard
//! 5. [`live`]: the amp while it plays; [`picture`]: plain numbers to SVG
//! 6. [`analysis`]: what a circuit does, as plain report structs
//! 7. [`advice`]: what to do about it
//! 8. [`recording`]: what a recording of a real amp shows, and the part values that fit it
//! 9. [`job_sheet`]: the report of a job to a page to print
//! 10. [`requests`]: what command line and window both ask for

pub mod advice;
pub mod analysis;
pub mod circuit;
pub mod device;
pub mod drawing;
pub mod files;
pub mod job_sheet;
pub mod live;
pub mod network;
pub mod numeric;
pub mod picture;
pub mod realtime;
pub mod recording;
pub mod requests;
pub mod solve;
pub mod sound;
pub mod text;
pub mod units;
