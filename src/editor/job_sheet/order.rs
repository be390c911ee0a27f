//! What a job sheet is made of when the window asks for it.

use crate::advice::prices::Prices;
use crate::circuit::{Proposal, built_in_circuits};
use crate::editor::analyses::reports::Request;
use crate::editor::panel::PanelContext;
use crate::requests::sheet::{CircuitSource, SheetRequest, origin};
use std::sync::Arc;

/// What a sheet is made of beside the numbers; read on the background task's thread.
#[derive(Clone, PartialEq)]
pub struct Wanted {
    pub prices: Arc<Prices>,
    pub name: String,
}

impl Wanted {
    /// As it stands now.
    pub fn of(context: &PanelContext) -> Wanted {
        Wanted {
            prices: Arc::clone(&context.request.prices),
            name: context.files.name.clone(),
        }
    }

    /// What the sheet is made of.
    ///
    /// # Errors
    /// Why there is none, in a sentence.
    pub fn order(&self, request: &Request) -> Result<SheetRequest, String> {
        let amp = &request.amp;
        let name = amp.circuit().name();
        let invented = amp.path().is_none() && built_in_circuits().iter().any(|c| c.name == name);
        let circuit = match amp.path() {
            _ if invented => CircuitSource::BuiltIn(name),
            Some(path) => CircuitSource::File(path),
            None => CircuitSource::Unnamed(name),
        };
        Ok(SheetRequest {
            amp: request.solved()?,
            proposal: Proposal {
                name: self.name.clone(),
                // The controls stand alike on both sides.
                settings: Vec::new(),
                ..amp.proposal(&request.proposed, &request.as_found)
            },
            origin: origin(circuit, "the values set in the window".into()),
            prices: Arc::clone(&self.prices),
        })
    }
}
