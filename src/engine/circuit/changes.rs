//! Changes of part values, made in a checked circuit.
//!
//! Everything here is typed: a value in SI units, a type of the catalogue, in or out, open or
//! closed. How a person writes a change is [`super::written`]'s.

use super::assumed::Assumed;
use super::diagnostics::{Diagnostic, in_order};
use super::parts::{assumed_winding_ohms, assumption, kind_mismatch};
use super::values::value_fault;
use super::{Circuit, Kind, Part, PartId, PartKind, check};
use crate::device::RectifierType;
use crate::device::{Loudspeaker, Valve};
use crate::units::Quantity;
use std::sync::Arc;

/// A type that the catalogue, or the circuit's own file, knows.
#[derive(Clone, Debug, PartialEq)]
pub enum PartType {
    /// A valve.
    Valve(Arc<Valve>),
    /// A rectifier.
    Rectifier(Arc<RectifierType>),
    /// A loudspeaker.
    Loudspeaker(Arc<Loudspeaker>),
}

impl PartType {
    /// Its name.
    pub fn name(&self) -> &str {
        match self {
            PartType::Valve(valve) => &valve.name,
            PartType::Rectifier(rectifier) => &rectifier.name,
            PartType::Loudspeaker(driver) => &driver.name,
        }
    }
}

/// What a part becomes.
#[derive(Clone, Debug, PartialEq)]
pub enum PartValue {
    /// A number in SI units; the part says of which quantity.
    Quantity(f64),
    /// Another valve, rectifier or loudspeaker.
    Type(PartType),
    /// Put into the amp, or left out of it.
    Fitted(bool),
    /// A contact, closed or open.
    Closed(bool),
}

/// What the iron changes: the same value for one part, or for both halves of a valve.
#[derive(Clone, Debug, PartialEq)]
pub struct Change {
    /// The part, or the halves of one valve.
    pub parts: Vec<PartId>,
    /// What it becomes.
    pub value: PartValue,
}

impl Circuit {
    /// The circuit with other part values; its topology is the same.
    ///
    /// # Errors
    /// A fault for every change that cannot be made, all at once.
    pub fn with_changes(&self, changes: &[Change]) -> Result<Circuit, Vec<Diagnostic>> {
        let mut changed = self.clone();
        let mut faults = changed.make_changes(changes);
        faults.extend(check::agreement(&changed.parts));
        finish(changed, faults)
    }

    /// The parts that a designator means: itself, or both halves of a valve.
    pub fn parts_named(&self, designator: &str) -> Vec<PartId> {
        if let Some(id) = self.find_part(designator) {
            return vec![id];
        }
        let ids = (0..self.parts.len()).filter(|&i| {
            check::envelope(&self.parts[i]).is_some_and(|(b, _)| b.eq_ignore_ascii_case(designator))
        });
        ids.map(|i| PartId(i as u16)).collect()
    }

    /// Makes changes; a fault for each that cannot be made.
    pub(crate) fn make_changes(&mut self, changes: &[Change]) -> Vec<Diagnostic> {
        let mut faults = Vec::new();
        for change in changes {
            for &id in &change.parts {
                let made = self.set_part(id, &change.value);
                faults.extend(made.err().map(|f| f.part(&self.part(id).designator)));
            }
        }
        faults
    }

    /// Gives one part another value.
    ///
    /// # Errors
    /// Why it cannot have it.
    pub(crate) fn set_part(&mut self, id: PartId, value: &PartValue) -> Result<(), Diagnostic> {
        let part = &mut self.parts[id.0 as usize];
        match (&mut part.kind, value) {
            (_, PartValue::Fitted(fitted)) => return fit(part, *fitted),
            (PartKind::Switch { closed, .. }, PartValue::Closed(new)) => *closed = *new,
            (PartKind::Triode { valve, .. }, PartValue::Type(PartType::Valve(new))) => {
                fits_socket(Kind::Triode, valve, new)?;
                *valve = Arc::clone(new);
            }
            (PartKind::Pentode { valve, .. }, PartValue::Type(PartType::Valve(new))) => {
                fits_socket(Kind::Pentode, valve, new)?;
                *valve = Arc::clone(new);
            }
            (PartKind::Rectifier { rectifier, .. }, PartValue::Type(PartType::Rectifier(new))) => {
                *rectifier = Arc::clone(new);
            }
            (PartKind::Loudspeaker { driver, .. }, PartValue::Type(PartType::Loudspeaker(new))) => {
                *driver = Arc::clone(new);
            }
            (kind, PartValue::Quantity(new)) if kind.single_value().is_some() => {
                let (quantity, place) = kind.single_value_mut().expect("it was just there");
                in_range(quantity, *new, None)?;
                *place = *new;
                self.follow_inductance(id);
            }
            (kind, _) => {
                let message = format!("a {} takes no such value", kind.kind().in_words());
                return Err(Diagnostic::error(message, "change another part"));
            }
        }
        Ok(())
    }

    /// An assumed winding belongs to the inductance that it was assumed for.
    fn follow_inductance(&mut self, id: PartId) {
        let part = &mut self.parts[id.0 as usize];
        let PartKind::Inductor {
            henries,
            winding_ohms,
            ..
        } = &mut part.kind
        else {
            return;
        };
        let assumed = |a: &Assumed| a.part == id;
        if let Some(index) = self.assumed.iter().position(assumed) {
            *winding_ohms = assumed_winding_ohms(*henries);
            self.supplied[index] = assumption(
                &part.designator,
                "winding_resistance",
                &Quantity::WindingResistance.in_words(*winding_ohms),
            );
        }
    }
}

/// Checks a number that was given as one; `name` of the control that it is for.
pub(crate) fn in_range(
    quantity: Quantity,
    value: f64,
    name: Option<&str>,
) -> Result<(), Diagnostic> {
    let checked = quantity.check(value);
    checked.map_err(|error| value_fault(&error, &quantity.format(value), name))
}

/// The circuit, or its faults in order.
pub(crate) fn finish(
    circuit: Circuit,
    faults: Vec<Diagnostic>,
) -> Result<Circuit, Vec<Diagnostic>> {
    if faults.is_empty() {
        Ok(circuit)
    } else {
        Err(in_order(faults))
    }
}

fn fit(part: &mut Part, fitted: bool) -> Result<(), Diagnostic> {
    let kind = part.kind.kind();
    if kind.may_be_unfitted() {
        part.fitted = fitted;
        return Ok(());
    }
    let remedy = match kind {
        Kind::Switch => "write open or closed",
        _ => "change another part",
    };
    Err(Diagnostic::error(
        format!("a {} is not taken out or put in", kind.in_words()),
        remedy,
    ))
}

/// Whether a valve goes where another one is.
///
/// # Errors
/// Why it does not.
pub(crate) fn fits_socket(kind: Kind, now: &Valve, new: &Valve) -> Result<(), Diagnostic> {
    let message = match kind_mismatch(kind, new) {
        Some((message, _)) => format!("{} {message}", new.name),
        None if new.socket != now.socket => format!(
            "{} has another socket ({}) than {} ({})",
            new.name, new.socket, now.name, now.socket
        ),
        None => return Ok(()),
    };
    Err(Diagnostic::error(message, "choose a type that fits"))
}
