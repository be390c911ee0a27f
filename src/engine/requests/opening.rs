//! What `presolder play` asks of a window: everything that it opens with.

use crate::analysis::cabinet_model::CabinetModel;
use crate::circuit::{Guitar, Proposal};
use std::fmt;
use std::path::PathBuf;
use std::sync::Arc;

/// What a window opens with; everything in it has been checked.
#[derive(Clone, Debug)]
pub struct Opening {
    /// The circuit-values file.
    pub bytes: Vec<u8>,
    /// Where it lies, unless it came with the program.
    pub path: Option<PathBuf>,
    /// What is proposed.
    pub proposal: Proposal,
    /// The guitar in the jack; none for a pedal with a buffer.
    pub guitar: Option<Arc<Guitar>>,
    /// What it is heard through.
    pub cabinet: CabinetModel,
    /// Recording to be looped; the built-in phrase if none.
    pub wav: Option<PathBuf>,
    /// Audio devices by name, if asked for.
    pub input: Option<String>,
    /// See `input`.
    pub output: Option<String>,
    /// Sample rate, Hz.
    pub rate: u32,
    /// Frames a block.
    pub block: u32,
    /// No sound is wanted.
    pub silent: bool,
}

/// Opens a window and returns when it is closed.
pub type Window = fn(Opening) -> Result<(), NoDisplay>;

/// There is no display to open a window on; the reason in a sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoDisplay(pub String);

impl NoDisplay {
    /// The program's exit code for it.
    pub const EXIT_CODE: u8 = 5;
}

impl fmt::Display for NoDisplay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0)
    }
}

impl std::error::Error for NoDisplay {}
