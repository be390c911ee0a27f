//! What an amp is heard through, as the command line names it: the voltage itself, its own
//! loudspeaker, or an impulse response in a WAV file.

use super::failure::Failure;
use crate::analysis::cabinet_model::CabinetModel;
use crate::analysis::listening::loudspeaker_of;
use crate::circuit::Circuit;
use crate::sound::file::read_impulse;
use crate::sound::impulse::Prepared;
use std::path::PathBuf;
use std::sync::Arc;

/// What is asked for.
#[derive(Clone, Debug, PartialEq)]
pub enum Choice {
    /// The voltage at the output.
    Raw,
    /// What the loudspeaker radiates.
    Loudspeaker,
    /// The impulse response in this file.
    File(PathBuf),
}

/// Reads the choice; what is none of the words is a file.
///
/// # Errors
/// For an empty text.
pub fn choice(text: &str) -> Result<Choice, String> {
    match text {
        "" => Err("write raw, loudspeaker, or the path of a WAV file".into()),
        "raw" => Ok(Choice::Raw),
        "loudspeaker" => Ok(Choice::Loudspeaker),
        path => Ok(Choice::File(path.into())),
    }
}

/// Opens what was asked for; with nothing asked for it is `otherwise`. Besides, what the owner
/// should know about it.
///
/// # Errors
/// For a loudspeaker where none is heard, and a file that cannot be read or is no impulse
/// response.
pub fn open(
    choice: Option<&Choice>,
    otherwise: CabinetModel,
    circuit: &Circuit,
    at_node: bool,
) -> Result<(CabinetModel, Vec<String>), Failure> {
    let radiates = !at_node && loudspeaker_of(circuit).is_some();
    match choice {
        None if otherwise == CabinetModel::Loudspeaker && !radiates => {
            Ok((CabinetModel::Line, Vec::new()))
        }
        None => Ok((otherwise, Vec::new())),
        Some(Choice::Raw) => Ok((CabinetModel::Line, Vec::new())),
        Some(Choice::Loudspeaker) if radiates => Ok((CabinetModel::Loudspeaker, Vec::new())),
        Some(Choice::Loudspeaker) => Err(Failure::Usage(
            "--cabinet loudspeaker: a node is listened to, and no loudspeaker is there; leave it \
             out, or name a WAV file with an impulse response"
                .into(),
        )),
        Some(Choice::File(path)) => {
            let Prepared { impulse, warnings } = read_impulse(path)?;
            let name = path.display();
            let told = warnings.iter().map(|warning| format!("{name}: {warning}"));
            Ok((CabinetModel::Impulse(Arc::new(impulse)), told.collect()))
        }
    }
}
