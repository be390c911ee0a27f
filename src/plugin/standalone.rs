//! `presolder play`: the plugin in a window of its own, with live input and a player.

use super::launch;
use super::shell::Presolder;
use crate::requests::opening::{NoDisplay, Opening};
use nice_plug::prelude::nice_export_standalone_with_args;
use std::time::Duration;

/// Time that a window may take to open.
const PATIENCE: Duration = Duration::from_secs(15);

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
    launch::begin_with(opening, device);
    std::thread::spawn(|| {
        std::thread::sleep(PATIENCE);
        if !launch::has_opened() {
            eprintln!("{NO_WINDOW}");
            std::process::exit(i32::from(NoDisplay::EXIT_CODE));
        }
    });
    match nice_export_standalone_with_args::<Presolder, _>(arguments) {
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
