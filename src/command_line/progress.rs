//! A progress bar on the terminal for long work; silent where nobody watches.

use indicatif::{ProgressBar, ProgressStyle};
use std::io::IsTerminal;
use std::time::Duration;

/// Steps of the bar: a share of the work is told in thousandths.
const STEPS: u64 = 1000;

/// The progress of one piece of work, drawn on standard error if that is a terminal.
pub struct Progress(ProgressBar);

impl Progress {
    /// Starts a bar for the work called `what`.
    pub fn new(what: &str) -> Self {
        if !std::io::stderr().is_terminal() {
            return Progress(ProgressBar::hidden());
        }
        let bar = ProgressBar::new(STEPS);
        let style = ProgressStyle::with_template("{msg}  {bar:30}  {percent} %  {eta} left");
        bar.set_style(style.unwrap_or_else(|_| ProgressStyle::default_bar()));
        bar.set_message(what.to_string());
        bar.enable_steady_tick(Duration::from_millis(200));
        Progress(bar)
    }

    /// For work that asks whether to go on: shows the share done, and nobody says that it shall
    /// stop.
    pub fn go_on(&self) -> impl FnMut(f64) -> bool {
        |share| {
            self.at(share);
            true
        }
    }

    /// Tells how much of the work is done, 0 to 1.
    pub fn at(&self, share: f64) {
        self.0
            .set_position((share.clamp(0.0, 1.0) * STEPS as f64) as u64);
    }
}

impl Drop for Progress {
    fn drop(&mut self) {
        self.0.finish_and_clear();
    }
}
