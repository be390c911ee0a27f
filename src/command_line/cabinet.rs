//! What an amp is heard through, as the command line names it: the voltage itself, its own
//! loudspeaker, or an impulse response in a WAV file.

use super::failure::Failure;
use crate::analysis::listening::{self, loudspeaker_of};
use crate::circuit::Circuit;
use crate::realtime::cabinet::{Cabinet, Convolver, Sections, Voicing};
use crate::solve::solved::SolvedCircuit;
use crate::sound::impulse::{Impulse, Prepared};
use crate::sound::wav;
use num_complex::Complex64;
use std::path::{Path, PathBuf};

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub enum Choice {
    /// The voltage at the output.
    Raw,
    /// What the loudspeaker radiates.
    Loudspeaker,
    /// The impulse response in this file.
    File(PathBuf),
}

/// Reads the choice; what is none of the words is a file.
///
/// # Errors
/// For an empty text.
pub fn choice(text: &str) -> Result<Choice, String> {
    match text {
        "" => Err("write raw, loudspeaker, or the path of a WAV file".into()),
        "raw" => Ok(Choice::Raw),
        "loudspeaker" => Ok(Choice::Loudspeaker),
        path => Ok(Choice::File(path.into())),
    }
}

/// What the amp is heard through, with what it takes.
#[derive(Clone, Debug, PartialEq)]
pub enum Through {
    /// The voltage at the output.
    Raw,
    /// What each circuit's own loudspeaker radiates.
    Loudspeaker,
    /// An impulse response.
    Impulse(Impulse),
}

/// Opens what was asked for; with nothing asked for it is `otherwise`. Besides, what the owner
/// should know about it.
///
/// # Errors
/// For a loudspeaker where none is heard, and a file that cannot be read or is no impulse
/// response.
pub fn open(
    choice: Option<&Choice>,
    otherwise: Through,
    circuit: &Circuit,
    at_node: bool,
) -> Result<(Through, Vec<String>), Failure> {
    let radiates = !at_node && loudspeaker_of(circuit).is_some();
    match choice {
        None if otherwise == Through::Loudspeaker && !radiates => Ok((Through::Raw, Vec::new())),
        None => Ok((otherwise, Vec::new())),
        Some(Choice::Raw) => Ok((Through::Raw, Vec::new())),
        Some(Choice::Loudspeaker) if radiates => Ok((Through::Loudspeaker, Vec::new())),
        Some(Choice::Loudspeaker) => Err(Failure::Usage(
            "--cabinet loudspeaker: a node is listened to, and no loudspeaker is there; leave it \
             out, or name a WAV file with an impulse response"
                .into(),
        )),
        Some(Choice::File(path)) => {
            let Prepared { impulse, warnings } = read(path)?;
            let name = path.display();
            let told = warnings.iter().map(|warning| format!("{name}: {warning}"));
            Ok((Through::Impulse(impulse), told.collect()))
        }
    }
}

/// Reads an impulse response.
///
/// # Errors
/// What is wrong with the file, or why it is no impulse response.
pub fn read(path: &Path) -> Result<Prepared, Failure> {
    let recording = wav::read(path).map_err(|fault| Failure::Wav(path.to_path_buf(), fault))?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    Impulse::from_recording(&name, &recording.channels, recording.rate)
        .map_err(|fault| Failure::Impulse(path.to_path_buf(), fault))
}

impl Through {
    /// Complex gain at a frequency in hertz: of the same sections or taps that are heard.
    pub fn gain(&self, side: &SolvedCircuit, hz: f64) -> Complex64 {
        match self {
            Through::Raw => listening::line(side, hz),
            Through::Loudspeaker => listening::loudspeaker(side, hz),
            Through::Impulse(impulse) => impulse.at(hz),
        }
    }

    /// The processor for sound at a rate in hertz.
    ///
    /// # Errors
    /// For an impulse response that cannot be brought to that rate.
    pub fn processor<const N: usize>(
        &self,
        circuit: &Circuit,
        rate: f64,
    ) -> Result<Cabinet<N>, Failure> {
        Ok(match self {
            Through::Raw => Cabinet::Raw,
            Through::Loudspeaker => {
                let voicing = loudspeaker_of(circuit).map_or(Voicing::STRAIGHT, |driver| {
                    Voicing::new(driver.acoustic.analog(), rate)
                });
                Cabinet::Acoustic(Box::new(Sections::new([&voicing; N])))
            }
            Through::Impulse(impulse) => {
                let taps = impulse
                    .at_rate(rate)
                    .map_err(|fault| Failure::Impulse(impulse.name().into(), fault))?;
                Cabinet::Impulse(Box::new(Convolver::new(&taps)))
            }
        })
    }

    /// What it is, after "through"; none for the voltage itself.
    pub fn words(&self, circuit: &Circuit) -> Option<String> {
        match self {
            Through::Raw => None,
            Through::Loudspeaker => {
                let driver = loudspeaker_of(circuit)?;
                Some(format!("its loudspeaker, {}", driver.name))
            }
            Through::Impulse(impulse) => Some(format!("the impulse response {}", impulse.name())),
        }
    }

    /// Sound of one channel, volts, as it is heard; without a delay.
    ///
    /// # Errors
    /// As [`Through::processor`].
    pub fn hear(
        &self,
        circuit: &Circuit,
        rate: f64,
        channels: &mut [Vec<f32>],
    ) -> Result<(), Failure> {
        if *self == Through::Raw {
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

/// Frames that are processed at once.
const BLOCK: usize = 1024;
