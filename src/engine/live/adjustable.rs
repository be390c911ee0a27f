//! Something of an amp that its owner can change with the iron or the player with a knob,
//! with its one number.
//!
//! A part's value is in SI units, a choice is the index of a type, a flag is 0 or 1, a pot's
//! rotation runs from 0 to 1.

use crate::circuit::{Change, ControlValue, PartId, PartType, PartValue, Setting};
use crate::units::{NotationError, Quantity, Series};

/// What an adjustable's number means.
#[derive(Clone, Debug, PartialEq)]
pub enum AdjustableKind {
    /// A value in SI units within two decades about the one in the file, and within what can be
    /// bought.
    Value {
        /// What it measures.
        quantity: Quantity,
        /// Least.
        low: f64,
        /// Most.
        high: f64,
    },
    /// Index into the types that fit.
    Choice {
        /// The types.
        types: Vec<PartType>,
    },
    /// 1 if the part is in the amp, 0 if it is left out.
    Fitted,
    /// 1 if the contact is closed.
    Switch,
    /// Rotation of a pot, 0 to 1.
    Turn,
}

/// Something that can be adjusted.
#[derive(Clone, Debug, PartialEq)]
pub struct Adjustable {
    /// Stable name: the designator, the designator and "fitted", or the control's name.
    pub id: String,
    /// Designator or control that it belongs to.
    pub designator: String,
    /// What the part does there; may be empty.
    pub role: String,
    /// Its stage; may be empty.
    pub stage: String,
    /// What its number means.
    pub kind: AdjustableKind,
    /// The parts that follow it: both halves of a valve, ganged pots.
    pub parts: Vec<PartId>,
    /// The number that the file gives.
    pub filed: f64,
}

/// Why a text is no number for an adjustable.
#[derive(Clone, Debug, PartialEq)]
pub enum Refusal {
    /// It is not written like a value.
    Notation(NotationError),
    /// It is no type, no state and no contact that there is here.
    Meaningless,
    /// A good value, but beyond what the adjustable can take.
    Outside {
        /// Least.
        low: f64,
        /// Most.
        high: f64,
    },
}

impl Adjustable {
    /// Designator and role: "R14 bias feed".
    pub fn name(&self) -> String {
        let what = match self.kind {
            AdjustableKind::Fitted => "fitted",
            _ => "",
        };
        [self.designator.as_str(), &self.role, what]
            .iter()
            .filter(|word| !word.is_empty())
            .copied()
            .collect::<Vec<_>>()
            .join(" ")
    }

    /// Whether the player turns it, rather than the iron.
    pub fn is_control(&self) -> bool {
        matches!(self.kind, AdjustableKind::Turn | AdjustableKind::Switch)
    }

    /// The series that its values are sold in: E24, and E12 for capacitors and inductors.
    pub fn series(&self) -> Series {
        match self.kind {
            AdjustableKind::Value {
                quantity: Quantity::Resistance,
                ..
            } => Series::E24,
            _ => Series::E12,
        }
    }

    /// The nearest number that the adjustable can take.
    pub fn clamped(&self, value: f64) -> f64 {
        let (low, high) = self.range();
        if !value.is_finite() {
            return self.filed;
        }
        match self.kind {
            AdjustableKind::Value { .. } | AdjustableKind::Turn => value.clamp(low, high),
            _ => value.round().clamp(low, high),
        }
    }

    /// The number as it is printed on a part: "4k7", "820R", "22n", "ECC83", "out", "closed",
    /// "0.55".
    pub fn text(&self, value: f64) -> String {
        let value = self.clamped(value);
        match &self.kind {
            AdjustableKind::Value {
                quantity: Quantity::Resistance,
                ..
            } => {
                let text = Quantity::Resistance.format(value);
                match text.bytes().all(|c| c.is_ascii_digit()) {
                    true => text + "R",
                    false => text,
                }
            }
            AdjustableKind::Value { quantity, .. } => quantity.format(value),
            AdjustableKind::Choice { types } => types[value as usize].name().to_owned(),
            AdjustableKind::Fitted => if value > 0.5 { "in" } else { "out" }.into(),
            AdjustableKind::Switch => if value > 0.5 { "closed" } else { "open" }.into(),
            AdjustableKind::Turn => format!("{:.3}", value)
                .trim_end_matches('0')
                .trim_end_matches('.')
                .to_owned(),
        }
    }

    /// Least and most that it can take.
    pub fn range(&self) -> (f64, f64) {
        match &self.kind {
            AdjustableKind::Value { low, high, .. } => (*low, *high),
            AdjustableKind::Choice { types } => (0.0, types.len().saturating_sub(1) as f64),
            _ => (0.0, 1.0),
        }
    }

    /// Reads what somebody typed.
    ///
    /// # Errors
    /// Why it is not a number that the adjustable can take; nothing is clamped.
    pub fn read(&self, text: &str) -> Result<f64, Refusal> {
        let value = self.meant(text)?;
        let (low, high) = self.range();
        match [low, high].into_iter().find(|&end| self.same(end, value)) {
            Some(end) => Ok(end),
            None if (low..=high).contains(&value) => Ok(value),
            None => Err(Refusal::Outside { low, high }),
        }
    }

    /// Reads a text that a project kept, clamped to what the adjustable can take; nothing if it
    /// means nothing.
    pub fn restored(&self, text: &str) -> Option<f64> {
        let value = self.meant(text).ok()?;
        let (low, high) = self.range();
        let end = [low, high].into_iter().find(|&end| self.same(end, value));
        Some(end.unwrap_or_else(|| self.clamped(value)))
    }

    /// The number that a text means, wherever it lies.
    fn meant(&self, text: &str) -> Result<f64, Refusal> {
        let text = text.trim();
        let word = text.to_ascii_lowercase();
        let number = |quantity: Quantity| match quantity.parse(text) {
            Err(NotationError::OutOfRange { .. }) => {
                let (low, high) = self.range();
                Err(Refusal::Outside { low, high })
            }
            read => read.map_err(Refusal::Notation),
        };
        match &self.kind {
            AdjustableKind::Value { quantity, .. } => number(*quantity),
            AdjustableKind::Choice { types } => {
                let named = |one: &PartType| one.name().eq_ignore_ascii_case(text);
                let index = types.iter().position(named).ok_or(Refusal::Meaningless)?;
                Ok(index as f64)
            }
            AdjustableKind::Fitted | AdjustableKind::Switch => match word.as_str() {
                "in" | "fitted" | "closed" | "on" | "yes" | "1" => Ok(1.0),
                "out" | "not fitted" | "open" | "off" | "no" | "0" => Ok(0.0),
                _ => Err(Refusal::Meaningless),
            },
            AdjustableKind::Turn => number(Quantity::Share),
        }
    }

    /// Whether two numbers are the same to this adjustable.
    pub fn same(&self, a: f64, b: f64) -> bool {
        match self.kind {
            AdjustableKind::Value { .. } => (a / b - 1.0).abs() < 1e-9,
            AdjustableKind::Turn => (a - b).abs() < 1e-6,
            _ => (a - b).abs() < 0.5,
        }
    }

    /// The change or setting that gives a circuit this number.
    pub(crate) fn order(&self, value: f64) -> Order {
        let value = self.clamped(value);
        let on = value > 0.5;
        let parts = self.parts.clone();
        let change = |value| {
            Order::Change(Change {
                parts: parts.clone(),
                value,
            })
        };
        let setting = |value| {
            Order::Setting(Setting {
                parts: parts.clone(),
                value,
            })
        };
        match &self.kind {
            AdjustableKind::Value { .. } => change(PartValue::Quantity(value)),
            AdjustableKind::Choice { types } => {
                change(PartValue::Type(types[value as usize].clone()))
            }
            AdjustableKind::Fitted => change(PartValue::Fitted(on)),
            AdjustableKind::Switch => setting(ControlValue::Closed(on)),
            AdjustableKind::Turn => setting(ControlValue::Rotation(value)),
        }
    }
}

/// What an adjustable asks of a circuit.
pub(crate) enum Order {
    Change(Change),
    Setting(Setting),
}
