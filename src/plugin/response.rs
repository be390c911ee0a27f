//! The impulse response of an instance: kept for the project, made into a convolver for the session,
//! handed to the audio thread and back.

use crate::live::cabinets::Response;
use crate::realtime::cabinet::Convolver;
use crate::sound::impulse::Impulse;
use crossbeam_utils::atomic::AtomicCell;
use rtrb::{Consumer, Producer, RingBuffer};
use std::sync::{Arc, Mutex, PoisonError};

/// Responses that may wait to be thrown away.
const LEFT_OVER: usize = 4;

/// See the module.
pub struct ResponseDesk {
    impulse: Mutex<Option<Arc<Impulse>>>,
    /// A response on its way to the audio thread; a later one takes its place.
    incoming: AtomicCell<Option<Box<Response>>>,
    finished: Mutex<Consumer<Box<Response>>>,
}

impl ResponseDesk {
    /// Without an impulse response; besides, the audio thread's end of the way back.
    pub fn new() -> (Self, Producer<Box<Response>>) {
        let (finished, thrown) = RingBuffer::new(LEFT_OVER);
        let desk = ResponseDesk {
            impulse: Mutex::new(None),
            incoming: AtomicCell::new(None),
            finished: Mutex::new(thrown),
        };
        (desk, finished)
    }

    /// What is there.
    pub fn impulse(&self) -> Option<Arc<Impulse>> {
        let impulse = self.impulse.lock();
        impulse.unwrap_or_else(PoisonError::into_inner).clone()
    }

    /// Replaces it, or takes it away; audio at a rate in hertz, if any runs, goes on with it after
    /// a cross-fade.
    pub fn put(&self, impulse: Option<Arc<Impulse>>, rate: Option<f64>) {
        self.throw_away();
        let kept = self.impulse.lock();
        *kept.unwrap_or_else(PoisonError::into_inner) = impulse;
        if let Some(rate) = rate {
            self.incoming.store(Some(self.made(rate)));
        }
    }

    /// The response for a session at a rate in hertz; nothing is on its way any more.
    pub fn activate(&self, rate: f64) -> Box<Response> {
        self.deactivate();
        self.made(rate)
    }

    /// No audio runs any more.
    pub fn deactivate(&self) {
        self.incoming.store(None);
        self.throw_away();
    }

    fn made(&self, rate: f64) -> Box<Response> {
        let impulse = self.impulse();
        // Every rate that a host may have can be reached; if one could not, the loudspeaker is
        // heard.
        let taps = impulse.and_then(|impulse| impulse.at_rate(rate).ok());
        Box::new(taps.map(|taps| Convolver::new(&taps)))
    }

    /// Takes a response that is on its way.
    ///
    /// # Real-time
    /// Lock-free.
    pub fn take_incoming(&self) -> Option<Box<Response>> {
        self.incoming.take()
    }

    /// Frees what the audio thread has left.
    pub fn throw_away(&self) {
        let finished = self.finished.lock();
        let mut finished = finished.unwrap_or_else(PoisonError::into_inner);
        while finished.pop().is_ok() {}
    }
}
