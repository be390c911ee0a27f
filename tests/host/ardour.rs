//! The bundle in a digital audio workstation, Ardour, without a screen: a new session with the
//! plugin on a track, two part values set, saved; the session opened again and exported; what is
//! heard equals the command line's rendering. Skipped where Ardour 7 is not installed.

use crate::fixture::outside::{COMPARISONS, Comparison, Measure, run, script, told};
use presolder::sound::wav;
use std::fmt::Write;
use std::path::Path;
use std::process::Command;

/// Where Debian keeps Ardour's inner programs.
const INNER: &str = "/usr/lib/ardour7";

/// Frames by which Ardour's export may begin early. On a busy machine Ardour 7.3 was seen to begin one
/// 16 frames too soon; bit for bit it was the sound of the next export of the same session. Less than
/// the latency that is told, so that a delay which is told and not there is still seen.
const EARLY: usize = 16;

/// A program of Ardour's with everything that it reads and writes about the user in a folder.
fn ardour(program: &str, home: &Path) -> Command {
    let mut command = Command::new(program);
    command
        .env("HOME", home)
        .env("XDG_CONFIG_HOME", home.join(".config"))
        .env("XDG_CACHE_HOME", home.join(".cache"))
        .env("ARDOUR_DATA_PATH", "/usr/share/ardour7")
        .env("ARDOUR_CONFIG_PATH", "/etc/ardour7")
        .env("ARDOUR_DLL_PATH", INNER)
        .env_remove("DISPLAY");
    command
}

/// Most tries of one thing, see [`patiently`].
const TRIES: usize = 5;

/// Runs a program of Ardour's, and again when it crashes or hangs. On a busy machine Ardour 7.3 does
/// that by itself: of 45 exports of a session without any plugin 7 were aborted on a damaged heap and
/// one hung. What ends with an error, or makes another sound, is not tried again.
fn patiently(seconds: u64, command: impl Fn() -> Command) -> String {
    let mut told = String::new();
    for _ in 0..TRIES {
        match run(&mut command(), seconds) {
            Ok(said) => return said,
            Err(fault) if fault.contains("signal: ") || fault.contains("not done in") => {
                println!("tried again: {fault}");
                told = fault;
            }
            Err(fault) => panic!("{fault}"),
        }
    }
    panic!("{TRIES} times: {told}");
}

/// Why Ardour cannot be asked, if so.
fn missing() -> Option<&'static str> {
    if !cfg!(target_os = "linux") {
        return Some("Ardour is only driven on Linux");
    }
    let inner = Path::new(INNER).join("ardour-vst3-scanner");
    match inner.exists() && run(Command::new("which").arg("ardour7-lua"), 10).is_ok() {
        true => None,
        false => Some("Ardour 7 is not installed"),
    }
}

fn session(comparison: &Comparison, home: &Path) {
    let reference = comparison.rendered(home);
    let plugins = home.join(".vst3");
    std::fs::create_dir_all(&plugins).expect("a folder");
    let bundle = plugins.join("Presolder.vst3");
    let built = std::fs::canonicalize(crate::fixture::vst3_folder()).expect("the bundle");
    #[cfg(unix)]
    std::os::unix::fs::symlink(built, &bundle).expect("a link");
    #[cfg(not(unix))]
    let _ = built;
    let scanner = format!("{INNER}/ardour-vst3-scanner");
    let mut scan = ardour(&scanner, home);
    scan.env("LD_LIBRARY_PATH", INNER)
        .args(["-f", "-v"])
        .arg(&bundle);
    let said = run(&mut scan, 60).unwrap_or_else(|fault| panic!("{fault}"));
    for class in [
        "Bradawl 15",
        "Mizzle 5",
        "Spokeshave 18",
        "Sluice 40",
        "Own Amp",
    ] {
        assert!(
            said.contains(&format!("Presolder {class}")),
            "{class} was not seen:\n{said}"
        );
    }

    let project = home.join("project");
    let mut lua = format!(
        "PLUGIN = {:?}\nFOLDER = {:?}\nRECORDING = {:?}\nFRAMES = {}\nVALUES = {{\n",
        comparison.class,
        project,
        home.join("in.wav"),
        reference[0].len()
    );
    // Ardour shows only what can be automated, and exports as it plays: at 2 times.
    let mut positions = comparison.positions();
    positions.retain(|(name, _)| name != "Oversampling");
    for (name, position) in positions {
        writeln!(lua, "[{name:?}] = {position:?},").expect("text");
    }
    lua += "}\n";
    lua += &std::fs::read_to_string(script("ardour_project.lua")).expect("the script");
    let file = home.join("project.lua");
    std::fs::write(&file, lua).expect("written");
    let said = patiently(90, || {
        let _ = std::fs::remove_dir_all(&project);
        let mut make = ardour("ardour7-lua", home);
        make.arg(&file);
        make
    });
    assert!(said.lines().any(|line| line == "saved"), "{said}");
    let latency = told(&said, "latency");

    let output = home.join("exported.wav");
    let said = patiently(90, || {
        let mut export = ardour("ardour7-export", home);
        export
            .args(["-b", "float", "-o"])
            .arg(&output)
            .arg(&project)
            .arg("project");
        export
    });
    let heard = wav::read(&output)
        .unwrap_or_else(|fault| panic!("{fault:?}\n{said}"))
        .sound;
    let aligned = (latency, EARLY);
    comparison.assert_agrees(&reference, &heard.channels, aligned, Measure::Power);
}

#[test]
fn a_session_sounds_as_the_command_line_does() {
    if let Some(reason) = missing() {
        crate::absent::absent(reason);
        return;
    }
    for comparison in &COMPARISONS {
        let home = tempfile::tempdir().expect("a folder");
        session(comparison, home.path());
    }
}
