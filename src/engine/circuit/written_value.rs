//! What a text means to a part or a control: "33k", "ECC81", "out", "open", "60 %".

use super::changes::{PartType, PartValue, fits_socket};
use super::controls::ControlValue;
use super::diagnostics::{Diagnostic, shorten};
use super::parts::{kind_mismatch, unknown_name};
use super::values::value_fault;
use super::{Circuit, Kind, PartId, PartKind};
use crate::device::{Catalogue, Valve};
use crate::units::Quantity;
use std::sync::Arc;

/// What a text means to a part.
pub(crate) fn read_value(
    circuit: &Circuit,
    id: PartId,
    text: &str,
    catalogue: &Catalogue,
) -> Result<PartValue, Diagnostic> {
    for (word, fitted) in [("out", false), ("in", true)] {
        if text.eq_ignore_ascii_case(word) {
            return Ok(PartValue::Fitted(fitted));
        }
    }
    let part_type = match &circuit.part(id).kind {
        PartKind::Switch { .. } => return contact(text).map(PartValue::Closed),
        PartKind::Triode { valve, .. } => {
            PartType::Valve(other_valve(Kind::Triode, valve, text, catalogue)?)
        }
        PartKind::Pentode { valve, .. } => {
            PartType::Valve(other_valve(Kind::Pentode, valve, text, catalogue)?)
        }
        PartKind::Rectifier { .. } => {
            let names = catalogue.rectifiers.iter().map(|r| r.name.as_str());
            PartType::Rectifier(named("rectifier", text, catalogue.rectifier(text), names)?)
        }
        PartKind::Loudspeaker { .. } => {
            let known = circuit.known_loudspeakers(catalogue);
            PartType::Loudspeaker(named("loudspeaker", text, known.find(text), known.names())?)
        }
        kind => {
            let Some((quantity, _)) = kind.single_value() else {
                return Err(Diagnostic::error(
                    "an output transformer has no single value to change",
                    "change its line in the circuit file",
                ));
            };
            let read = quantity.parse(text);
            return read
                .map(PartValue::Quantity)
                .map_err(|error| value_fault(&error, text, None));
        }
    };
    Ok(PartValue::Type(part_type))
}

/// What a text means to a control.
pub(crate) fn read_position(kind: &PartKind, text: &str) -> Result<ControlValue, Diagnostic> {
    match kind {
        PartKind::Switch { control, .. } => {
            let read = contact(text).map_err(|mut fault| {
                fault.message = format!("{control}: {}", fault.message);
                fault
            });
            read.map(ControlValue::Closed)
        }
        kind => {
            let read = Quantity::Share.parse(text);
            read.map(ControlValue::Rotation)
                .map_err(|error| value_fault(&error, text, kind.control()))
        }
    }
}

/// The words for a contact, on being closed.
fn contact(value: &str) -> Result<bool, Diagnostic> {
    match value.to_ascii_lowercase().as_str() {
        "closed" | "on" => Ok(true),
        "open" | "off" => Ok(false),
        _ => Err(Diagnostic::error(
            format!("\"{}\" is not a position of a switch", shorten(value)),
            "write on, off, closed or open",
        )),
    }
}

/// The word of a file for a contact.
pub(crate) fn contact_word(closed: bool) -> &'static str {
    if closed { "closed" } else { "open" }
}

fn other_valve(
    kind: Kind,
    now: &Valve,
    name: &str,
    catalogue: &Catalogue,
) -> Result<Arc<Valve>, Diagnostic> {
    let names = catalogue
        .valves
        .iter()
        .flat_map(|v| std::iter::once(&v.name).chain(&v.also))
        .map(String::as_str);
    let valve = named(kind.word(), name, catalogue.valve(name), names)?;
    fits_socket(kind, now, &valve).map_err(|mut fault| {
        let fits = |v: &&Arc<Valve>| v.socket == now.socket && kind_mismatch(kind, v).is_none();
        let fitting: Vec<&str> = catalogue
            .valves
            .iter()
            .filter(fits)
            .map(|v| v.name.as_str())
            .collect();
        fault.remedy = if fitting.is_empty() {
            "no known type fits here".into()
        } else {
            format!("these fit: {}", fitting.join(", "))
        };
        fault
    })?;
    Ok(valve)
}

fn named<'a, T>(
    kind: &str,
    name: &str,
    found: Option<&Arc<T>>,
    names: impl Iterator<Item = &'a str> + Clone,
) -> Result<Arc<T>, Diagnostic> {
    found.cloned().ok_or_else(|| {
        let (message, remedy) = unknown_name(kind, name, names);
        Diagnostic::error(format!("\"{}\" {message}", shorten(name)), remedy)
    })
}
