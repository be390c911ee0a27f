//! Changes of part values, applied to a checked circuit.

use super::controls::{contact, same_name};
use super::diagnostics::{Diagnostic, in_order, nearest, shorten};
use super::own_loudspeakers::KnownLoudspeakers;
use super::parts::{assumed_winding_ohms, kind_mismatch, unknown_name};
use super::values::value_fault;
use super::{Circuit, Kind, Part, PartId, PartKind, check};
use crate::device::{Catalogue, Valve};
use crate::units::Quantity;
use std::sync::Arc;

/// What the iron changes: "R14=33k", "V1=ECC81", "C9=out", "SW1=open".
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// Designator of the part; "V1" stands for both halves V1a and V1b.
    pub designator: String,
    /// New value, as one would write it in a file; "out" and "in" for not fitted and fitted.
    pub value: String,
    /// Line, when it comes from a file.
    pub line: Option<usize>,
}

/// "NAME=VALUE" in two.
pub(super) fn split(text: &str, example: &str) -> Result<(String, String), Diagnostic> {
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

impl std::str::FromStr for Change {
    type Err = Diagnostic;

    /// Reads "R14=33k".
    fn from_str(text: &str) -> Result<Self, Diagnostic> {
        let (designator, value) = split(text, "R14=33k")?;
        Ok(Change {
            designator,
            value,
            line: None,
        })
    }
}

impl Circuit {
    /// The circuit with other part values; its topology is the same.
    ///
    /// # Errors
    /// A fault for every change that cannot be made, all at once.
    pub fn with_changes(
        &self,
        changes: &[Change],
        catalogue: &Catalogue,
    ) -> Result<Circuit, Vec<Diagnostic>> {
        let mut changed = self.clone();
        let mut faults = changed.apply_changes(changes, catalogue);
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

    pub(super) fn apply_changes(
        &mut self,
        changes: &[Change],
        catalogue: &Catalogue,
    ) -> Vec<Diagnostic> {
        let mut faults = Vec::new();
        for change in changes {
            let ids = self.parts_named(&change.designator);
            if ids.is_empty() {
                faults.push(self.unknown_designator(change));
            }
            for id in ids {
                if let Err(fault) = self.change(id, change, catalogue) {
                    let fault = fault.part(&self.part(id).designator).value(&change.value);
                    faults.push(fault.line(change.line));
                }
            }
        }
        faults
    }

    fn unknown_designator(&self, change: &Change) -> Diagnostic {
        let control = self
            .controls()
            .into_iter()
            .find(|c| same_name(c, &change.designator));
        let halves = self
            .parts
            .iter()
            .filter_map(|p| check::envelope_name(&p.designator));
        let names = self
            .parts
            .iter()
            .map(|p| p.designator.as_str())
            .chain(halves);
        // A slip in the number is likelier than one in the letter.
        let letter = |name: &str| name.chars().next().map(|c| c.to_ascii_uppercase());
        let alike = names
            .clone()
            .filter(|n| letter(n) == letter(&change.designator));
        let near =
            nearest(&change.designator, alike).or_else(|| nearest(&change.designator, names));
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

    fn change(
        &mut self,
        id: PartId,
        change: &Change,
        catalogue: &Catalogue,
    ) -> Result<(), Diagnostic> {
        let value = change.value.trim();
        let part = &mut self.parts[id.0 as usize];
        for (word, fitted) in [("out", false), ("in", true)] {
            if value.eq_ignore_ascii_case(word) {
                return fit(part, fitted);
            }
        }
        let read = |quantity: Quantity| {
            quantity
                .parse(value)
                .map_err(|error| value_fault(&error, value, None))
        };
        match &mut part.kind {
            PartKind::Resistor { ohms, .. } | PartKind::Pot { ohms, .. } => {
                *ohms = read(Quantity::Resistance)?;
            }
            PartKind::Capacitor { farads, .. } => *farads = read(Quantity::Capacitance)?,
            PartKind::Inductor {
                henries,
                winding_ohms,
                ..
            } => {
                *henries = read(Quantity::Inductance)?;
                // An assumed winding belongs to the inductance that it was assumed for.
                let assumed = |a: &super::read::Assumed| a.part == id;
                if let Some(index) = self.assumed.iter().position(assumed) {
                    *winding_ohms = assumed_winding_ohms(*henries);
                    self.supplied[index] = super::parts::assumption(
                        &part.designator,
                        "winding_resistance",
                        &Quantity::WindingResistance.in_words(*winding_ohms),
                    );
                }
            }
            PartKind::Switch { closed, .. } => *closed = contact(value)?,
            PartKind::Triode { valve, .. } => {
                *valve = other_valve(Kind::Triode, valve, value, catalogue)?;
            }
            PartKind::Pentode { valve, .. } => {
                *valve = other_valve(Kind::Pentode, valve, value, catalogue)?;
            }
            PartKind::Rectifier { rectifier, .. } => {
                let names = catalogue.rectifiers.iter().map(|r| r.name.as_str());
                *rectifier = named("rectifier", value, catalogue.rectifier(value), names)?;
            }
            PartKind::Loudspeaker { driver, .. } => {
                let known = KnownLoudspeakers::new(catalogue, &self.own_loudspeakers);
                *driver = named("loudspeaker", value, known.find(value), known.names())?;
            }
            PartKind::Supply { volts, .. } => *volts = read(Quantity::SupplyVoltage)?,
            PartKind::BiasSupply { volts, .. } => *volts = read(Quantity::BiasVoltage)?,
            PartKind::VoltageSource { volts, .. } => *volts = read(Quantity::SourceVoltage)?,
            PartKind::OutputTransformer(_) => {
                return Err(Diagnostic::error(
                    "an output transformer has no single value to change",
                    "change its line in the circuit file",
                ));
            }
        }
        Ok(())
    }
}

/// The circuit, or its faults in order.
pub(super) fn finish(
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

fn other_valve(
    kind: Kind,
    now: &Valve,
    name: &str,
    catalogue: &Catalogue,
) -> Result<Arc<Valve>, Diagnostic> {
    let fits = |v: &&Arc<Valve>| v.socket == now.socket && kind_mismatch(kind, v).is_none();
    let names = catalogue
        .valves
        .iter()
        .flat_map(|v| std::iter::once(&v.name).chain(&v.also))
        .map(String::as_str);
    let valve = named(kind.word(), name, catalogue.valve(name), names)?;
    if !fits(&&valve) {
        let message = match kind_mismatch(kind, &valve) {
            Some((message, _)) => format!("{} {message}", valve.name),
            None => format!(
                "{} has another socket ({}) than {} ({})",
                valve.name, valve.socket, now.name, now.socket
            ),
        };
        let fitting: Vec<&str> = catalogue
            .valves
            .iter()
            .filter(fits)
            .map(|v| v.name.as_str())
            .collect();
        let remedy = if fitting.is_empty() {
            "no known type fits here".into()
        } else {
            format!("these fit: {}", fitting.join(", "))
        };
        return Err(Diagnostic::error(message, remedy));
    }
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
