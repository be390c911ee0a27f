//! Sound in memory and in files: WAV files, resampling, loudness, impulse responses, the phrase
//! that comes with the program.

pub mod impulse;
pub mod loudness;
pub mod phrase;
pub mod resample;
pub mod wav;
