//! `presolder play` from outside: without a display it says so in one line and ends; faults come
//! before any window; on a display without a screen its window opens.

use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

fn presolder(arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_presolder"));
    command
        .args(arguments)
        .env_remove("DISPLAY")
        .env_remove("WAYLAND_DISPLAY")
        .stdin(Stdio::null());
    command
}

/// Waits for a program, at most so long.
fn within(mut child: Child, longest: Duration) -> Output {
    let start = Instant::now();
    while child.try_wait().expect("a state").is_none() {
        if start.elapsed() > longest {
            let _ = child.kill();
            panic!("it still runs after {longest:?}");
        }
        std::thread::sleep(Duration::from_millis(20));
    }
    child.wait_with_output().expect("its output")
}

fn piped(mut command: Command) -> Child {
    command
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts")
}

#[test]
#[cfg(target_os = "linux")]
fn without_a_display_it_says_so_and_ends() {
    let output = within(piped(presolder(&["play"])), Duration::from_secs(20));
    assert_eq!(output.status.code(), Some(5));
    let said = String::from_utf8(output.stderr).unwrap();
    assert_eq!(said.lines().count(), 1, "{said}");
    assert!(said.contains("no display"), "{said}");
}

#[test]
fn faults_come_before_any_window() {
    for (arguments, code) in [
        (&["play", "no-such-amp.toml"][..], 4),
        (&["play", "bradawl", "--set", "R999=1k"], 1),
        (&["play", "bradawl", "--set", "R505=banana"], 1),
        (&["play", "--wav", "no-such.wav"], 4),
        (&["play", "--rate", "12"], 2),
    ] {
        let output = within(piped(presolder(arguments)), Duration::from_secs(20));
        assert_eq!(output.status.code(), Some(code), "{arguments:?}");
    }
}

/// A display without a screen, and its name.
#[cfg(target_os = "linux")]
fn display() -> Option<(Child, String)> {
    let mut server = Command::new("Xvfb")
        // Without a reset when the search below lets go, which would throw the window out.
        .args([
            "-displayfd",
            "1",
            "-noreset",
            "-screen",
            "0",
            "1600x1000x24",
        ])
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .ok()?;
    let mut line = String::new();
    let stdout = server.stdout.take()?;
    BufReader::new(stdout).read_line(&mut line).ok()?;
    let number: u32 = line.trim().parse().ok()?;
    Some((server, format!(":{number}")))
}

#[test]
#[cfg(target_os = "linux")]
fn on_a_display_its_window_opens_and_an_interrupt_ends_it() {
    let tool = |name: &str| Command::new("which").arg(name).output();
    if !tool("xdotool").is_ok_and(|found| found.status.success()) {
        crate::absent::absent("xdotool is not installed");
        return;
    }
    let Some((mut server, display)) = display() else {
        crate::absent::absent("Xvfb is not installed");
        return;
    };
    let mut command = presolder(&["play", "mizzle", "--silent"]);
    command.env("DISPLAY", &display);
    let mut window = piped(command);
    let start = Instant::now();
    let mut found = false;
    while !found && start.elapsed() < Duration::from_secs(60) {
        assert!(window.try_wait().unwrap().is_none(), "it ended");
        let search = Command::new("xdotool")
            .args(["search", "--onlyvisible", "--name", "^Presolder$"])
            .env("DISPLAY", &display)
            .output()
            .unwrap();
        found = !search.stdout.is_empty();
        std::thread::sleep(Duration::from_millis(200));
    }
    let _ = Command::new("kill")
        .args(["-INT", &window.id().to_string()])
        .status();
    let output = within(window, Duration::from_secs(20));
    let _ = server.kill();
    let _ = server.wait();
    let said = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(found, "no window: {said}");
    assert_eq!(output.status.code(), Some(130), "{said}");
    let told = String::from_utf8_lossy(&output.stdout);
    assert!(told.contains("without sound"), "{told}");
}
