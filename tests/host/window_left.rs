//! What an editor leaves behind in a host when it is closed: no file descriptor, no handler in the host's
//! run loop, no thread.

use crate::fixture::screen::{Screen, on_a_screen, patiently};
use crate::fixture::vst3::{CLASSES, Instance};
use crate::fixture::vst3_view::View;

/// How often the editor is opened; `PRESOLDER_OPENINGS` for more.
fn openings() -> usize {
    let asked = std::env::var("PRESOLDER_OPENINGS").ok();
    asked.and_then(|text| text.parse().ok()).unwrap_or(3)
}

/// How many entries a folder of the system's about this process has.
fn count(folder: &str) -> usize {
    let entries = std::fs::read_dir(folder).expect("a folder");
    entries.count()
}

/// File descriptors and threads of this process.
fn open_now() -> [usize; 2] {
    [count("/proc/self/fd"), count("/proc/self/task")]
}

#[test]
#[ignore = "needs a screen; run by the test below in a process of its own"]
fn opens_and_closes() {
    let screen = Screen::new();
    let parent = screen.parent((0, 0), (1280, 800));
    parent.map();
    let instance = Instance::new(CLASSES[0]);
    let mut tidy = false;
    let mut open_and_close = |drawn: bool| {
        // A host that takes its frame away, and one that does not, by turns.
        tidy = !tidy;
        let view = View::open(&instance, parent.id, tidy);
        assert_eq!(view.handlers(), 1, "nothing is registered");
        view.serve();
        // The editor starts its threads with its first frame.
        assert!(!drawn || patiently(|| view.serve(), || parent.drawn()));
        assert_eq!(view.close(), 0, "handlers stay registered");
    };
    // What is opened once for the process: drivers, fonts, threads of the editor.
    for _ in 0..2 {
        open_and_close(true);
    }
    let before = open_now();
    for _ in 0..openings() {
        open_and_close(false);
    }
    // Analyses that ran meanwhile end by themselves.
    let [_, threads] = before;
    assert!(patiently(|| (), || open_now()[1] <= threads), "threads");
    let after = open_now();
    println!(
        "{} openings: {before:?} descriptors and threads before, {after:?} after",
        openings()
    );
    assert_eq!(before[0], after[0], "descriptors are left behind");
    println!("nothing is left");
}

#[test]
fn closing_leaves_nothing_behind() {
    if let Some(said) = on_a_screen("window_left::opens_and_closes", &[]) {
        assert!(said.contains("nothing is left"), "{said}");
    }
}
