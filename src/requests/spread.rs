//! How much amps of one model differ.

use crate::advice::spread::{SpreadReport, SpreadSettings, spread};
use crate::circuit::Circuit;
use crate::numeric::parallel::GoOn;
use crate::solve::solved::NoOperatingPoint;

/// Which amps are drawn.
#[derive(Clone, Copy, Debug)]
pub struct SpreadRequest<'a> {
    /// As found.
    pub as_found: &'a Circuit,
    /// As proposed, if anything is.
    pub proposed: Option<&'a Circuit>,
    /// How many amps; as many as usual if none.
    pub amps: Option<usize>,
    /// Seed of the draw; the usual one if none.
    pub seed: Option<u64>,
}

impl SpreadRequest<'_> {
    /// The report. `go_on` is told the share that is done and answers whether to go on; none when it
    /// says no.
    ///
    /// # Errors
    /// When the amp has no operating point.
    pub fn answer(&self, go_on: GoOn<'_>) -> Option<Result<SpreadReport, NoOperatingPoint>> {
        let usual = SpreadSettings::default();
        let settings = SpreadSettings {
            amps: self.amps.unwrap_or(usual.amps),
            seed: self.seed.unwrap_or(usual.seed),
            ..usual
        };
        spread(self.as_found, self.proposed, settings, go_on)
    }
}
