//! From the argument `--guitar` to the guitar in the jack.

use super::arguments::GuitarWord;
use super::failure::Failure;
use crate::circuit::Guitar;
use crate::requests::guitar::{NONE, NoGuitar, guitar};
use std::sync::Arc;

/// The guitar that was asked for.
///
/// # Errors
/// All faults of its file, or why it cannot be read.
pub fn open(word: &GuitarWord) -> Result<Option<Arc<Guitar>>, Failure> {
    let asked = word.asked.as_deref().unwrap_or(NONE);
    guitar(asked).map_err(|fault| match fault {
        NoGuitar::File(fault) => fault.into(),
        NoGuitar::Faults(faults) => Failure::faults(asked, faults),
    })
}

/// The guitar of a question that may have a boost in front of the amp.
///
/// # Errors
/// Those of [`open`], and both asked for: a pedal stands between guitar and amp.
pub fn open_before(
    word: &GuitarWord,
    boost_db: Option<f64>,
) -> Result<Option<Arc<Guitar>>, Failure> {
    let guitar = open(word)?;
    if guitar.is_some() && boost_db.is_some() {
        let message = "--boost puts a pedal between guitar and amp, so that the guitar no longer \
                       drives the jack: leave out --guitar, or give --guitar none.";
        return Err(Failure::Usage(message.into()));
    }
    Ok(guitar)
}
