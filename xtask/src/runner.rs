//! Runs the test programs: by `cargo nextest` where it is installed, which keeps all processors busy
//! until the last test, otherwise by `cargo test`, one program after another. Says afterwards which
//! tests were slow and which were skipped.

use crate::passed;
use crate::steps::{cargo, cargo_with};
use std::fs;
use std::path::{Path, PathBuf};

/// The variable that names the list of skipped tests to the tests (`tests/common/absent.rs`).
const SKIPPED: &str = "PRESOLDER_SKIPPED";

/// How many of the slowest tests are told.
const SLOWEST: usize = 10;

/// What the tests are run with: cargo's features, and paths in their environment.
pub struct Run<'a> {
    pub features: &'a str,
    pub environment: &'a [(&'a str, &'a PathBuf)],
}

impl Run<'_> {
    /// Builds every test program and what they start.
    ///
    /// # Errors
    /// When one cannot be built.
    pub fn build(&self) -> Result<(), String> {
        cargo(&[
            "test",
            "--workspace",
            "--features",
            self.features,
            "--no-run",
        ])
    }

    /// Runs every test, then tells the slowest and the skipped ones.
    ///
    /// # Errors
    /// When a test has failed.
    pub fn run(&self) -> Result<(), String> {
        let target = crate::target();
        let list = target.join("skipped-tests.txt");
        let _ = fs::remove_file(&list);
        let report = target.join("nextest/default/junit.xml");
        let _ = fs::remove_file(&report);
        let mut environment = self.environment.to_vec();
        environment.push((SKIPPED, &list));
        let mark = passed::mark(self.features);
        let engine_too = !mark.is_some_and(passed::have_passed);
        let result = cargo_with(&self.command(nextest_is_there(), engine_too), &environment);
        if let (Some(mark), true) = (mark, result.is_ok() && !list.exists()) {
            passed::keep(mark);
        }
        print!("{}", slowest(&report));
        if !engine_too {
            println!(
                "\nThe engine's tests were left out: nothing that they are made of or read has changed \
                 since they passed. PRESOLDER_TESTS=all runs them."
            );
        }
        print!("{}", skipped(&list));
        result
    }

    fn command(&self, nextest: bool, engine_too: bool) -> Vec<&str> {
        let mut words = match nextest {
            true => vec!["nextest", "run", "--no-fail-fast"],
            false => vec!["test", "--no-fail-fast"],
        };
        words.extend(["--workspace", "--features", self.features]);
        if !engine_too {
            words.extend(["--exclude", "engine"]);
        }
        words
    }
}

fn nextest_is_there() -> bool {
    std::process::Command::new("cargo-nextest")
        .arg("--version")
        .stdout(std::process::Stdio::null())
        .stderr(std::process::Stdio::null())
        .status()
        .is_ok_and(|status| status.success())
}

/// The slowest tests by nextest's report, if there is one.
fn slowest(report: &Path) -> String {
    let Ok(text) = fs::read_to_string(report) else {
        return "\nWhich tests are the slowest is known with cargo-nextest: \
                cargo install cargo-nextest --locked\n"
            .into();
    };
    let mut times = times(&text);
    times.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut told = format!("\nThe slowest of {} tests\n", times.len());
    for (name, seconds) in times.iter().take(SLOWEST) {
        told += &format!("  {seconds:>7.1} s  {name}\n");
    }
    told
}

/// Names and seconds of the tests in a report in JUnit's form, one `testcase` a line.
fn times(report: &str) -> Vec<(String, f64)> {
    let case = |line: &str| {
        let line = line.trim_start().strip_prefix("<testcase ")?;
        let of = |key: &str| {
            let rest = line.split_once(&format!("{key}=\""))?.1;
            Some(rest.split_once('"')?.0.to_owned())
        };
        // The key "name" would be found within "classname" too, were it not for the order.
        let name = format!("{} {}", of("classname")?, of("name")?);
        Some((name, of("time")?.parse().ok()?))
    };
    report.lines().filter_map(case).collect()
}

/// The tests that could not run here, with their reasons.
fn skipped(list: &Path) -> String {
    let text = fs::read_to_string(list).unwrap_or_default();
    let mut lines: Vec<&str> = text.lines().collect();
    lines.sort_unstable();
    lines.dedup();
    if lines.is_empty() {
        return "\nNo test was skipped.\n".into();
    }
    let mut told = format!(
        "\n{} tests were skipped (PRESOLDER_HOSTS=required makes that a failure)\n",
        lines.len()
    );
    for line in lines {
        told += &format!("  {line}\n");
    }
    told
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn times_are_read_from_a_report() {
        let report = "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<testsuites>\n\
             \x20   <testsuite name=\"engine::live\">\n\
             \x20       <testcase name=\"sound::a\" classname=\"engine::live\" timestamp=\"x\" time=\"0.250\">\n\
             \x20       </testcase>\n\
             \x20       <testcase name=\"sound::b\" classname=\"engine::live\" time=\"12.5\"/>\n";
        assert_eq!(
            times(report),
            [
                ("engine::live sound::a".to_owned(), 0.25),
                ("engine::live sound::b".to_owned(), 12.5)
            ]
        );
    }

    #[test]
    fn skipped_tests_are_told_once_with_their_reason() {
        let folder = tempfile::tempdir().expect("a folder");
        let list = folder.path().join("list");
        assert!(skipped(&list).contains("No test was skipped"));
        fs::write(&list, "b: no screen\na: no host\nb: no screen\n").expect("written");
        let told = skipped(&list);
        assert!(told.contains("2 tests") && told.ends_with("  a: no host\n  b: no screen\n"));
    }
}
