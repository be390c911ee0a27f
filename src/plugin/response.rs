//! The impulse response of an instance: kept for the project, made into a convolver for the session,
//! handed to the audio thread and back.

use super::handover::{AudioEnd, Handover, handover};
use crate::live::cabinets::Response;
use crate::realtime::cabinet::Convolver;
use crate::sound::impulse::Impulse;
use std::sync::{Arc, Mutex, PoisonError};

/// See the module.
pub struct SharedResponse {
    impulse: Mutex<Option<Arc<Impulse>>>,
    handover: Handover<Response>,
}

impl SharedResponse {
    /// Without an impulse response; besides, the audio thread's end.
    pub fn new() -> (Self, AudioEnd<Response>) {
        let (handover, end) = handover();
        let shared = SharedResponse {
            impulse: Mutex::new(None),
            handover,
        };
        (shared, end)
    }

    /// What is there.
    pub fn impulse(&self) -> Option<Arc<Impulse>> {
        let impulse = self.impulse.lock();
        impulse.unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Replaces it, or takes it away; audio at a rate in hertz, if any runs, goes on with it after
    /// a cross-fade.
    pub fn put(&self, impulse: Option<Arc<Impulse>>, rate: Option<f64>) {
        let kept = self.impulse.lock();
        *kept.unwrap_or_else(PoisonError::into_inner) = impulse;
        if let Some(rate) = rate {
            self.handover.send(self.made(rate));
        }
    }

    /// The response for a session at a rate in hertz; nothing is on its way any more.
    pub fn activate(&self, rate: f64) -> Box<Response> {
        self.deactivate();
        self.made(rate)
    }

    /// No audio runs any more.
    pub fn deactivate(&self) {
        self.handover.cancel();
    }

    fn made(&self, rate: f64) -> Box<Response> {
        let impulse = self.impulse();
        // Every rate that a host may have can be reached; if one could not, the loudspeaker is
        // heard.
        let taps = impulse.and_then(|impulse| impulse.at_rate(rate).ok());
        Box::new(taps.map(|taps| Convolver::new(&taps)))
    }

    /// Frees what the audio thread has finished with.
    pub fn collect(&self) {
        self.handover.collect();
    }
}
