//! A sound together with the volts that its samples stand for.

use crate::sound::Sound;
use std::sync::Arc;

/// What is played and how loud.
#[derive(Clone, Debug)]
pub struct CalibratedSound {
    /// The sound.
    pub sound: Arc<Sound>,
    /// Volts at the jack of a sample of 1.
    pub input_volts: f64,
    /// Volts heard that make a sample of 1.
    pub output_volts: f64,
    /// Whether samples may stand above full scale, as floats may.
    pub may_exceed: bool,
}

impl CalibratedSound {
    /// The channels in volts at the jack.
    pub fn in_volts(&self) -> Vec<Vec<f32>> {
        let volts = self.input_volts as f32;
        let channel = |samples: &Vec<f32>| samples.iter().map(|s| s * volts).collect();
        self.sound.channels.iter().map(channel).collect()
    }
}
