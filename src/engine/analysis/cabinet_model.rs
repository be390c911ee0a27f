//! What the curve, a fit and a rendered sound take the output of an amp to be heard through: each
//! circuit's own loudspeaker, the voltage itself, or an impulse response.
//!
//! Gives its gain by frequency, its processor for sound, and its name. The processor that is heard
//! while playing live has its own: [`crate::live`].

use super::listening::{self, loudspeaker_of};
use crate::circuit::Circuit;
use crate::realtime::cabinet::{Cabinet, Convolver, Sections, Voicing};
use crate::solve::solved::SolvedCircuit;
use crate::sound::impulse::{Impulse, ImpulseFault};
use crate::units::decibels_from_ratio;
use num_complex::Complex64;
use std::sync::Arc;

/// Frames that are processed at once.
const BLOCK: usize = 1024;

/// What the output is heard through.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum CabinetModel {
    /// What each circuit's own loudspeaker radiates.
    #[default]
    Loudspeaker,
    /// Nothing: the voltage at the output.
    Line,
    /// An impulse response.
    Impulse(Arc<Impulse>),
}

impl CabinetModel {
    /// Whether it is the same; impulse responses are compared by their place, not by their taps.
    pub fn same(&self, other: &CabinetModel) -> bool {
        match (self, other) {
            (CabinetModel::Impulse(a), CabinetModel::Impulse(b)) => Arc::ptr_eq(a, b),
            (CabinetModel::Loudspeaker, CabinetModel::Loudspeaker)
            | (CabinetModel::Line, CabinetModel::Line) => true,
            _ => false,
        }
    }

    /// Complex gain at a frequency in hertz: of the same sections or taps that are heard.
    pub fn gain(&self, side: &SolvedCircuit, hz: f64) -> Complex64 {
        match self {
            CabinetModel::Loudspeaker => listening::loudspeaker(side, hz),
            CabinetModel::Line => listening::line(side, hz),
            CabinetModel::Impulse(impulse) => impulse.at(hz),
        }
    }

    /// Its level at frequencies in hertz, dB.
    pub fn levels(&self, side: &SolvedCircuit, hz: &[f64]) -> Vec<f64> {
        let level = |&hz: &f64| decibels_from_ratio(self.gain(side, hz).norm());
        hz.iter().map(level).collect()
    }

    /// Its name after "through"; none for the line, and for a loudspeaker where there is none.
    pub fn name(&self, circuit: &Circuit) -> Option<String> {
        match self {
            CabinetModel::Loudspeaker => Some(loudspeaker_of(circuit)?.name.clone()),
            CabinetModel::Line => None,
            CabinetModel::Impulse(impulse) => Some(impulse.name().to_owned()),
        }
    }

    /// What it is, after "through"; none as [`CabinetModel::name`].
    pub fn words(&self, circuit: &Circuit) -> Option<String> {
        let name = self.name(circuit)?;
        Some(match self {
            CabinetModel::Impulse(_) => format!("the impulse response {name}"),
            _ => format!("its loudspeaker, {name}"),
        })
    }

    /// The processor for sound at a rate in hertz.
    ///
    /// # Errors
    /// For an impulse response that cannot be brought to that rate.
    pub fn processor<const N: usize>(
        &self,
        circuit: &Circuit,
        rate: f64,
    ) -> Result<Cabinet<N>, ImpulseFault> {
        Ok(match self {
            CabinetModel::Line => Cabinet::Raw,
            CabinetModel::Loudspeaker => {
                let voicing = loudspeaker_of(circuit).map_or(Voicing::STRAIGHT, |driver| {
                    Voicing::new(driver.acoustic.analog(), rate)
                });
                Cabinet::Acoustic(Box::new(Sections::new([&voicing; N])))
            }
            CabinetModel::Impulse(impulse) => {
                Cabinet::Impulse(Box::new(Convolver::new(&impulse.at_rate(rate)?)))
            }
        })
    }

    /// Sound in volts, a channel each, as it is heard; without a delay.
    ///
    /// # Errors
    /// As [`CabinetModel::processor`].
    pub fn hear(
        &self,
        circuit: &Circuit,
        rate: f64,
        channels: &mut [Vec<f32>],
    ) -> Result<(), ImpulseFault> {
        if *self == CabinetModel::Line {
            return Ok(());
        }
        for channel in channels {
            let mut cabinet = self.processor::<1>(circuit, rate)?;
            let mut line = [0.0; BLOCK];
            for chunk in channel.chunks_mut(BLOCK) {
                let line = &mut line[..chunk.len()];
                for (place, &sample) in line.iter_mut().zip(chunk.iter()) {
                    *place = f64::from(sample);
                }
                cabinet.process(&mut [line]);
                for (sample, &heard) in chunk.iter_mut().zip(line.iter()) {
                    *sample = heard as f32;
                }
            }
        }
        Ok(())
    }
}
