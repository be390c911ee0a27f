//! A proposal: changes and settings under a name.

use super::changes::{Change, finish};
use super::controls::Setting;
use super::diagnostics::Diagnostic;
use super::proposal_file::WrittenProposal;
use super::written::Resolved;
use super::{Circuit, check};
use crate::device::Catalogue;

/// What is to be soldered, and how the controls stand meanwhile, in one circuit's parts.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Proposal {
    /// Its name.
    pub name: String,
    /// What it is meant to do.
    pub about: String,
    /// Name of the amp that it is for; empty if for any.
    pub for_amp: String,
    /// Part values.
    pub changes: Vec<Change>,
    /// Control settings.
    pub settings: Vec<Setting>,
}

impl Proposal {
    /// The circuit with everything in the proposal done.
    ///
    /// # Errors
    /// A fault for everything that cannot be done, all at once.
    pub fn apply(&self, circuit: &Circuit) -> Result<Circuit, Vec<Diagnostic>> {
        let mut changed = circuit.clone();
        let mut faults = changed.make_changes(&self.changes);
        faults.extend(changed.make_settings(&self.settings));
        faults.extend(check::agreement(&changed.parts));
        finish(changed, faults)
    }

    /// As it stands in a file.
    pub fn written(&self, circuit: &Circuit) -> WrittenProposal {
        WrittenProposal {
            name: self.name.clone(),
            about: self.about.clone(),
            for_amp: self.for_amp.clone(),
            changes: self.changes.iter().map(|c| c.written(circuit)).collect(),
            settings: self.settings.iter().map(|s| s.written(circuit)).collect(),
        }
    }

    /// Whether nothing is changed and nothing turned.
    pub fn is_empty(&self) -> bool {
        self.changes.is_empty() && self.settings.is_empty()
    }
}

impl WrittenProposal {
    /// The proposal in the parts of a circuit.
    ///
    /// # Errors
    /// A fault for everything that cannot be done in it, all at once.
    pub fn resolve(
        &self,
        circuit: &Circuit,
        catalogue: &Catalogue,
    ) -> Result<Proposal, Vec<Diagnostic>> {
        let resolved = Resolved::new(circuit, &self.changes, &self.settings, catalogue);
        let resolved = resolved.agreed()?;
        Ok(Proposal {
            name: self.name.clone(),
            about: self.about.clone(),
            for_amp: self.for_amp.clone(),
            changes: resolved.changes,
            settings: resolved.settings,
        })
    }

    /// The circuit with everything in it done.
    ///
    /// # Errors
    /// A fault for everything that cannot be done, all at once.
    pub fn apply(
        &self,
        circuit: &Circuit,
        catalogue: &Catalogue,
    ) -> Result<Circuit, Vec<Diagnostic>> {
        let resolved = Resolved::new(circuit, &self.changes, &self.settings, catalogue);
        resolved.agreed().map(|resolved| resolved.circuit)
    }
}
