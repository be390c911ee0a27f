//! Both sides of an amp: whether it stays at rest and passes a signal, as found and as proposed.

use super::howl::{Howl, Stability};
use super::judge::stability;
use crate::network::Network;
use crate::solve::SmallSignal;
use crate::solve::solved::{SolvedAmp, SolvedCircuit};
use serde::Serialize;
use std::fmt;

/// Gain below which nothing is said to come through: −140 dB, far below a volume control at zero.
const NO_GAIN: f64 = 1e-7;
/// Where it is looked for, Hz.
const LOOKED_AT: [f64; 4] = [82.0, 400.0, 1000.0, 5000.0];

/// Why nothing can be judged of a circuit that has an operating point.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub enum AmpFault {
    /// It does not stay at rest.
    Howls(Howl),
    /// What is played does not reach the output.
    NoSignal,
}

impl fmt::Display for AmpFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            AmpFault::Howls(howl) => howl.fmt(f),
            AmpFault::NoSignal => f.write_str(
                "passes no signal from the jack to the output: look for a missing connection, or a \
                 part left out.",
            ),
        }
    }
}

/// An amp of which nothing can be judged: it howls, or nothing comes through.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Unfit {
    /// What is wrong as found; none where nothing is.
    pub as_found: Option<AmpFault>,
    /// What is wrong as proposed; none where nothing is, or nothing is proposed.
    pub proposed: Option<AmpFault>,
    /// Whether anything is proposed.
    pub both: bool,
}

impl Unfit {
    /// What is wrong with the amp as it shall be: as proposed, or as found where nothing is proposed.
    pub fn asked_for(&self) -> Option<&AmpFault> {
        match self.both {
            true => self.proposed.as_ref(),
            false => self.as_found.as_ref(),
        }
    }
}

impl fmt::Display for Unfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (&self.as_found, &self.proposed) {
            (Some(before), Some(after)) => {
                write!(f, "The amp as found {before} As proposed it {after}")
            }
            (Some(before @ AmpFault::Howls(_)), None) if self.both => {
                write!(f, "The amp as found {before} As proposed it stays at rest.")
            }
            (Some(before), None) if self.both => write!(f, "The amp as found {before}"),
            (Some(before), None) => write!(f, "The amp {before}"),
            (None, Some(after)) => write!(f, "The amp as proposed {after}"),
            (None, None) => Ok(()),
        }
    }
}

impl std::error::Error for Unfit {}

impl SolvedCircuit {
    /// Whether it stays at rest; `network` is its own.
    pub fn stability(&self, network: &Network) -> Stability {
        stability(&self.circuit, network, &self.values, &self.point)
    }

    /// Why nothing can be judged of it, if so.
    pub fn fault(&self, network: &Network) -> Option<AmpFault> {
        if let Stability::Unstable(howl) = self.stability(network) {
            return Some(AmpFault::Howls(howl));
        }
        self.is_silent(network).then_some(AmpFault::NoSignal)
    }

    /// Whether nothing of what is played reaches the output; `network` is its own.
    pub fn is_silent(&self, network: &Network) -> bool {
        if !self.circuit.signal_reaches_output() {
            return true;
        }
        let small = SmallSignal::new(network, &self.values, &self.point);
        let nothing = |&hz: &f64| small.gain(hz).norm() < NO_GAIN;
        LOOKED_AT.iter().all(nothing)
    }
}

impl SolvedAmp {
    /// What is wrong with the amp as found and as proposed; none where nothing is.
    pub fn faults(&self) -> Option<Box<Unfit>> {
        self.unfit(|side| side.fault(&self.network))
    }

    /// The amp itself, if it stays at rest as found and as proposed. One that passes no signal stays at
    /// rest: of a stage that was taken out its owner may want to see the voltages.
    ///
    /// # Errors
    /// [`Unfit`] when one of them does not stay at rest.
    pub fn fit_to_judge(self) -> Result<Self, Box<Unfit>> {
        let unfit = self.unfit(|side| match side.stability(&self.network) {
            Stability::Unstable(howl) => Some(AmpFault::Howls(howl)),
            Stability::Stable | Stability::InDoubt => None,
        });
        unfit.map_or(Ok(self), Err)
    }

    /// The sides that pass no signal; none where both do.
    pub fn silent(&self) -> Option<Box<Unfit>> {
        let silent = |side: &SolvedCircuit| side.is_silent(&self.network);
        self.unfit(|side| silent(side).then_some(AmpFault::NoSignal))
    }

    /// The amp itself, if it stays at rest as found and as proposed and passes a signal as it shall
    /// be. One that is to be repaired may pass none as found.
    ///
    /// # Errors
    /// [`Unfit`] when it does not.
    pub fn fit_to_play(self) -> Result<Self, Box<Unfit>> {
        let amp = self.fit_to_judge()?;
        match amp.silent().filter(|unfit| unfit.asked_for().is_some()) {
            Some(unfit) => Err(unfit),
            None => Ok(amp),
        }
    }

    fn unfit(&self, fault: impl Fn(&SolvedCircuit) -> Option<AmpFault>) -> Option<Box<Unfit>> {
        let unfit = Unfit {
            as_found: fault(&self.as_found),
            proposed: self.proposed.as_ref().and_then(&fault),
            both: self.proposed.is_some(),
        };
        let wrong = unfit.as_found.is_some() || unfit.proposed.is_some();
        wrong.then(|| Box::new(unfit))
    }
}
