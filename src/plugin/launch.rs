//! What the instance of the standalone begins with. The framework makes the instance itself, so
//! that it looks here for the circuit and the settings that the command line asked for; in a host
//! there are none.

use super::instance::Instance;
use crate::analysis::cabinet_model::CabinetModel;
use crate::live::jack_guitar::{JackGuitar, OwnGuitar};
use crate::live::settings::{CABINET_IMPULSE, CABINET_LINE, CABINET_LOUDSPEAKER, PluginSetting};
use crate::requests::opening::Opening;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::sync::{Arc, Mutex, MutexGuard};

/// What the instance of the standalone begins with, and how it is heard.
struct Beginning {
    opening: Opening,
    device: String,
}

static BEGINNING: Mutex<Option<Beginning>> = Mutex::new(None);
/// A window has opened.
static OPENED: AtomicBool = AtomicBool::new(false);

fn beginning() -> MutexGuard<'static, Option<Beginning>> {
    BEGINNING.lock().unwrap_or_else(|e| e.into_inner())
}

/// Loads the circuit that was asked for, with what is proposed.
pub fn prepare(instance: &Arc<Instance>) {
    if let Some(Beginning { opening, .. }) = &*beginning() {
        // Both were checked before the window opened.
        let _ = instance.load(&opening.bytes, opening.path.as_deref());
        instance.propose_first(&opening.proposal);
        let impulse = match &opening.cabinet {
            CabinetModel::Impulse(impulse) => Some(Arc::clone(impulse)),
            _ => None,
        };
        instance.put_impulse(impulse);
        let own = opening.guitar.clone().map(|guitar| OwnGuitar {
            guitar,
            text: String::new(),
        });
        instance.jack().bring(own);
    }
}

/// The number that a choice begins with, where the command line says.
pub fn first_choice(setting: PluginSetting) -> Option<i32> {
    let beginning = beginning();
    let opening = &beginning.as_ref()?.opening;
    match setting {
        PluginSetting::Cabinet => Some(match opening.cabinet {
            CabinetModel::Loudspeaker => CABINET_LOUDSPEAKER,
            CabinetModel::Line => CABINET_LINE,
            CabinetModel::Impulse(_) => CABINET_IMPULSE,
        }),
        PluginSetting::Guitar => {
            let guitar = opening.guitar.as_ref()?;
            let named = [JackGuitar::SingleCoil, JackGuitar::Humbucker];
            let same = |one: &JackGuitar| one.guitar(None).as_ref() == Some(guitar);
            Some(named.into_iter().find(same).unwrap_or(JackGuitar::Own) as i32)
        }
        _ => None,
    }
}

/// The audio device in a sentence.
pub fn device() -> String {
    let beginning = beginning();
    beginning
        .as_ref()
        .map_or_else(String::new, |b| b.device.clone())
}

/// The recording that was asked for.
pub fn recording() -> Option<PathBuf> {
    beginning().as_ref().and_then(|b| b.opening.wav.clone())
}

/// Notes that a window has opened.
pub fn opened() {
    OPENED.store(true, Relaxed);
}

/// Whether a window has opened.
pub fn has_opened() -> bool {
    OPENED.load(Relaxed)
}

/// Notes what the instance that is made next begins with.
pub fn begin_with(opening: Opening, device: String) {
    *beginning() = Some(Beginning { opening, device });
}
