//! From the arguments to the amp that is looked at: reads the circuit, applies what is proposed.

use super::arguments::Changes;
use super::built_in;
use super::failure::Failure;
use crate::advice::prices::Prices;
use crate::circuit::{
    self, Circuit, Diagnostic, Guitar, Proposal, WrittenChange, WrittenProposal, WrittenSetting,
};
use crate::device::Catalogue;
use crate::files::read_bytes;
use std::path::Path;
use std::sync::Arc;

/// The circuit loaded, as found and, if anything is to be soldered, as proposed.
pub struct LoadedAmp {
    /// Where the circuit came from: a path or a built-in name.
    pub source: String,
    /// Whether that is an amp that comes with the program, not a file.
    pub built_in: bool,
    /// Name of the proposal; empty if there is none.
    pub proposal: String,
    /// What is to be soldered, under its name; the controls are turned on both sides.
    pub changes: Proposal,
    /// What was put in first, as found, as it was written.
    pub before: WrittenProposal,
    /// What was asked for besides, as it was written.
    pub asked: WrittenProposal,
    /// With the part values of the file and the controls as asked for.
    pub as_found: Circuit,
    /// With the proposed values too; none when nothing is to be soldered.
    pub proposed: Option<Circuit>,
}

impl LoadedAmp {
    /// The same amp with this guitar, or none, in its jack.
    pub fn with_guitar(self, guitar: Option<Arc<Guitar>>) -> Self {
        let proposed = self.proposed.as_ref();
        LoadedAmp {
            proposed: proposed.map(|circuit| circuit.with_guitar(guitar.clone())),
            as_found: self.as_found.with_guitar(guitar),
            ..self
        }
    }
}

/// Loads a circuit and what is proposed for it.
///
/// # Errors
/// All faults of the circuit, or else all faults of the proposal and the changes.
pub fn load(circuit: &str, changes: &Changes) -> Result<LoadedAmp, Failure> {
    let catalogue = Catalogue::built_in();
    let Loaded {
        file,
        proposal,
        before,
        ..
    } = read(circuit, changes, &catalogue)?;
    let name = changes.proposal.as_deref().unwrap_or("command line");
    // All at once, so that every fault is told; the controls then stand alike on both sides,
    // since they are turned, not soldered.
    let in_proposal = |faults| Failure::faults(name, faults);
    let all = proposal.resolve(&file, &catalogue).map_err(in_proposal)?;
    let proposed = all.apply(&file).map_err(in_proposal)?;
    let as_found = file.with_controls(&all.settings).map_err(in_proposal)?;
    Ok(LoadedAmp {
        source: circuit.into(),
        built_in: built_in::circuit(circuit).is_some() && !Path::new(circuit).exists(),
        proposed: (!proposal.changes.is_empty()).then_some(proposed),
        proposal: proposal.name.clone(),
        changes: Proposal {
            settings: Vec::new(),
            ..all
        },
        before,
        asked: proposal,
        as_found,
    })
}

/// What was read, nothing proposed being done yet.
pub struct Loaded {
    /// The file, with what is put in first written into it.
    pub bytes: Vec<u8>,
    /// The circuit of these bytes.
    pub file: Circuit,
    /// What is proposed, as it is written.
    pub proposal: WrittenProposal,
    /// What was put in first, as it was written.
    pub before: WrittenProposal,
}

/// Reads a circuit, what the amp has now, and what is proposed for it.
///
/// # Errors
/// All faults of the circuit, or else of what is as found, or else all faults in reading the
/// proposal and the changes.
pub fn read(circuit: &str, changes: &Changes, catalogue: &Catalogue) -> Result<Loaded, Failure> {
    let mut bytes = bytes_of(circuit, built_in::circuit)?;
    let in_circuit = |faults| Failure::faults(circuit, faults);
    let mut file = circuit::read_bytes(&bytes, catalogue).map_err(in_circuit)?;

    let list = |name: &Option<String>, amp: &str| match name {
        None => Ok(WrittenProposal::default()),
        Some(name) => {
            let bytes = bytes_of(name, |name| built_in::proposal(amp, name))?;
            circuit::read_proposal_bytes(&bytes).map_err(|faults| Failure::faults(name, faults))
        }
    };
    let before = list(&changes.as_found, file.name())?;
    if let Some(name) = &changes.as_found {
        meant_for(&before, &file, "list of what is as found");
        let in_list = |faults| Failure::faults(name, faults);
        // The circuit was read from them, so they are text.
        let text = String::from_utf8_lossy(&bytes);
        let put_in = before.resolve(&file, catalogue).map_err(in_list)?;
        let edited = circuit::edit(&text, &put_in.changes, &put_in.settings, catalogue);
        bytes = edited.map_err(in_list)?.into_bytes();
        file = circuit::read_bytes(&bytes, catalogue).map_err(in_circuit)?;
    }
    let mut proposal = list(&changes.proposal, file.name())?;
    meant_for(&proposal, &file, "proposal");
    let name = changes.proposal.as_deref().unwrap_or("command line");
    add_to(&mut proposal, changes).map_err(|faults| Failure::faults(name, faults))?;
    Ok(Loaded {
        bytes,
        file,
        proposal,
        before,
    })
}

/// Says so when a list is meant for another amp.
fn meant_for(list: &WrittenProposal, file: &Circuit, what: &str) {
    if !list.for_amp.is_empty() && !list.for_amp.eq_ignore_ascii_case(file.name()) {
        super::output::tell(format!(
            "The {what} is meant for {}; this is {}.",
            list.for_amp,
            file.name()
        ));
    }
}

/// Adds what the command line says after what the proposal file says.
fn add_to(proposal: &mut WrittenProposal, changes: &Changes) -> Result<(), Vec<Diagnostic>> {
    let mut faults = Vec::new();
    for text in &changes.set {
        match text.parse::<WrittenChange>() {
            Ok(change) => proposal.changes.push(change),
            Err(fault) => faults.push(fault),
        }
    }
    for text in &changes.control {
        match text.parse::<WrittenSetting>() {
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

/// The price file that was asked for; the invented one that comes with the program if none was.
///
/// # Errors
/// All faults of the file, or why it cannot be read.
pub fn prices(path: Option<&Path>) -> Result<Prices, Failure> {
    let Some(path) = path else {
        return Ok(Prices::built_in());
    };
    let bytes = read_bytes(path, circuit::MOST_BYTES as u64)?;
    let name = path.display().to_string();
    Prices::parse_bytes(&bytes).map_err(|faults| Failure::faults(&name, faults))
}
