//! A match as the window asks for it, and the work behind it.

use super::recorded::Recorded;
use crate::circuit::Drawer;
use crate::editor::analyses::reports::Request;
use crate::editor::view::Stock;
use crate::recording::fit::{Choice, FitReport, Others, Taken, unknowns};
use crate::requests::drawer::{NoDrawer, drawer};
use crate::requests::fit::FitRequest;
use crate::units::Series;
use std::path::Path;

/// Everything that a match depends on beside the numbers of the amp.
#[derive(Clone, Debug, PartialEq)]
pub struct FitSettings {
    /// Parts that may differ.
    pub names: Vec<String>,
    /// How the recording was taken.
    pub taken: Taken,
    /// Whether all other parts were measured.
    pub measured: bool,
    /// Where parts come from.
    pub stock: Stock,
    /// Path of the drawer's file.
    pub drawer: String,
    /// Names of recording and dry track: what they hold does not change while they are loaded.
    pub of: (String, Option<String>),
    /// Volts at the jack for a sample of 1 of the dry track.
    pub full_scale_volts: f64,
}

fn drawer_at(path: &str) -> Result<Drawer, String> {
    drawer(Path::new(path)).map_err(|fault| match fault {
        NoDrawer::File(fault) => format!("{path} cannot be read: {}.", fault.why),
        NoDrawer::Faults(faults) => {
            let lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
            format!("{path}:\n{}", lines.join("\n"))
        }
    })
}

/// Does it; none when it is called off.
///
/// # Errors
/// In sentences, what is wrong with the parts, the drawer or the recording.
pub fn fitted(
    request: &Request,
    asked: &FitSettings,
    recorded: &Recorded,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Option<Result<FitReport, String>> {
    let circuit = match request.circuits() {
        Ok(circuits) => circuits.as_found,
        Err(fault) => return Some(Err(fault)),
    };
    let unknowns = match unknowns(&circuit, &asked.names) {
        Ok(unknowns) => unknowns,
        Err(faults) => {
            let lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
            return Some(Err(lines.join("\n")));
        }
    };
    let drawer = match asked.stock {
        Stock::Drawer => match drawer_at(&asked.drawer) {
            Ok(drawer) => Some(drawer),
            Err(fault) => return Some(Err(fault)),
        },
        _ => None,
    };
    let question = FitRequest {
        circuit: &circuit,
        unknowns: &unknowns,
        target: &recorded.target,
        dry: recorded.dry.as_deref(),
        full_scale_volts: asked.full_scale_volts,
        taken: asked.taken,
        cabinet: &request.cabinet,
        others: match asked.measured {
            true => Others::AsStated,
            false => Others::WithinTolerance,
        },
        choice: match &drawer {
            Some(drawer) => Choice::Drawer(drawer),
            None if asked.stock == Stock::E24 => Choice::Series(Series::E24),
            None => Choice::Series(Series::E12),
        },
    };
    let found = question.answer(go_on)?;
    Some(found.map_err(|why| why.to_string()))
}
