//! `presolder play`: reads the circuit and what is proposed, then lets a window open on it.

use super::arguments::{Changes, Play as Arguments};
use super::cabinet;
use super::failure::Failure;
use super::guitar;
use super::load;
use crate::analysis::cabinet_model::CabinetModel;
use crate::device::Catalogue;
use crate::requests::opening::{Opening, Window};
use crate::solve::solved::SolvedAmp;
use crate::sound::file;
use std::path::Path;

/// Amp and proposal that open when none is asked for.
const FIRST: (&str, &str) = ("bradawl", "cooler");

/// Plays.
///
/// # Errors
/// The faults found, no solution, no display.
pub fn run(arguments: &Arguments, window: Window) -> Result<(), Failure> {
    let (first, first_proposal) = FIRST;
    let circuit = arguments.circuit.as_deref().unwrap_or(first);
    let mut changes = arguments.changes.clone();
    if arguments.circuit.is_none() && !changes.any() {
        changes = Changes {
            proposal: Some(first_proposal.into()),
            ..Changes::default()
        };
    }
    let catalogue = Catalogue::built_in();
    let load::Loaded {
        bytes,
        file,
        proposal,
        ..
    } = load::read(circuit, &changes, &catalogue)?;
    let in_proposal = |faults| Failure::faults("what is proposed", faults);
    let proposal = proposal.resolve(&file, &catalogue).map_err(in_proposal)?;
    let proposed = proposal.apply(&file).map_err(in_proposal)?;
    let amp = SolvedAmp::new(&file, Some(&proposed))?;
    // The window is where its owner can find what mends it.
    if let Some(unfit) = amp.faults() {
        super::output::tell(unfit);
    }
    if let Some(wav) = &arguments.wav {
        file::read(wav)?;
    }
    let asked = arguments.cabinet.as_ref();
    let (cabinet, told) = cabinet::open(asked, CabinetModel::Loudspeaker, &proposed, false)?;
    told.iter().for_each(super::output::tell);
    let path = Path::new(circuit);
    Ok(window(Opening {
        bytes,
        // What is as found was written into the text only: the owner's file is not to be
        // overwritten with it unasked.
        path: (path.exists() && changes.as_found.is_none()).then(|| path.to_path_buf()),
        proposal,
        guitar: guitar::open(&arguments.guitar)?,
        cabinet,
        wav: arguments.wav.clone(),
        input: arguments.input.clone(),
        output: arguments.output.clone(),
        rate: arguments.rate,
        block: arguments.block,
        silent: arguments.silent,
    })?)
}
