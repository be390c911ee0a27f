//! How hard a recorded amp was driven.

use crate::numeric::parallel::GoOn;
use crate::recording::Target;
use crate::recording::drive_hint::{DriveHint, drive_hint};
use crate::solve::solved::SolvedAmp;
use crate::sound::Sound;

/// Which amp is compared with which recording.
#[derive(Clone, Copy, Debug)]
pub struct DriveRequest<'a> {
    /// The amp that is to sound like the recorded one: as proposed if anything is.
    pub amp: &'a SolvedAmp,
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
    pub fn answer(&self, go_on: GoOn<'_>) -> Option<Option<DriveHint>> {
        drive_hint(
            &self.amp.network,
            self.amp.asked_for(),
            self.recording,
            self.dry,
            self.target,
            go_on,
        )
    }
}
