//! `presolder play`: reads the circuit and what is proposed, then lets a window open on it.

use super::arguments::{Changes, Play as Arguments};
use super::cabinet::{self, Through};
use super::failure::Failure;
use super::load;
use crate::circuit::Proposal;
use crate::device::Catalogue;
use crate::solve::solved::SolvedAmp;
use std::path::{Path, PathBuf};

/// What a window opens with; everything in it has been checked.
#[derive(Clone, Debug)]
pub struct Opening {
    /// The circuit-values file.
    pub bytes: Vec<u8>,
    /// Where it lies, unless it came with the program.
    pub path: Option<PathBuf>,
    /// What is proposed.
    pub proposal: Proposal,
    /// What is heard through.
    pub through: Through,
    /// Recording to be looped; the built-in phrase if none.
    pub wav: Option<PathBuf>,
    /// Audio devices by name, if asked for.
    pub input: Option<String>,
    /// See `input`.
    pub output: Option<String>,
    /// Sample rate, Hz.
    pub rate: u32,
    /// Frames a block.
    pub block: u32,
    /// No sound is wanted.
    pub silent: bool,
}

/// Opens a window and returns when it is closed.
pub type Window = fn(Opening) -> Result<(), Failure>;

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
    let proposed = proposal
        .apply(&file, &catalogue)
        .map_err(|faults| Failure::faults("what is proposed", faults))?;
    SolvedAmp::new(&file, Some(&proposed))?;
    if let Some(wav) = &arguments.wav {
        super::render::read(wav)?;
    }
    let asked = arguments.cabinet.as_ref();
    let (through, told) = cabinet::open(asked, Through::Loudspeaker, &proposed, false)?;
    told.iter().for_each(|warning| eprintln!("{warning}"));
    let path = Path::new(circuit);
    window(Opening {
        bytes,
        // What is as found was written into the text only: the owner's file is not to be
        // overwritten with it unasked.
        path: (path.exists() && changes.as_found.is_none()).then(|| path.to_path_buf()),
        proposal,
        through,
        wav: arguments.wav.clone(),
        input: arguments.input.clone(),
        output: arguments.output.clone(),
        rate: arguments.rate,
        block: arguments.block,
        silent: arguments.silent,
    })
}
