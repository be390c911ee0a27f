//! `presolder play`: the plugin in a window of its own, with live input and a player.

use super::instance::Instance;
use std::path::PathBuf;
use std::sync::{Arc, Mutex};

/// What the next instance of the standalone begins with.
#[derive(Clone, Debug, Default)]
pub struct Beginning {
    /// The circuit file's bytes and path.
    pub circuit: Option<(Vec<u8>, PathBuf)>,
    /// What the audio device is, in a sentence.
    pub device: String,
}

static BEGINNING: Mutex<Option<Beginning>> = Mutex::new(None);

/// Puts the circuit that was asked for on the bench.
pub fn prepare(instance: &Arc<Instance>) {
    let beginning = BEGINNING.lock().unwrap_or_else(|e| e.into_inner());
    let circuit = beginning.as_ref().and_then(|b| b.circuit.as_ref());
    if let Some((bytes, path)) = circuit {
        // It was checked before the window opened.
        let _ = instance.load(bytes, Some(path));
    }
}

/// The audio device in a sentence.
pub fn device() -> String {
    let beginning = BEGINNING.lock().unwrap_or_else(|e| e.into_inner());
    beginning
        .as_ref()
        .map_or_else(String::new, |b| b.device.clone())
}
