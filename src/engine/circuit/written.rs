//! Changes and settings as a person writes them: "R14=33k", "V1=ECC81", "C9=out", "Volume=0.6".
//!
//! Proposal files, files of readings and the command line are read into these; against a circuit and
//! a catalogue they become typed, or every fault at once.

use super::Circuit;
use super::changes::{self, Change, PartValue};
use super::check::{agreement, envelope_name};
use super::controls::{ControlValue, Setting, same_name};
use super::diagnostics::{Diagnostic, in_order, nearest, shorten};
use super::written_value::{contact_word, read_position, read_value};
use crate::device::Catalogue;
use crate::units::Quantity;

/// A change of a part as it is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WrittenChange {
    /// Designator of the part; "V1" stands for both halves V1a and V1b.
    pub designator: String,
    /// New value, as one would write it in a file; "out" and "in" for not fitted and fitted.
    pub value: String,
    /// Line, when it comes from a file.
    pub line: Option<usize>,
}

/// A setting of a control as it is written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WrittenSetting {
    /// Name of the control, in any case.
    pub control: String,
    /// 0 to 1 (or "60%") for a pot; on, off, closed, open for a switch.
    pub value: String,
    /// Line, when it comes from a file.
    pub line: Option<usize>,
}

impl std::str::FromStr for WrittenChange {
    type Err = Diagnostic;

    /// Reads "R14=33k".
    fn from_str(text: &str) -> Result<Self, Diagnostic> {
        let (designator, value) = split(text, "R14=33k")?;
        Ok(WrittenChange {
            designator,
            value,
            line: None,
        })
    }
}

impl std::str::FromStr for WrittenSetting {
    type Err = Diagnostic;

    /// Reads "Volume=0.6".
    fn from_str(text: &str) -> Result<Self, Diagnostic> {
        let (control, value) = split(text, "Volume=0.6")?;
        Ok(WrittenSetting {
            control,
            value,
            line: None,
        })
    }
}

/// "NAME=VALUE" in two.
fn split(text: &str, example: &str) -> Result<(String, String), Diagnostic> {
    match text.split_once('=') {
        Some((name, value)) if !name.trim().is_empty() && !value.trim().is_empty() => {
            Ok((name.trim().into(), value.trim().into()))
        }
        _ => Err(Diagnostic::error(
            format!("\"{}\" has no name and value", shorten(text)),
            format!("write it like {example}"),
        )
        .value(text)),
    }
}

/// What became of written changes and settings.
pub(crate) struct Resolved {
    pub changes: Vec<Change>,
    pub settings: Vec<Setting>,
    /// The circuit with all in it that could be done.
    pub circuit: Circuit,
    /// A fault for all that could not, not in order yet.
    pub faults: Vec<Diagnostic>,
}

impl Resolved {
    /// Resolves them against a circuit.
    pub fn new(
        circuit: &Circuit,
        changes: &[WrittenChange],
        settings: &[WrittenSetting],
        catalogue: &Catalogue,
    ) -> Resolved {
        let mut resolved = Resolved {
            changes: Vec::new(),
            settings: Vec::new(),
            circuit: circuit.clone(),
            faults: Vec::new(),
        };
        for change in changes {
            resolved.change(change, catalogue);
        }
        for setting in settings {
            resolved.setting(setting);
        }
        resolved
    }

    /// The same, if all of it can be done and its parts agree then.
    ///
    /// # Errors
    /// Every fault, in order.
    pub fn agreed(mut self) -> Result<Resolved, Vec<Diagnostic>> {
        self.faults.extend(agreement(self.circuit.parts()));
        match self.faults.is_empty() {
            true => Ok(self),
            false => Err(in_order(self.faults)),
        }
    }

    fn change(&mut self, written: &WrittenChange, catalogue: &Catalogue) {
        let ids = self.circuit.parts_named(&written.designator);
        if ids.is_empty() {
            self.faults.push(unknown_designator(&self.circuit, written));
        }
        let mut parts = Vec::new();
        let mut value = None;
        for id in ids {
            let read = read_value(&self.circuit, id, written.value.trim(), catalogue);
            let set = read.and_then(|read| {
                self.circuit.set_part(id, &read)?;
                Ok(read)
            });
            match set {
                Ok(read) => {
                    parts.push(id);
                    value = Some(read);
                }
                Err(fault) => {
                    let fault = fault.part(&self.circuit.part(id).designator);
                    self.faults
                        .push(fault.value(&written.value).line(written.line));
                }
            }
        }
        let made = value.map(|value| Change { parts, value });
        self.changes.extend(made);
    }

    fn setting(&mut self, written: &WrittenSetting) {
        let parts = self.circuit.parts_of_control(&written.control);
        let mut fault = None;
        let mut value = None;
        for &id in &parts {
            let read = read_position(&self.circuit.part(id).kind, written.value.trim());
            let set = read.and_then(|read| {
                self.circuit.set_control(id, read)?;
                Ok(read)
            });
            // Ganged parts would all say the same.
            fault = set.as_ref().err().cloned();
            value = set.ok().or(value);
        }
        if parts.is_empty() {
            fault = Some(unknown_control(&self.circuit, written));
        }
        self.settings
            .extend(value.map(|value| Setting { parts, value }));
        self.faults
            .extend(fault.map(|f| f.line(written.line).value(&written.value)));
    }
}

impl Circuit {
    /// The circuit with changes as somebody wrote them.
    ///
    /// # Errors
    /// A fault for every change that cannot be made, all at once.
    pub fn with_written_changes(
        &self,
        changes: &[WrittenChange],
        catalogue: &Catalogue,
    ) -> Result<Circuit, Vec<Diagnostic>> {
        let resolved = Resolved::new(self, changes, &[], catalogue);
        resolved.agreed().map(|resolved| resolved.circuit)
    }

    /// The circuit with its controls as somebody wrote them.
    ///
    /// # Errors
    /// A fault for every setting that cannot be made, all at once.
    pub fn with_written_controls(
        &self,
        settings: &[WrittenSetting],
    ) -> Result<Circuit, Vec<Diagnostic>> {
        let resolved = Resolved::new(self, &[], settings, &Catalogue::default());
        changes::finish(resolved.circuit, resolved.faults)
    }
}

impl Change {
    /// As it stands in a file: the designator of the part, or of the valve whose halves it changes,
    /// and the value in canonical notation.
    pub fn written(&self, circuit: &Circuit) -> WrittenChange {
        let first = circuit.part(self.parts[0]);
        let designator = match self.parts.len() {
            1 => &first.designator,
            _ => envelope_name(&first.designator).unwrap_or(&first.designator),
        };
        let value = match &self.value {
            PartValue::Quantity(value) => match first.kind.single_value() {
                Some((quantity, _)) => quantity.format(*value),
                None => value.to_string(),
            },
            PartValue::Type(named) => named.name().to_owned(),
            PartValue::Fitted(fitted) => if *fitted { "in" } else { "out" }.into(),
            PartValue::Closed(closed) => contact_word(*closed).into(),
        };
        WrittenChange {
            designator: designator.to_owned(),
            value,
            line: None,
        }
    }
}

impl Setting {
    /// As it stands in a file.
    pub fn written(&self, circuit: &Circuit) -> WrittenSetting {
        let control = circuit.part(self.parts[0]).kind.control();
        WrittenSetting {
            control: control.unwrap_or_default().to_owned(),
            value: match self.value {
                ControlValue::Rotation(rotation) => Quantity::Share.format(rotation),
                ControlValue::Closed(closed) => contact_word(closed).into(),
            },
            line: None,
        }
    }
}

fn unknown_designator(circuit: &Circuit, change: &WrittenChange) -> Diagnostic {
    let control = circuit
        .controls()
        .into_iter()
        .find(|c| same_name(c, &change.designator));
    let parts = circuit.parts();
    let halves = parts.iter().filter_map(|p| envelope_name(&p.designator));
    let names = parts.iter().map(|p| p.designator.as_str()).chain(halves);
    // A slip in the number is likelier than one in the letter.
    let letter = |name: &str| name.chars().next().map(|c| c.to_ascii_uppercase());
    let alike = names
        .clone()
        .filter(|n| letter(n) == letter(&change.designator));
    let near = nearest(&change.designator, alike).or_else(|| nearest(&change.designator, names));
    let remedy = match (control, near) {
        (Some(control), _) => format!("{control} is a control: set it as one"),
        (None, Some(near)) => format!("did you mean {near}?"),
        (None, None) => "name a part of this circuit".into(),
    };
    Diagnostic::error("is not a part of this circuit", remedy)
        .part(&change.designator)
        .line(change.line)
        .value(&change.value)
}

fn unknown_control(circuit: &Circuit, setting: &WrittenSetting) -> Diagnostic {
    let names = circuit.controls();
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
