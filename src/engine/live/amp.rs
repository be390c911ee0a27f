//! A loaded amp: its file, compiled and solved once; what can be adjusted of it; and the values
//! that it has as found.
//!
//! Immutable but for the as-found values, which are atomic so that the audio thread may read them
//! while somebody types. A new file makes a new [`LiveAmp`].

use super::adjustable::{Adjustable, AdjustableKind, Order};
use super::adjustables::adjustables;
use crate::circuit::{Change, Circuit, Diagnostic, Guitar, Proposal, WrittenProposal, read_bytes};
use crate::device::Catalogue;
use crate::network::Network;
use crate::solve::solved::{NoOperatingPoint, SolvedAmp};
use atomic_float::AtomicF64;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::Ordering::Relaxed;

/// An amp that may be played.
#[derive(Debug)]
pub struct LiveAmp {
    catalogue: Arc<Catalogue>,
    /// The file's circuit, its equations and its operating point.
    filed: Arc<SolvedAmp>,
    text: Arc<str>,
    path: Option<PathBuf>,
    adjustables: Arc<[Adjustable]>,
    /// Shared by the same file with other guitars.
    as_found: Arc<[AtomicF64]>,
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
        let filed = SolvedAmp::new(&circuit, None)
            .map_err(|fault| NotLoaded::NoOperatingPoint(fault.to_string()))?;
        let adjustables = adjustables(&circuit, &catalogue);
        Ok(LiveAmp {
            as_found: filed_numbers(&adjustables),
            text: String::from_utf8_lossy(bytes).into(),
            path: path.map(Path::to_path_buf),
            catalogue,
            filed: Arc::new(filed),
            adjustables: adjustables.into(),
        })
    }

    /// The same file with its own values as found again. Equations and operating point are shared.
    pub fn as_filed(&self) -> LiveAmp {
        LiveAmp {
            catalogue: Arc::clone(&self.catalogue),
            filed: Arc::clone(&self.filed),
            text: Arc::clone(&self.text),
            path: self.path.clone(),
            adjustables: Arc::clone(&self.adjustables),
            as_found: filed_numbers(&self.adjustables),
        }
    }

    /// The same amp with another guitar, or none, in its jack; its values as found are the same
    /// ones, also those to come.
    ///
    /// # Errors
    /// [`NoOperatingPoint`] when the file's circuit has none so.
    pub fn with_guitar(&self, guitar: Option<Arc<Guitar>>) -> Result<LiveAmp, NoOperatingPoint> {
        let filed = SolvedAmp::new(&self.circuit().with_guitar(guitar), None)?;
        Ok(LiveAmp {
            catalogue: Arc::clone(&self.catalogue),
            filed: Arc::new(filed),
            text: Arc::clone(&self.text),
            path: self.path.clone(),
            adjustables: Arc::clone(&self.adjustables),
            as_found: Arc::clone(&self.as_found),
        })
    }

    /// The circuit as its file has it, with the guitar that is in its jack.
    pub fn circuit(&self) -> &Circuit {
        &self.filed.as_found.circuit
    }

    /// The equations of its topology.
    pub fn network(&self) -> &Arc<Network> {
        &self.filed.network
    }

    /// The amp with its as-found values, at its operating point. Values that contradict each other
    /// fall back to those of the file.
    ///
    /// # Errors
    /// [`NoOperatingPoint`] when it has none with these values.
    pub fn solved_as_found(&self) -> Result<SolvedAmp, NoOperatingPoint> {
        let as_found = self.all_as_found();
        match self.circuit_with(&as_found) {
            Ok(circuit) if as_found != self.filed() => {
                SolvedAmp::with_network(Arc::clone(self.network()), &circuit, None)
            }
            _ => Ok(self.filed.as_ref().clone()),
        }
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

    /// An adjustable by its id.
    pub fn find(&self, id: &str) -> Option<usize> {
        self.adjustables
            .iter()
            .position(|adjustable| adjustable.id == id)
    }

    /// The number that an adjustable has as found.
    ///
    /// # Real-time
    /// One atomic read.
    pub fn as_found(&self, adjustable: usize) -> f64 {
        self.as_found[adjustable].load(Relaxed)
    }

    /// All as-found numbers, one for each adjustable.
    pub fn all_as_found(&self) -> Vec<f64> {
        self.as_found.iter().map(|v| v.load(Relaxed)).collect()
    }

    /// Replaces an as-found number, clamped to what the adjustable can take.
    pub fn set_as_found(&self, adjustable: usize, value: f64) {
        self.as_found[adjustable].store(self.adjustables[adjustable].clamped(value), Relaxed);
    }

    /// The circuit with these numbers, one for each adjustable.
    ///
    /// # Errors
    /// What cannot be done; numbers that went through [`Adjustable::clamped`] are always possible
    /// alone, and together too unless halves of one valve disagree.
    pub fn circuit_with(&self, values: &[f64]) -> Result<Circuit, Vec<Diagnostic>> {
        self.proposal(values, &self.filed()).apply(self.circuit())
    }

    /// What differs between `values` and `from`, as a proposal without a name.
    pub fn proposal(&self, values: &[f64], from: &[f64]) -> Proposal {
        let mut proposal = Proposal {
            for_amp: self.circuit().name().into(),
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

    /// The numbers that a proposal leads to from `from`, one for each adjustable, with a sentence
    /// for each that had to be clamped to the adjustable's range.
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

    /// Whether some adjustable can take this change.
    pub fn adjusts(&self, change: &Change) -> bool {
        let takes = |one: &Adjustable| change.parts.iter().all(|id| one.parts.contains(id));
        self.adjustables
            .iter()
            .any(|one| !one.is_control() && takes(one))
    }

    /// The numbers of a circuit with other values, one for each adjustable, with a sentence for
    /// each that had to be clamped to the adjustable's range.
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

    /// The numbers of the file, one for each adjustable.
    pub fn filed(&self) -> Vec<f64> {
        self.adjustables
            .iter()
            .map(|adjustable| adjustable.filed)
            .collect()
    }
}

/// The numbers of the file, one for each of what can be adjusted.
fn filed_numbers(adjustables: &[Adjustable]) -> Arc<[AtomicF64]> {
    let filed = adjustables.iter().map(|one| AtomicF64::new(one.filed));
    filed.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{NamedGuitar, built_in_circuits, read_proposal};

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
    fn the_file_is_compiled_and_solved_once() {
        let amp = amp();
        let again = amp.as_filed();
        assert!(Arc::ptr_eq(amp.network(), again.network()));
        let start = again.solved_as_found().unwrap();
        assert!(Arc::ptr_eq(amp.network(), &start.network));
        again.set_as_found(again.find("R505").unwrap(), 15e3);
        let other = again.solved_as_found().unwrap();
        assert!(Arc::ptr_eq(amp.network(), &other.network));
        assert_ne!(start.as_found.point.solution, other.as_found.point.solution);
        // The equations of the file are those of every circuit that its values can make.
        let compiled = Network::new(&other.as_found.circuit);
        assert_eq!(compiled.names(), amp.network().names());
        let values = compiled.values(&other.as_found.circuit);
        assert_eq!(values, amp.network().values(&other.as_found.circuit));
    }

    #[test]
    fn another_guitar_leaves_the_values_shared() {
        let amp = amp();
        let guitar = Arc::new(NamedGuitar::Humbucker.guitar());
        let played = amp.with_guitar(Some(guitar.clone())).unwrap();
        assert_eq!(played.circuit().guitar(), Some(&*guitar));
        assert!(amp.circuit().guitar().is_none());
        played.set_as_found(played.find("R505").unwrap(), 15e3);
        assert_eq!(amp.all_as_found(), played.all_as_found());
        let solved = played.solved_as_found().unwrap();
        assert_eq!(solved.as_found.circuit.guitar(), Some(&*guitar));
        assert_eq!(solved.network.unknowns(), amp.network().unknowns() + 3);
        let bare = played.with_guitar(None).unwrap();
        assert_eq!(bare.network().names(), amp.network().names());
    }

    #[test]
    fn a_faulty_file_says_what_is_wrong() {
        let catalogue = Arc::new(Catalogue::built_in());
        let fault = LiveAmp::read(b"format = 1\n[amp]\n", None, catalogue).unwrap_err();
        assert!(matches!(&fault, NotLoaded::Faulty(faults) if !faults.is_empty()));
        assert!(fault.to_string().contains("missing"));
    }
}
