//! From the arguments to an amp on the bench: reads the circuit, applies what is proposed.

use super::arguments::Changes;
use super::built_in;
use super::failure::Failure;
use super::file::read_bytes;
use crate::circuit::{self, Change, Circuit, Diagnostic, Proposal, Setting};
use crate::device::Catalogue;
use std::path::Path;

/// The circuit loaded, as found and, if anything is to be soldered, as proposed.
pub struct Bench {
    /// Where the circuit came from: a path or a built-in name.
    pub source: String,
    /// Whether that is an amp that comes with the program, not a file.
    pub built_in: bool,
    /// What is to be soldered.
    pub changes: Vec<Change>,
    /// Name of the proposal; empty if there is none.
    pub proposal: String,
    /// What the proposal says about itself; may be empty.
    pub about: String,
    /// With the part values of the file and the controls as asked for.
    pub as_found: Circuit,
    /// With the proposed values too; none when nothing is to be soldered.
    pub proposed: Option<Circuit>,
}

/// Loads a circuit and what is proposed for it.
///
/// # Errors
/// All faults of the circuit, or else all faults of the proposal and the changes.
pub fn load(circuit: &str, changes: &Changes) -> Result<Bench, Failure> {
    let catalogue = Catalogue::built_in();
    let (_, file, proposal) = read(circuit, changes, &catalogue)?;
    let name = changes.proposal.as_deref().unwrap_or("command line");
    // All at once, so that every fault is told; the controls then stand alike on both sides,
    // since they are turned, not soldered.
    let all = proposal.apply(&file, &catalogue);
    let proposed = all.map_err(|faults| Failure::faults(name, faults))?;
    let as_found = file
        .with_controls(&proposal.settings)
        .map_err(|faults| Failure::faults(name, faults))?;
    Ok(Bench {
        source: circuit.into(),
        built_in: built_in::circuit(circuit).is_some() && !Path::new(circuit).exists(),
        about: proposal.about,
        changes: proposal.changes.clone(),
        proposed: (!proposal.changes.is_empty()).then_some(proposed),
        proposal: proposal.name,
        as_found,
    })
}

/// Reads a circuit and what is proposed for it: the file's bytes, the circuit, the proposal.
///
/// # Errors
/// All faults of the circuit, or else all faults in reading the proposal and the changes.
pub fn read(
    circuit: &str,
    changes: &Changes,
    catalogue: &Catalogue,
) -> Result<(Vec<u8>, Circuit, Proposal), Failure> {
    let bytes = bytes_of(circuit, built_in::circuit)?;
    let in_circuit = |faults| Failure::faults(circuit, faults);
    let file = circuit::read_bytes(&bytes, catalogue).map_err(in_circuit)?;

    let mut proposal = match &changes.proposal {
        None => Proposal::default(),
        Some(name) => {
            let bytes = bytes_of(name, |name| built_in::proposal(file.name(), name))?;
            circuit::read_proposal_bytes(&bytes).map_err(|faults| Failure::faults(name, faults))?
        }
    };
    if !proposal.for_amp.is_empty() && !proposal.for_amp.eq_ignore_ascii_case(file.name()) {
        eprintln!(
            "The proposal is meant for {}; this is {}.",
            proposal.for_amp,
            file.name()
        );
    }
    let name = changes.proposal.as_deref().unwrap_or("command line");
    add_to(&mut proposal, changes).map_err(|faults| Failure::faults(name, faults))?;
    Ok((bytes, file, proposal))
}

/// Adds what the command line says after what the proposal file says.
fn add_to(proposal: &mut Proposal, changes: &Changes) -> Result<(), Vec<Diagnostic>> {
    let mut faults = Vec::new();
    for text in &changes.set {
        match text.parse::<Change>() {
            Ok(change) => proposal.changes.push(change),
            Err(fault) => faults.push(fault),
        }
    }
    for text in &changes.control {
        match text.parse::<Setting>() {
            Ok(setting) => proposal.settings.push(setting),
            Err(fault) => faults.push(fault),
        }
    }
    if faults.is_empty() {
        Ok(())
    } else {
        Err(faults)
    }
}

/// The bytes of a file, or of an embedded file if there is no file of this name.
fn bytes_of(
    name: &str,
    embedded: impl Fn(&str) -> Option<&'static str>,
) -> Result<Vec<u8>, Failure> {
    if let (Some(text), false) = (embedded(name), Path::new(name).exists()) {
        return Ok(text.as_bytes().to_vec());
    }
    Ok(read_bytes(Path::new(name), circuit::MOST_BYTES as u64)?)
}
