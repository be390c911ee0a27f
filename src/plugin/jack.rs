//! What an instance has in its amp's jack, and the guitar that its owner brought.

use crate::circuit::Guitar;
use crate::live::jack_guitar::{JackGuitar, OwnGuitar};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// See the module.
#[derive(Debug)]
pub struct Jack {
    plugged: Mutex<JackGuitar>,
    own: Mutex<Option<OwnGuitar>>,
}

impl Default for Jack {
    fn default() -> Self {
        Jack {
            plugged: Mutex::new(JackGuitar::None),
            own: Mutex::new(None),
        }
    }
}

/// A lock that somebody panicked under holds nothing that could be half done.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Jack {
    /// What drives the jack. Whoever changes it changes the map's amp before it lets go.
    pub fn plugged(&self) -> MutexGuard<'_, JackGuitar> {
        locked(&self.plugged)
    }

    /// The owner's own guitar.
    pub fn own(&self) -> Option<OwnGuitar> {
        locked(&self.own).clone()
    }

    /// Replaces the owner's own guitar; in the jack it is with the next map.
    pub fn bring(&self, own: Option<OwnGuitar>) {
        *locked(&self.own) = own;
    }

    /// The guitar that this stands for.
    pub fn guitar(&self, plugged: JackGuitar) -> Option<Arc<Guitar>> {
        let own = locked(&self.own);
        plugged.guitar(own.as_ref().map(|own| &own.guitar))
    }
}
