//! A loaded amp: its file, its slots, and the values that it has as found.
//!
//! Immutable but for the as-found values, which are atomic so that the audio thread may read them
//! while somebody types. A new file makes a new [`LiveAmp`].

use super::adjustable::{Adjustable, AdjustableKind, Order, adjustables};
use crate::circuit::{Change, Circuit, Diagnostic, Proposal, WrittenProposal, read_bytes};
use crate::device::Catalogue;
use crate::solve::solved::SolvedAmp;
use atomic_float::AtomicF64;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::Ordering::Relaxed;

/// An amp that may be played.
#[derive(Debug)]
pub struct LiveAmp {
    catalogue: Arc<Catalogue>,
    circuit: Circuit,
    text: String,
    path: Option<PathBuf>,
    adjustables: Vec<Adjustable>,
    as_found: Vec<AtomicF64>,
}

/// Why a file was not loaded.
#[derive(Clone, Debug, PartialEq)]
pub enum NotLoaded {
    /// Every fault in it.
    Faulty(Vec<Diagnostic>),
    /// It is in order, but has no operating point.
    NoOperatingPoint(String),
}

impl std::fmt::Display for NotLoaded {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            NotLoaded::Faulty(faults) => {
                for (index, fault) in faults.iter().enumerate() {
                    let gap = if index > 0 { "\n" } else { "" };
                    write!(f, "{gap}{fault}")?;
                }
                Ok(())
            }
            NotLoaded::NoOperatingPoint(message) => f.write_str(message),
        }
    }
}

impl std::error::Error for NotLoaded {}

impl LiveAmp {
    /// Reads a circuit file's bytes. `path` is where it came from, if from a file.
    ///
    /// # Errors
    /// Every fault found, or why it has no operating point.
    pub fn read(
        bytes: &[u8],
        path: Option<&Path>,
        catalogue: Arc<Catalogue>,
    ) -> Result<Self, NotLoaded> {
        let circuit = read_bytes(bytes, &catalogue).map_err(NotLoaded::Faulty)?;
        SolvedAmp::new(&circuit, None)
            .map_err(|fault| NotLoaded::NoOperatingPoint(fault.to_string()))?;
        let adjustables = adjustables(&circuit, &catalogue);
        Ok(LiveAmp {
            as_found: adjustables
                .iter()
                .map(|s| AtomicF64::new(s.filed))
                .collect(),
            text: String::from_utf8_lossy(bytes).into_owned(),
            path: path.map(Path::to_path_buf),
            catalogue,
            circuit,
            adjustables,
        })
    }

    /// The circuit as its file has it.
    pub fn circuit(&self) -> &Circuit {
        &self.circuit
    }

    /// The file's text.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// Where it was read from.
    pub fn path(&self) -> Option<&Path> {
        self.path.as_deref()
    }

    /// The valves, rectifiers and loudspeakers that come with the program; for the loudspeakers of
    /// the file too see [`Circuit::known_loudspeakers`].
    pub fn catalogue(&self) -> &Arc<Catalogue> {
        &self.catalogue
    }

    /// What can be adjusted.
    pub fn adjustables(&self) -> &[Adjustable] {
        &self.adjustables
    }

    /// A slot by its id.
    pub fn find(&self, id: &str) -> Option<usize> {
        self.adjustables
            .iter()
            .position(|adjustable| adjustable.id == id)
    }

    /// The number that a slot has as found.
    ///
    /// # Real-time
    /// One atomic read.
    pub fn as_found(&self, adjustable: usize) -> f64 {
        self.as_found[adjustable].load(Relaxed)
    }

    /// All as-found numbers, one a slot.
    pub fn all_as_found(&self) -> Vec<f64> {
        self.as_found.iter().map(|v| v.load(Relaxed)).collect()
    }

    /// Replaces an as-found number, clamped to what the slot can take.
    pub fn set_as_found(&self, adjustable: usize, value: f64) {
        self.as_found[adjustable].store(self.adjustables[adjustable].clamped(value), Relaxed);
    }

    /// The circuit with these numbers, one a slot.
    ///
    /// # Errors
    /// What cannot be done; numbers that went through [`Adjustable::clamped`] are always possible alone,
    /// and together too unless halves of one valve disagree.
    pub fn circuit_with(&self, values: &[f64]) -> Result<Circuit, Vec<Diagnostic>> {
        self.proposal(values, &self.filed()).apply(&self.circuit)
    }

    /// What differs between `values` and `from`, as a proposal without a name.
    pub fn proposal(&self, values: &[f64], from: &[f64]) -> Proposal {
        let mut proposal = Proposal {
            for_amp: self.circuit.name().into(),
            ..Proposal::default()
        };
        for (adjustable, (&value, &before)) in self.adjustables.iter().zip(values.iter().zip(from))
        {
            if adjustable.same(value, before) {
                continue;
            }
            match adjustable.order(value) {
                Order::Change(change) => proposal.changes.push(change),
                Order::Setting(setting) => proposal.settings.push(setting),
            }
        }
        proposal
    }

    /// The numbers that a proposal leads to from `from`, one a slot, with a sentence for each that
    /// had to be clamped to the slot's range.
    ///
    /// # Errors
    /// Every fault in the proposal.
    pub fn with_proposal(
        &self,
        proposal: &Proposal,
        from: &[f64],
    ) -> Result<(Vec<f64>, Vec<String>), Vec<Diagnostic>> {
        Ok(self.numbers(&proposal.apply(&self.circuit_with(from)?)?))
    }

    /// The same of a proposal as it is written.
    ///
    /// # Errors
    /// Every fault in the proposal.
    pub fn with_written_proposal(
        &self,
        proposal: &WrittenProposal,
        from: &[f64],
    ) -> Result<(Vec<f64>, Vec<String>), Vec<Diagnostic>> {
        let changed = proposal.apply(&self.circuit_with(from)?, &self.catalogue)?;
        Ok(self.numbers(&changed))
    }

    /// Whether some slot can take this change.
    pub fn adjusts(&self, change: &Change) -> bool {
        let takes = |one: &Adjustable| change.parts.iter().all(|id| one.parts.contains(id));
        self.adjustables
            .iter()
            .any(|one| !one.is_control() && takes(one))
    }

    /// The numbers of a circuit with other values, one a slot, with a sentence for each that had to
    /// be clamped to the slot's range.
    fn numbers(&self, changed: &Circuit) -> (Vec<f64>, Vec<String>) {
        let mut notes = Vec::new();
        let after = adjustables(changed, &self.catalogue);
        let values = self
            .adjustables
            .iter()
            .zip(&after)
            .map(|(adjustable, after)| {
                let value = adjustable.clamped(after.filed);
                if !adjustable.same(value, after.filed)
                    && let AdjustableKind::Value { low, high, .. } = adjustable.kind
                {
                    notes.push(format!(
                        "{}: {} lies outside {} to {} and was taken as {}.",
                        adjustable.designator,
                        after.text(after.filed),
                        adjustable.text(low),
                        adjustable.text(high),
                        adjustable.text(value)
                    ));
                }
                value
            });
        let values = values.collect();
        (values, notes)
    }

    /// The numbers of the file, one a slot.
    pub fn filed(&self) -> Vec<f64> {
        self.adjustables
            .iter()
            .map(|adjustable| adjustable.filed)
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{built_in_circuits, read_proposal};

    fn amp() -> LiveAmp {
        let catalogue = Arc::new(Catalogue::built_in());
        LiveAmp::read(built_in_circuits()[0].text.as_bytes(), None, catalogue).unwrap()
    }

    #[test]
    fn a_proposal_becomes_numbers_and_numbers_a_proposal() {
        let amp = amp();
        let text = built_in_circuits()[0].proposals[0].text;
        let proposal = read_proposal(text).unwrap();
        let (values, notes) = amp.with_written_proposal(&proposal, &amp.filed()).unwrap();
        assert!(notes.is_empty());
        let back = amp.proposal(&values, &amp.filed());
        assert_eq!(back.changes.len(), proposal.changes.len());
        let circuit = amp.circuit_with(&values).unwrap();
        let direct = proposal.apply(amp.circuit(), amp.catalogue()).unwrap();
        assert!(circuit.same_but_for_lines(&direct));
    }

    #[test]
    fn a_faulty_file_says_what_is_wrong() {
        let catalogue = Arc::new(Catalogue::built_in());
        let fault = LiveAmp::read(b"format = 1\n[amp]\n", None, catalogue).unwrap_err();
        assert!(matches!(&fault, NotLoaded::Faulty(faults) if !faults.is_empty()));
        assert!(fault.to_string().contains("missing"));
    }
}
