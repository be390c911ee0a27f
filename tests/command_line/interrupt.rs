//! Ctrl-C in the middle of writing: the old file stays, nothing half-written is left, and the exit
//! code tells. This test starts itself a second time as the program that is stopped.
#![cfg(unix)]

use presolder::files;
use std::io::Write;
use std::path::Path;
use std::process::Command;
use std::time::{Duration, Instant};

const FOLDER: &str = "PRESOLDER_TEST_SLOW_FOLDER";

/// The second program: writes slowly, for a minute at most. Does nothing when started as a test.
#[test]
fn slow_writer() {
    let Some(folder) = std::env::var_os(FOLDER) else {
        return;
    };
    files::end_cleanly_on_interrupt();
    let path = Path::new(&folder).join("sound.wav");
    files::write_whole(&path, |writer| {
        for _ in 0..600 {
            writer.write_all(&[0; 1000])?;
            writer.flush()?;
            std::thread::sleep(Duration::from_millis(100));
        }
        Ok(())
    })
    .unwrap();
}

fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap();
    entries
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .collect()
}

#[test]
fn an_interrupt_leaves_no_half_written_file() {
    for signal in ["-INT", "-TERM"] {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("sound.wav"), "old").unwrap();
        let mut child = Command::new(std::env::current_exe().unwrap())
            .args(["--exact", "interrupt::slow_writer", "--nocapture"])
            .env(FOLDER, folder.path())
            .stdout(std::process::Stdio::null())
            .spawn()
            .unwrap();
        let started = Instant::now();
        while names(folder.path()).len() < 2 {
            assert!(started.elapsed() < Duration::from_secs(20), "never began");
            std::thread::sleep(Duration::from_millis(20));
        }
        let kill = Command::new("kill")
            .args([signal, &child.id().to_string()])
            .status();
        assert!(kill.unwrap().success());
        assert_eq!(child.wait().unwrap().code(), Some(files::INTERRUPTED));
        assert_eq!(names(folder.path()), ["sound.wav"]);
        let left = std::fs::read_to_string(folder.path().join("sound.wav"));
        assert_eq!(left.unwrap(), "old");
    }
}
