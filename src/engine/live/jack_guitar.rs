//! What an instance has in its amp's jack: the numbers of [`super::settings::PluginSetting::Guitar`].

use crate::circuit::{Diagnostic, Guitar, NamedGuitar, read_guitar};
use std::sync::Arc;

/// A guitar of the owner's own, with the text of its file, which a project keeps.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnGuitar {
    /// The guitar.
    pub guitar: Arc<Guitar>,
    /// What the file said; empty where nobody is to keep it.
    pub text: String,
}

impl OwnGuitar {
    /// That of a file.
    ///
    /// # Errors
    /// Every fault of it.
    pub fn read(bytes: &[u8]) -> Result<Self, Vec<Diagnostic>> {
        let guitar = Arc::new(read_guitar(bytes)?);
        // A file that could be read is UTF-8.
        let text = String::from_utf8_lossy(bytes).into_owned();
        Ok(OwnGuitar { guitar, text })
    }
}

/// What drives the jack.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[repr(usize)]
pub enum JackGuitar {
    /// A pedal with a buffer.
    None,
    /// See [`NamedGuitar::SingleCoil`].
    SingleCoil,
    /// See [`NamedGuitar::Humbucker`].
    Humbucker,
    /// The owner's own, from a file; none where no file was brought.
    Own,
}

impl JackGuitar {
    /// All of them, by their numbers.
    pub const ALL: [JackGuitar; 4] = [
        JackGuitar::None,
        JackGuitar::SingleCoil,
        JackGuitar::Humbucker,
        JackGuitar::Own,
    ];

    /// What drives the jack with this number of the setting, and so many decibels of boost in front:
    /// a pedal that lifts the level stands between guitar and amp.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn of(number: f64, boost_db: f64) -> Self {
        match boost_db > 0.0 {
            true => JackGuitar::None,
            false => Self::ALL[(number.max(0.0) as usize).min(Self::ALL.len() - 1)],
        }
    }

    /// The guitar, `own` being the one that was brought.
    pub fn guitar(self, own: Option<&Arc<Guitar>>) -> Option<Arc<Guitar>> {
        match self {
            JackGuitar::None => None,
            JackGuitar::SingleCoil => Some(Arc::new(NamedGuitar::SingleCoil.guitar())),
            JackGuitar::Humbucker => Some(Arc::new(NamedGuitar::Humbucker.guitar())),
            JackGuitar::Own => own.cloned(),
        }
    }
}
