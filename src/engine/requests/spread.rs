//! How much amps of one model differ.

use crate::advice::spread::{SpreadReport, SpreadSettings, spread};
use crate::numeric::parallel::GoOn;
use crate::solve::solved::SolvedAmp;

/// Which amps are drawn.
#[derive(Clone, Copy, Debug)]
pub struct SpreadRequest<'a> {
    /// As found, and as proposed if anything is, at their operating points.
    pub amp: &'a SolvedAmp,
    /// How many amps; as many as usual if none.
    pub amps: Option<usize>,
    /// Seed of the draw; the usual one if none.
    pub seed: Option<u64>,
}

impl SpreadRequest<'_> {
    /// The report. `go_on` is told the share that is done and answers whether to go on; none when it
    /// says no.
    pub fn answer(&self, go_on: GoOn<'_>) -> Option<SpreadReport> {
        let usual = SpreadSettings::default();
        let settings = SpreadSettings {
            amps: self.amps.unwrap_or(usual.amps),
            seed: self.seed.unwrap_or(usual.seed),
            ..usual
        };
        spread(self.amp, settings, go_on)
    }
}
