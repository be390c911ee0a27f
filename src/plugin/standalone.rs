//! `presolder play`: the plugin in a window of its own, with live input and a player.

use super::class::OwnFile;
use super::instance::Instance;
use super::shell::Presolder;
use crate::analysis::cabinet_model::CabinetModel;
use crate::requests::opening::{NoDisplay, Opening};
use nice_plug::prelude::nice_export_standalone_with_args;
use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::sync::{Arc, Mutex, MutexGuard};
use std::time::Duration;

/// What the instance of the standalone begins with, and how it is heard.
struct Beginning {
    opening: Opening,
    device: String,
}

static BEGINNING: Mutex<Option<Beginning>> = Mutex::new(None);
/// A window has opened.
static OPENED: AtomicBool = AtomicBool::new(false);

/// Time that a window may take to open.
const PATIENCE: Duration = Duration::from_secs(15);

fn beginning() -> MutexGuard<'static, Option<Beginning>> {
    BEGINNING.lock().unwrap_or_else(|e| e.into_inner())
}

/// Puts the circuit that was asked for on the bench, with what is proposed.
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
    }
}

/// Number of what is heard through at first (see [`super::params`]).
pub fn first_through() -> usize {
    match beginning().as_ref().map(|b| &b.opening.cabinet) {
        Some(CabinetModel::Line) => 1,
        Some(CabinetModel::Impulse(_)) => 2,
        Some(CabinetModel::Loudspeaker) | None => 0,
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

/// Opens the window and returns when it is closed.
///
/// # Errors
/// [`NoDisplay`] where no window can open.
pub fn open(opening: Opening) -> Result<(), NoDisplay> {
    display().map_err(NoDisplay)?;
    let (backend, device) = sound(&opening);
    println!("{device}");
    let mut arguments = vec![
        "presolder play".to_owned(),
        format!("--backend={backend}"),
        format!("--sample-rate={}", opening.rate),
        format!("--period-size={}", opening.block),
    ];
    if backend == "alsa" {
        for (name, value) in [
            ("input-device", &opening.input),
            ("output-device", &opening.output),
        ] {
            if let Some(value) = value {
                arguments.push(format!("--{name}={value}"));
            }
        }
    }
    if let ("jack", Some(input)) = (backend, &opening.input) {
        arguments.push(format!("--connect-jack-inputs={input}"));
    }
    *beginning() = Some(Beginning { opening, device });
    std::thread::spawn(|| {
        std::thread::sleep(PATIENCE);
        if !OPENED.load(Relaxed) {
            eprintln!("{NO_WINDOW}");
            std::process::exit(i32::from(NoDisplay::EXIT_CODE));
        }
    });
    match nice_export_standalone_with_args::<Presolder<OwnFile>, _>(arguments) {
        true => Ok(()),
        false => Err(NoDisplay(NO_WINDOW.into())),
    }
}

const NO_WINDOW: &str = "No window could be opened: the display has no usable OpenGL. The other \
                         commands work without one.";

/// Whether there is a display, or one line saying that there is not.
#[cfg(target_os = "linux")]
fn display() -> Result<(), String> {
    x11rb::connect(None).map(|_| ()).map_err(|why| {
        format!(
            "There is no display to open a window on ({why}). \
             The other commands work without one; `presolder --help` lists them."
        )
    })
}

#[cfg(not(target_os = "linux"))]
fn display() -> Result<(), String> {
    Ok(())
}

/// The way to the loudspeakers: the framework's name for it, and a sentence.
fn sound(opening: &Opening) -> (&'static str, String) {
    if opening.silent {
        return ("dummy", "Opened without sound, as asked.".into());
    }
    if let Ok((client, _)) =
        jack::Client::new("presolder-look", jack::ClientOptions::NO_START_SERVER)
    {
        let rate = client.sample_rate();
        let live = match &opening.input {
            Some(input) => format!("live input from {input}"),
            None => "connect your guitar to its inputs there".into(),
        };
        return (
            "jack",
            format!("Sound goes through JACK at {rate} Hz, {live}."),
        );
    }
    system(opening)
}

#[cfg(target_os = "linux")]
fn system(opening: &Opening) -> (&'static str, String) {
    use cpal::traits::{DeviceTrait, HostTrait};
    let host = cpal::default_host();
    let usable = |device: &cpal::Device| {
        device
            .supported_output_configs()
            .is_ok_and(|mut configs| configs.next().is_some())
    };
    match host.default_output_device().filter(usable) {
        Some(_) => {
            let live = match &opening.input {
                Some(input) => format!("live input from {input}"),
                None => "no live input (choose one with --input)".into(),
            };
            let rate = opening.rate;
            (
                "alsa",
                format!("Sound goes through ALSA at {rate} Hz, {live}."),
            )
        }
        None => (
            "dummy",
            "There is no audio device: everything can be seen and changed, but nothing is heard."
                .into(),
        ),
    }
}

#[cfg(not(target_os = "linux"))]
fn system(opening: &Opening) -> (&'static str, String) {
    let rate = opening.rate;
    (
        "auto",
        format!("Sound goes through the system's own device at {rate} Hz."),
    )
}
