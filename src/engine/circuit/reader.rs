//! State of the reading of a circuit file: what is known so far, and every fault found.

use super::assumed::Assumed;
use super::diagnostics::Diagnostic;
use super::own_loudspeakers::OwnLoudspeaker;
use super::part::{GROUND, NodeId, Part};
use super::text::{Entry, Source};
use super::wiring::Wired;
use crate::device::Catalogue;
use std::collections::HashMap;

/// Most parts in a file.
pub const MOST_PARTS: usize = 512;
/// Most nodes in a file, ground included.
pub const MOST_NODES: usize = 256;
/// The format that this program writes.
pub(crate) const FORMAT: &str = "1";

/// State of the reading.
pub(crate) struct Reader<'t> {
    pub source: Source<'t>,
    pub catalogue: &'t Catalogue,
    pub faults: Vec<Diagnostic>,
    pub supplied: Vec<String>,
    pub assumed: Vec<Assumed>,
    /// The loudspeakers that the file brings.
    pub own: Vec<OwnLoudspeaker>,
    /// Names of those that have faults.
    pub spoilt: Vec<String>,
    pub nodes: Vec<String>,
    pub node_ids: HashMap<String, NodeId>,
    pub parts: Vec<Part>,
    pub wired: Vec<Wired>,
    /// False when a terminal could not be read, so that the wiring is not judged.
    pub wiring_known: bool,
}

/// The part or table that is being read.
pub(crate) struct Line<'e> {
    pub designator: &'e str,
    pub line: usize,
    pub entries: &'e [Entry],
}

impl<'e> Line<'e> {
    pub fn get(&self, key: &str) -> Option<&'e Entry> {
        self.entries.iter().find(|e| e.key == key)
    }
}

impl<'t> Reader<'t> {
    /// Before the first line.
    pub fn new(source: Source<'t>, catalogue: &'t Catalogue) -> Self {
        Reader {
            source,
            catalogue,
            faults: Vec::new(),
            supplied: Vec::new(),
            assumed: Vec::new(),
            own: Vec::new(),
            spoilt: Vec::new(),
            nodes: vec!["gnd".into()],
            node_ids: HashMap::from([("gnd".into(), GROUND)]),
            parts: Vec::new(),
            wired: Vec::new(),
            wiring_known: true,
        }
    }
}
