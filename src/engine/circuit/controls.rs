//! Settings of controls, made in a checked circuit.

use super::assumed::Assumed;
use super::changes::{finish, in_range};
use super::diagnostics::Diagnostic;
use super::{Circuit, PartId, PartKind};
use crate::units::Quantity;

/// Where a control stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ControlValue {
    /// Rotation of a pot, 0 to 1.
    Rotation(f64),
    /// A contact, closed or open.
    Closed(bool),
}

/// What the player turns.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// The pots or contacts of one control.
    pub parts: Vec<PartId>,
    /// Where they stand.
    pub value: ControlValue,
}

impl Circuit {
    /// The circuit with its controls set otherwise.
    ///
    /// # Errors
    /// A fault for every setting that cannot be made, all at once.
    pub fn with_controls(&self, settings: &[Setting]) -> Result<Circuit, Vec<Diagnostic>> {
        let mut changed = self.clone();
        let faults = changed.make_settings(settings);
        finish(changed, faults)
    }

    /// Names of the controls, each once, in the order of the file.
    pub fn controls(&self) -> Vec<&str> {
        let mut names: Vec<&str> = Vec::new();
        for control in self.parts.iter().filter_map(|p| p.kind.control()) {
            if !names.iter().any(|n| same_name(n, control)) {
                names.push(control);
            }
        }
        names
    }

    /// The pots or contacts that a control moves; its name may be in any case.
    pub fn parts_of_control(&self, name: &str) -> Vec<PartId> {
        let moved = |part: &super::Part| part.kind.control().is_some_and(|c| same_name(c, name));
        (0..self.parts.len())
            .filter(|&index| moved(&self.parts[index]))
            .map(|index| PartId(index as u16))
            .collect()
    }

    /// Makes settings; a fault for each that cannot be made.
    pub(crate) fn make_settings(&mut self, settings: &[Setting]) -> Vec<Diagnostic> {
        let mut faults = Vec::new();
        for setting in settings {
            let mut fault = None;
            for &id in &setting.parts {
                // Ganged parts would all say the same.
                fault = self.set_control(id, setting.value).err();
            }
            faults.extend(fault);
        }
        faults
    }

    /// Turns one pot or throws one contact.
    ///
    /// # Errors
    /// Why it cannot stand so.
    pub(crate) fn set_control(
        &mut self,
        id: PartId,
        value: ControlValue,
    ) -> Result<(), Diagnostic> {
        match (&mut self.parts[id.0 as usize].kind, value) {
            (PartKind::Pot { set, control, .. }, ControlValue::Rotation(rotation)) => {
                in_range(Quantity::Share, rotation, Some(control))?;
                *set = rotation;
            }
            (PartKind::Switch { closed, .. }, ControlValue::Closed(new)) => *closed = new,
            (kind, _) => {
                let message = format!("a {} does not stand so", kind.kind().in_words());
                let fault = Diagnostic::error(message, "set another control");
                return Err(fault.part(&self.part(id).designator));
            }
        }
        self.now_stated(id, "set");
        Ok(())
    }

    fn now_stated(&mut self, part: PartId, key: &str) {
        let assumed = |a: &Assumed| a.part == part && a.key == key;
        if let Some(index) = self.assumed.iter().position(assumed) {
            self.assumed.remove(index);
            self.supplied.remove(index);
        }
    }
}

/// Control names may be in any case.
pub(crate) fn same_name(a: &str, b: &str) -> bool {
    a.to_lowercase() == b.to_lowercase()
}
