//! Sounds and impulse responses from files, with faults that name the file.

use super::impulse::{Impulse, ImpulseFault, Prepared};
use super::wav::{self, WavFault, WavFile};
use std::fmt;
use std::path::{Path, PathBuf};

/// A file that gives no sound, or no impulse response.
#[derive(Debug)]
pub struct SoundFileFault {
    /// Its path.
    pub path: PathBuf,
    /// What is wrong.
    pub why: Unusable,
}

/// What is wrong with a file of sound.
#[derive(Debug)]
pub enum Unusable {
    /// It is no WAV file that is read or written here.
    Wav(WavFault),
    /// The sound in it is no impulse response.
    Impulse(ImpulseFault),
}

impl fmt::Display for SoundFileFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let path = self.path.display();
        match &self.why {
            // A fault of the file itself names the path already.
            Unusable::Wav(WavFault::File(fault)) => write!(f, "{fault}"),
            Unusable::Wav(fault) => write!(f, "{path}: {fault}"),
            Unusable::Impulse(fault) => write!(f, "{path}: {fault}"),
        }
    }
}

impl std::error::Error for SoundFileFault {}

impl SoundFileFault {
    /// What is wrong with a WAV file.
    pub fn wav(path: &Path, fault: WavFault) -> Self {
        SoundFileFault {
            path: path.to_path_buf(),
            why: Unusable::Wav(fault),
        }
    }

    /// What is wrong with an impulse response.
    pub fn impulse(path: &Path, fault: ImpulseFault) -> Self {
        SoundFileFault {
            path: path.to_path_buf(),
            why: Unusable::Impulse(fault),
        }
    }
}

/// Reads a WAV file.
///
/// # Errors
/// What is wrong with it, with its path.
pub fn read(path: &Path) -> Result<WavFile, SoundFileFault> {
    wav::read(path).map_err(|fault| SoundFileFault::wav(path, fault))
}

/// Reads an impulse response from a WAV file.
///
/// # Errors
/// What is wrong with the file, or why it is no impulse response.
pub fn read_impulse(path: &Path) -> Result<Prepared, SoundFileFault> {
    let sound = read(path)?.sound;
    Impulse::from_recording(&sound.name, &sound.channels, sound.rate)
        .map_err(|fault| SoundFileFault::impulse(path, fault))
}
