//! The bands of the expected readings, from the spread over many amps of the model.

use super::{Expected, Job};
use crate::analysis::at_rest::Both;
use crate::analysis::spread::{SideSpread, SpreadReport};

/// How the bands are meant.
pub const NOTE: &str = "The usual range is what nine in ten amps of this model read, with parts within their tolerances and new valves within their spread, the mains as the file has it.";

impl Job {
    /// Puts the bands of a spread of the same two circuits beside the expected readings.
    pub fn put_bands(&mut self, spread: &SpreadReport) {
        let after = spread.proposed.as_ref().unwrap_or(&spread.as_found);
        let band =
            |side: &SideSpread, node: &str| Some(side.nodes.get(node)?).map(|b| [b.p5, b.p95]);
        let put = |expected: &mut Expected| {
            let node = expected.node.as_str();
            let both = band(&spread.as_found, node).zip(band(after, node));
            expected.range = both.map(|(as_found, proposed)| Both { as_found, proposed });
        };
        self.pins.iter_mut().chain(&mut self.supply).for_each(put);
        if !self.notes.contains(&NOTE) {
            self.notes.push(NOTE);
        }
    }
}
