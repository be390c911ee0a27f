//! Settings of controls, applied to a checked circuit.

use super::changes::{finish, split};
use super::diagnostics::{Diagnostic, nearest, shorten};
use super::read::Assumed;
use super::values::value_fault;
use super::{Circuit, PartId, PartKind};
use crate::units::Quantity;

/// What the player turns: "Volume=0.6", "Feedback=off".
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Setting {
    /// Name of the control, in any case.
    pub control: String,
    /// 0 to 1 (or "60%") for a pot; on, off, closed, open for a switch.
    pub value: String,
    /// Line, when it comes from a file.
    pub line: Option<usize>,
}

impl std::str::FromStr for Setting {
    type Err = Diagnostic;

    /// Reads "Volume=0.6".
    fn from_str(text: &str) -> Result<Self, Diagnostic> {
        let (control, value) = split(text, "Volume=0.6")?;
        Ok(Setting {
            control,
            value,
            line: None,
        })
    }
}

impl Circuit {
    /// The circuit with its controls set otherwise. Control names may be in any case.
    ///
    /// # Errors
    /// A fault for every setting that cannot be made, all at once.
    pub fn with_controls(&self, settings: &[Setting]) -> Result<Circuit, Vec<Diagnostic>> {
        let mut changed = self.clone();
        let faults = changed.apply_settings(settings);
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

    pub(super) fn apply_settings(&mut self, settings: &[Setting]) -> Vec<Diagnostic> {
        let mut faults = Vec::new();
        for setting in settings {
            let mut found = false;
            let mut fault = None;
            for index in 0..self.parts.len() {
                let part = &mut self.parts[index];
                if !part
                    .kind
                    .control()
                    .is_some_and(|c| same_name(c, &setting.control))
                {
                    continue;
                }
                found = true;
                // Ganged parts would all say the same.
                fault = set(&mut part.kind, setting.value.trim()).err();
                if fault.is_none() {
                    self.now_stated(PartId(index as u16), "set");
                }
            }
            if !found {
                fault = Some(self.unknown_control(setting));
            }
            faults.extend(fault.map(|f| f.line(setting.line).value(&setting.value)));
        }
        faults
    }

    fn unknown_control(&self, setting: &Setting) -> Diagnostic {
        let names = self.controls();
        let remedy = match nearest(&setting.control, names.iter().copied()) {
            Some(near) => format!("did you mean {near}?"),
            None if names.is_empty() => "this circuit has no controls".into(),
            None => format!("the controls are {}", names.join(", ")),
        };
        let message = format!(
            "{} is not a control of this circuit",
            shorten(&setting.control)
        );
        Diagnostic::error(message, remedy)
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
pub(super) fn same_name(a: &str, b: &str) -> bool {
    a.to_lowercase() == b.to_lowercase()
}

/// The words for a contact, on being closed.
pub(super) fn contact(value: &str) -> Result<bool, Diagnostic> {
    match value.to_ascii_lowercase().as_str() {
        "closed" | "on" => Ok(true),
        "open" | "off" => Ok(false),
        _ => Err(Diagnostic::error(
            format!("\"{}\" is not a position of a switch", shorten(value)),
            "write on, off, closed or open",
        )),
    }
}

fn set(kind: &mut PartKind, value: &str) -> Result<(), Diagnostic> {
    match kind {
        PartKind::Pot {
            set: rotation,
            control,
            ..
        } => {
            *rotation = Quantity::Share
                .parse(value)
                .map_err(|error| value_fault(&error, value, Some(control)))?;
        }
        PartKind::Switch {
            closed, control, ..
        } => {
            *closed = contact(value).map_err(|mut fault| {
                fault.message = format!("{control}: {}", fault.message);
                fault
            })?;
        }
        _ => unreachable!("only pots and switches have controls"),
    }
    Ok(())
}
