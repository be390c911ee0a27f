//! What a job sheet is made of when the window asks for it.

use super::panels::Desk;
use super::reports::Request;
use crate::advice::job::Origin;
use crate::advice::prices::Prices;
use crate::advice::spread::SpreadSettings;
use crate::circuit::{Proposal, built_in_circuits};
use crate::files::file_name;
use crate::job_sheet::Order;
use std::sync::Arc;

/// What a sheet is made of beside the numbers; read on the errand's thread.
#[derive(Clone, PartialEq)]
pub struct Wanted {
    pub prices: Arc<Prices>,
    pub name: String,
}

impl Wanted {
    /// As it stands now.
    pub fn of(desk: &Desk) -> Wanted {
        Wanted {
            prices: Arc::clone(&desk.request.prices),
            name: desk.files.name.clone(),
        }
    }

    /// What the sheet is made of.
    ///
    /// # Errors
    /// Why there is none, in a sentence.
    pub fn order(&self, request: &Request) -> Result<Order, String> {
        let amp = &request.amp;
        let name = amp.circuit().name();
        let invented = amp.path().is_none() && built_in_circuits().iter().any(|c| c.name == name);
        let circuit = match amp.path() {
            _ if invented => format!("{} (comes with the program)", amp.circuit().name()),
            Some(path) => file_name(path),
            None => amp.circuit().name().into(),
        };
        Ok(Order {
            as_found: request.circuits()?.as_found,
            proposal: Proposal {
                name: self.name.clone(),
                // The controls stand alike on both sides.
                settings: Vec::new(),
                ..amp.proposal(&request.proposed, &request.as_found)
            },
            origin: Origin {
                circuit,
                proposal: "the values set in the window".into(),
                program: concat!("Presolder ", env!("CARGO_PKG_VERSION")).into(),
                date: None,
                invented,
            },
            prices: (*self.prices).clone(),
            spread: SpreadSettings::default(),
        })
    }
}
