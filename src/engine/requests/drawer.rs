//! The owner's parts, from their file.

use crate::circuit::{Diagnostic, Drawer, MOST_BYTES, read_drawer};
use crate::files::{FileFault, read_bytes};
use std::path::Path;

/// Why there is no drawer.
#[derive(Debug)]
pub enum NoDrawer {
    /// Its file cannot be read.
    File(FileFault),
    /// It has these faults.
    Faults(Vec<Diagnostic>),
}

/// Reads it.
///
/// # Errors
/// The fault of the file, or all that is wrong in it.
pub fn drawer(path: &Path) -> Result<Drawer, NoDrawer> {
    let bytes = read_bytes(path, MOST_BYTES as u64).map_err(NoDrawer::File)?;
    read_drawer(&bytes).map_err(NoDrawer::Faults)
}
