//! How hard a recorded amp was driven.

use crate::circuit::Circuit;
use crate::numeric::parallel::GoOn;
use crate::recording::Target;
use crate::recording::drive_hint::{DriveHint, drive_hint};
use crate::solve::solved::{NoOperatingPoint, SolvedAmp};
use crate::sound::Sound;

/// Which amp is compared with which recording.
#[derive(Clone, Copy, Debug)]
pub struct DriveRequest<'a> {
    /// The amp that is to sound like the recorded one.
    pub circuit: &'a Circuit,
    /// The recording.
    pub recording: &'a Sound,
    /// What was played into the recorded amp.
    pub dry: &'a Sound,
    /// What the recording shows.
    pub target: &'a Target,
}

impl DriveRequest<'_> {
    /// The hint, if the recording gives one. `go_on` is told the share that is done and answers
    /// whether to go on; none when it says no.
    ///
    /// # Errors
    /// When the amp has no operating point.
    pub fn answer(&self, go_on: GoOn<'_>) -> Option<Result<Option<DriveHint>, NoOperatingPoint>> {
        let amp = match SolvedAmp::new(self.circuit, None) {
            Ok(amp) => amp,
            Err(fault) => return Some(Err(fault)),
        };
        let side = &amp.as_found;
        drive_hint(
            &amp.network,
            side,
            self.recording,
            self.dry,
            self.target,
            go_on,
        )
        .map(Ok)
    }
}
