//! A sound in memory.

use super::resample::resampled;

/// A sound in memory, whatever its samples stand for: volts, or shares of full scale.
#[derive(Clone, Debug, PartialEq)]
pub struct Sound {
    /// What it is called in reports: its file's name, or what it is in words.
    pub name: String,
    /// Sample rate, Hz.
    pub rate: u32,
    /// One or two channels of equal length; of a file, 1.0 is full scale.
    pub channels: Vec<Vec<f32>>,
}

impl Sound {
    /// Number of samples of a channel.
    pub fn frames(&self) -> usize {
        self.channels.iter().map(Vec::len).min().unwrap_or(0)
    }

    /// Highest sample of all channels, either way.
    pub fn peak(&self) -> f32 {
        let samples = self.channels.iter().flatten();
        samples.fold(0.0, |peak, sample| peak.max(sample.abs()))
    }

    /// The same sound at another rate, Hz.
    ///
    /// # Errors
    /// Its name, and what the crate says of rates that it does not take.
    pub fn at_rate(&self, rate: u32) -> Result<Sound, String> {
        let channels = resampled(&self.channels, self.rate, rate);
        Ok(Sound {
            channels: channels.map_err(|why| format!("{}: {why}", self.name))?,
            rate,
            name: self.name.clone(),
        })
    }
}
