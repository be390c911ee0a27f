//! The guitar that drives the jack, by its word or from its file.

use crate::circuit::{Diagnostic, Guitar, MOST_BYTES, NamedGuitar, read_guitar};
use crate::files::{FileFault, read_bytes};
use std::path::Path;
use std::sync::Arc;

/// The word for a pedal with a buffer in place of a guitar.
pub const NONE: &str = "none";

/// Why there is no guitar.
#[derive(Debug)]
pub enum NoGuitar {
    /// Its file cannot be read.
    File(FileFault),
    /// It has these faults.
    Faults(Vec<Diagnostic>),
}

/// One of the program's by its word, none by [`NONE`], or that of a file.
///
/// # Errors
/// The fault of the file, or all that is wrong in it.
pub fn guitar(asked: &str) -> Result<Option<Arc<Guitar>>, NoGuitar> {
    if asked.eq_ignore_ascii_case(NONE) {
        return Ok(None);
    }
    if let Some(named) = NamedGuitar::of_word(asked) {
        return Ok(Some(Arc::new(named.guitar())));
    }
    let bytes = read_bytes(Path::new(asked), MOST_BYTES as u64).map_err(NoGuitar::File)?;
    let read = read_guitar(&bytes).map_err(NoGuitar::Faults)?;
    Ok(Some(Arc::new(read)))
}
