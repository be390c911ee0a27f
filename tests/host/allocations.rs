//! The plugin's audio thread neither allocates nor frees, whatever a host does meanwhile: any
//! attempt aborts the process, as it does in every other test here. Needs debug assertions.

use crate::fixture::clap::{Instance, Set};
use crate::fixture::{CLASSES, Dice, peak, pluck};
use std::collections::BTreeSet;
use std::ffi::OsString;
use std::io::{BufRead, BufReader};
use std::process::{Command, Output, Stdio};
use std::time::Duration;
use x11rb::connection::Connection;
use x11rb::protocol::xproto::{ConnectionExt, CreateWindowAux, WindowClass};

const RATE: f64 = 48_000.0;

/// Everything that a host does while it plays: values at any frame, states, other oversampling,
/// beginning anew.
fn torment(class: &str, instance: &mut Instance, dice: &mut Dice) {
    let params = instance.params();
    let input = pluck(RATE, 2_048, 2, 0.8);
    let other = {
        let mut other = Instance::new(class);
        let adjustables = params.iter().filter(|p| p.module != "Presolder");
        let sets: Vec<_> = adjustables.map(|p| (p.id, p.at(0.45))).collect();
        other.set(&sets);
        other.save()
    };
    let first = instance.save();
    instance.activate(RATE, 512);
    // Every parameter from end to end, and three at a time jumping.
    for param in params.iter().filter(|p| !p.hidden()) {
        let jump = |dice: &mut Dice| {
            let param = &params[dice.below(params.len())];
            (
                param.id,
                if param.hidden() {
                    0.0
                } else {
                    param.at(dice.roll())
                },
            )
        };
        let mut sets: Vec<Set> = (0..8)
            .map(|step| Set {
                frame: step * 50,
                id: param.id,
                value: param.at(step as f64 / 7.0),
            })
            .collect();
        for frame in [3, 3, 250] {
            let (id, value) = jump(dice);
            sets.push(Set { frame, id, value });
        }
        sets.sort_by_key(|set| set.frame);
        let part: Vec<Vec<f32>> = input.iter().map(|c| c[..400].to_vec()).collect();
        instance.play(&part, &[64, 200], &sets);
    }
    // Other circuits and values come in while it plays; decks come from another thread.
    let oversampling = instance.param("Oversampling").id;
    for round in 0..6 {
        let state = if round % 2 == 0 { &other } else { &first };
        assert!(instance.load(state), "{class}");
        let set = Set {
            frame: 100,
            id: oversampling,
            value: f64::from(round % 4),
        };
        for _ in 0..3 {
            instance.play(&input, &[512], &[set]);
            std::thread::sleep(Duration::from_millis(20));
        }
        instance.reset();
    }
    let output = instance.play(&input, &[512], &[]);
    assert!(
        peak(&output).is_finite() && peak(&output) > 1e-3,
        "{class}: {}",
        peak(&output)
    );
    instance.deactivate();
}

#[test]
fn playing_allocates_nothing() {
    let mut dice = Dice::new(41);
    for class in CLASSES {
        torment(class, &mut Instance::new(class), &mut dice);
    }
}

/// This test program again, for one of its hidden tests.
fn again(test: &str, variable: &str, value: &str) -> Output {
    let itself = std::env::current_exe().expect("this test's path");
    Command::new(itself)
        .args(["--exact", test, "--ignored", "--nocapture"])
        .env(variable, value)
        .output()
        .expect("this test runs")
}

#[test]
#[ignore = "aborts when asked to; run by the test below in a process of its own"]
fn plays_a_block() {
    let mut instance = Instance::new(CLASSES[0]);
    instance.activate(RATE, 512);
    instance.play(&pluck(RATE, 512, 2, 0.1), &[512], &[]);
}

#[test]
fn an_allocation_would_be_noticed() {
    let asked = again("allocations::plays_a_block", "PRESOLDER_ALLOCATE", "yes");
    assert!(!asked.status.success(), "an allocation went unnoticed");
    let not_asked = again("allocations::plays_a_block", "PRESOLDER_ALLOCATES", "no");
    assert!(not_asked.status.success(), "{not_asked:?}");
}

/// The threads of this process.
fn threads() -> BTreeSet<OsString> {
    let tasks = std::fs::read_dir("/proc/self/task").expect("this system's list of threads");
    tasks
        .map(|task| task.expect("a thread").file_name())
        .collect()
}

/// Those of them that were born of this one without a name of their own: a window's thread is one,
/// the window's helpers are not.
fn nameless(threads: &BTreeSet<OsString>) -> BTreeSet<OsString> {
    let comm = |folder: &str| std::fs::read_to_string(format!("{folder}/comm")).ok();
    let own = comm("/proc/thread-self");
    let of = |thread: &&OsString| comm(&format!("/proc/self/task/{}", thread.display())) == own;
    threads.iter().filter(of).cloned().collect()
}

#[test]
#[ignore = "needs a screen; run by the test below in a process of its own"]
fn plays_with_a_window() {
    let (connection, screen) = x11rb::connect(None).expect("a screen");
    let root = connection.setup().roots[screen].root;
    let parent = connection.generate_id().expect("an id");
    let window = connection.create_window(
        0,
        parent,
        root,
        0,
        0,
        1400,
        900,
        0,
        WindowClass::INPUT_OUTPUT,
        0,
        &CreateWindowAux::new(),
    );
    window.expect("asked").check().expect("a window");
    connection
        .map_window(parent)
        .expect("asked")
        .check()
        .expect("shown");
    let mut dice = Dice::new(43);
    for class in [CLASSES[0], CLASSES[4]] {
        let mut instance = Instance::new(class);
        let before = threads();
        instance.open_window(parent);
        std::thread::sleep(Duration::from_millis(500));
        let children = connection
            .query_tree(parent)
            .expect("asked")
            .reply()
            .expect("told");
        assert!(!children.children.is_empty(), "{class}: no window opened");
        let opened = threads().difference(&before).cloned().collect();
        let own = nameless(&opened);
        assert!(!own.is_empty(), "{class}: its thread is not seen");
        torment(class, &mut instance, &mut dice);
        instance.close_window();
        // A host may unload the library now.
        assert!(threads().is_disjoint(&own), "{class}: its thread goes on");
    }
    println!("played with a window");
}

#[test]
fn playing_with_a_window_allocates_nothing() {
    let server = Command::new("Xvfb")
        .args([
            "-displayfd",
            "1",
            "-screen",
            "0",
            "1600x1000x24",
            "-noreset",
        ])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn();
    let Ok(mut server) = server else {
        crate::absent::absent("there is no Xvfb to show a window on");
        return;
    };
    let mut number = String::new();
    let told = server.stdout.take().expect("its output");
    BufReader::new(told)
        .read_line(&mut number)
        .expect("a display");
    let output = again(
        "allocations::plays_with_a_window",
        "DISPLAY",
        &format!(":{}", number.trim()),
    );
    let _ = server.kill();
    let _ = server.wait();
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    let fault = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        output.status.success(),
        "{}\n{said}\n{fault}",
        output.status
    );
    assert!(said.contains("played with a window"), "{said}");
}
