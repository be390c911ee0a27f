//! Which tests need not run again: those of the engine, when neither they nor anything that they read
//! has changed since all of them last passed here.
//!
//! A change of the window then costs the window's tests alone. The mark is a hash of the engine's test
//! programs (which hold the engine and its built-in files) and of the files that they read; it lies in
//! the target folder, so a clean clone runs everything. `PRESOLDER_TESTS=all` does so anywhere.

use std::collections::hash_map::DefaultHasher;
use std::fs;
use std::hash::{Hash, Hasher};
use std::path::{Path, PathBuf};
use std::process::Command;

/// What the engine's tests read beside what is built into them, from the top of the checkout.
const READ: &[&str] = &["presets", "tests", "README.md", "src/engine"];

/// The mark of the engine's tests as they are built now; none when all are to run, or when cargo does
/// not say what they are.
pub fn mark(features: &str) -> Option<u64> {
    if std::env::var("PRESOLDER_TESTS").is_ok_and(|what| what == "all")
        || std::env::var_os("PRESOLDER_HOSTS").is_some()
    {
        return None;
    }
    let programs = programs(features)?;
    let mut hasher = DefaultHasher::new();
    let read = READ.iter().map(|name| crate::top().join(name));
    for path in programs.into_iter().chain(read) {
        hash_of(&path, &mut hasher)?;
    }
    Some(hasher.finish())
}

/// Whether the tests with this mark have passed.
pub fn have_passed(mark: u64) -> bool {
    fs::read_to_string(place()).is_ok_and(|kept| kept.trim() == mark.to_string())
}

/// Keeps the mark of tests that have passed.
pub fn keep(mark: u64) {
    // Without it the tests run once more.
    let _ = fs::write(place(), mark.to_string());
}

fn place() -> PathBuf {
    crate::target().join("engine-tests-passed.txt")
}

/// The engine's test programs, by cargo's own list of what it has built.
fn programs(features: &str) -> Option<Vec<PathBuf>> {
    let program = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let output = Command::new(program)
        .args(["test", "--workspace", "--features", features, "--no-run"])
        .args(["--message-format", "json", "--quiet"])
        .env("CARGO_INCREMENTAL", "0")
        .env_remove("CARGO_MANIFEST_DIR")
        .current_dir(crate::top())
        .output()
        .ok()?;
    let mut programs = executables(&String::from_utf8_lossy(&output.stdout));
    programs.sort();
    (output.status.success() && !programs.is_empty()).then_some(programs)
}

/// The executables of the package `engine` among cargo's messages, one a line.
fn executables(messages: &str) -> Vec<PathBuf> {
    let of_line = |line: &str| {
        let of_engine = line.contains("src/engine#") || line.contains("src/engine\\#");
        let path = line.split_once("\"executable\":\"")?.1;
        of_engine.then_some(())?;
        Some(PathBuf::from(path.split_once('"')?.0))
    };
    messages.lines().filter_map(of_line).collect()
}

/// Hashes a file, or all files of a folder with their names.
fn hash_of(path: &Path, hasher: &mut DefaultHasher) -> Option<()> {
    path.hash(hasher);
    if path.is_dir() {
        let mut entries: Vec<PathBuf> = fs::read_dir(path)
            .ok()?
            .map(|entry| Some(entry.ok()?.path()))
            .collect::<Option<_>>()?;
        entries.sort();
        return entries.iter().try_for_each(|entry| hash_of(entry, hasher));
    }
    fs::read(path).ok()?.hash(hasher);
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_change_anywhere_changes_the_mark() {
        let folder = tempfile::tempdir().expect("a folder");
        let mark = || {
            let mut hasher = DefaultHasher::new();
            hash_of(folder.path(), &mut hasher).expect("a readable folder");
            hasher.finish()
        };
        fs::create_dir(folder.path().join("a")).expect("made");
        fs::write(folder.path().join("a/b"), "1").expect("written");
        let first = mark();
        assert_eq!(first, mark());
        fs::write(folder.path().join("a/b"), "2").expect("written");
        let second = mark();
        assert_ne!(first, second);
        fs::rename(folder.path().join("a/b"), folder.path().join("a/c")).expect("renamed");
        assert_ne!(second, mark());
    }

    #[test]
    fn only_the_engines_programs_are_taken() {
        let messages = "{\"package_id\":\"path+file:///x/src/engine#0.1.0\",\"executable\":\"/x/advice-1\"}\n\
             {\"package_id\":\"path+file:///x#presolder@0.1.0\",\"executable\":\"/x/host-1\"}\n\
             {\"package_id\":\"path+file:///x/src/engine#0.1.0\",\"executable\":null}\n";
        assert_eq!(executables(messages), [PathBuf::from("/x/advice-1")]);
    }
}
