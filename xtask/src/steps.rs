//! Steps of a chore: tells which one runs, how long it took and how the whole ended; starts cargo.

use std::path::PathBuf;
use std::process::Command;
use std::time::Instant;

/// Counts the steps of one chore and times them.
pub struct Steps {
    total: usize,
    started: Instant,
    done: Vec<(String, f64, bool)>,
}

impl Steps {
    /// A chore of so many steps.
    pub fn new(total: usize) -> Self {
        Steps {
            total,
            started: Instant::now(),
            done: Vec::new(),
        }
    }

    /// Runs one step, telling its number before and its time after.
    ///
    /// # Errors
    /// The step's own message.
    pub fn step(
        &mut self,
        name: &str,
        run: impl FnOnce() -> Result<(), String>,
    ) -> Result<(), String> {
        let number = self.done.len() + 1;
        println!(
            "[{number}/{}] {name}   ({:.0} s so far)",
            self.total,
            self.started.elapsed().as_secs_f64()
        );
        let started = Instant::now();
        let result = run();
        let seconds = started.elapsed().as_secs_f64();
        let word = if result.is_ok() { "done" } else { "FAILED" };
        println!("[{number}/{}] {name}: {word} in {seconds:.1} s", self.total);
        self.done.push((name.to_string(), seconds, result.is_ok()));
        result
    }

    /// One line a step and the total; a step that never ran is counted.
    pub fn summary(&self) -> String {
        let mut text = String::from("\nSummary\n");
        for (name, seconds, good) in &self.done {
            let word = if *good { "ok" } else { "FAILED" };
            text += &format!("  {word:<7}{seconds:>7.1} s  {name}\n");
        }
        let left = self.total - self.done.len();
        if left > 0 {
            text += &format!("  {left} of {} steps were not run\n", self.total);
        }
        text + &format!("  total {:.1} s\n", self.started.elapsed().as_secs_f64())
    }
}

/// Runs cargo at the top of the checkout with its output shown.
///
/// # Errors
/// When cargo cannot be started or ends with a failure.
pub fn cargo(arguments: &[&str]) -> Result<(), String> {
    cargo_with(arguments, &[])
}

/// [`cargo`] with paths in its environment.
///
/// # Errors
/// When cargo cannot be started or ends with a failure.
pub fn cargo_with(arguments: &[&str], environment: &[(&str, &PathBuf)]) -> Result<(), String> {
    let program = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
    let status = Command::new(program)
        .args(arguments)
        // A chore builds everything once: the store for building little by little costs gigabytes.
        .env("CARGO_INCREMENTAL", "0")
        .envs(environment.iter().copied())
        .current_dir(crate::top())
        // The test programs must not take this program's manifest for theirs.
        .env_remove("CARGO_MANIFEST_DIR")
        .status()
        .map_err(|e| format!("cargo cannot be started: {e}"))?;
    if status.success() {
        Ok(())
    } else {
        let full = crate::disk::told_when_full(&crate::target());
        Err(format!("cargo {} failed{full}", arguments.join(" ")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_failed_step_is_told_and_the_rest_counted() {
        let mut steps = Steps::new(3);
        assert!(steps.step("first", || Ok(())).is_ok());
        assert!(steps.step("second", || Err("no".into())).is_err());
        let summary = steps.summary();
        assert!(summary.contains("FAILED") && summary.contains("1 of 3 steps were not run"));
    }
}
