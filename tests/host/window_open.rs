//! The plugin's window is never blank: a host makes its own window, opens the editor in it and shows
//! it only some time later, as hosts do on a busy machine; what is on the screen is read back.

use crate::fixture::screen::{Parent, Screen, on_a_screen, patiently};
use crate::fixture::window::Opened;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

/// How long the host's window comes after the editor in it, and the editor is shown after it is made.
const LATE: Duration = Duration::from_millis(60);

/// How often each way of opening is tried; `PRESOLDER_OPENINGS` for more.
fn openings() -> usize {
    let asked = std::env::var("PRESOLDER_OPENINGS").ok();
    asked.and_then(|text| text.parse().ok()).unwrap_or(1)
}

/// Keeps every core busy while something is done.
fn busily<T>(work: impl FnOnce() -> T) -> T {
    let done = AtomicBool::new(false);
    let cores = std::thread::available_parallelism().map_or(2, usize::from);
    std::thread::scope(|scope| {
        for _ in 0..cores {
            scope.spawn(|| {
                while !done.load(Ordering::Relaxed) {
                    std::hint::spin_loop();
                }
            });
        }
        let result = work();
        done.store(true, Ordering::Relaxed);
        result
    })
}

/// What makes an instance.
type Make = fn() -> Opened;

/// Opens editors in windows that come late; how many of them did not draw.
fn blank(makes: &[Make]) -> usize {
    let screen = Screen::new();
    let place = |n: i16| (1300 * (n % 2), 850 * (n / 2));
    let parents: Vec<Parent> = (0..makes.len() as i16)
        .map(|n| screen.parent(place(n), (1280, 800)))
        .collect();
    let mut editors: Vec<Opened> = makes.iter().map(|make| make()).collect();
    busily(|| {
        for (editor, parent) in editors.iter_mut().zip(&parents) {
            editor.open(parent.id);
        }
        std::thread::sleep(LATE);
        for parent in &parents {
            parent.map();
        }
        // Whatever was on its way when the windows came has arrived.
        std::thread::sleep(LATE);
    });
    let blank = parents.iter().filter(|parent| {
        let serve = || editors.iter_mut().for_each(Opened::serve);
        !patiently(serve, || parent.drawn())
    });
    let blank = blank.count();
    editors.iter_mut().for_each(Opened::close);
    blank
}

#[test]
#[ignore = "needs a screen; run by the test below in a process of its own"]
fn opens_late() {
    let (clap, vst3): (Make, Make) = (Opened::clap, Opened::vst3);
    let mut faults = Vec::new();
    for opening in 0..openings() {
        for (together, makes) in [
            ("CLAP", vec![clap]),
            ("VST3", vec![vst3]),
            ("two of each", vec![clap, vst3, clap, vst3]),
        ] {
            let blank = blank(&makes);
            if blank > 0 {
                faults.push(format!("{together}, opening {opening}: {blank} blank"));
            }
        }
    }
    assert!(faults.is_empty(), "{faults:#?}");
    println!("every window was drawn");
}

#[test]
fn a_window_that_is_shown_late_is_drawn() {
    if let Some(said) = on_a_screen("window_open::opens_late", &[("PRESOLDER_SHOW_LATE", "60")]) {
        assert!(said.contains("every window was drawn"), "{said}");
    }
}
