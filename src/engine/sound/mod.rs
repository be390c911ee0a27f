//! Sound in memory and in files: WAV files, resampling, loudness, impulse responses, the phrase
//! that comes with the program.

pub mod file;
pub mod impulse;
mod in_memory;
pub mod loudness;
pub mod phrase;
pub mod resample;
pub mod wav;

pub use in_memory::Sound;
