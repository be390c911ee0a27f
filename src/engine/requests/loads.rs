//! What each way of connecting loudspeakers does to an amp.

use crate::analysis::load::{LoadReport, NoLoads, loads};
use crate::circuit::Circuit;
use crate::device::Catalogue;
use crate::numeric::parallel::GoOn;

/// Which amp.
#[derive(Clone, Copy, Debug)]
pub struct LoadsRequest<'a> {
    /// As found.
    pub as_found: &'a Circuit,
    /// As proposed, if anything is: then this one is meant.
    pub proposed: Option<&'a Circuit>,
    /// Where loudspeakers come from.
    pub catalogue: &'a Catalogue,
}

impl LoadsRequest<'_> {
    /// The report. `go_on` is told the share that is done and answers whether to go on; none when it
    /// says no.
    ///
    /// # Errors
    /// For an amp without a loudspeaker, or without an operating point.
    pub fn answer(&self, go_on: GoOn<'_>) -> Option<Result<LoadReport, NoLoads>> {
        loads(
            self.proposed.unwrap_or(self.as_found),
            self.catalogue,
            go_on,
        )
    }
}
