//! The part kinds of the file format: the word that names each, its keys, its one value.

use super::part::PartKind;
use crate::units::Quantity;

/// Kind of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// `resistor`
    Resistor,
    /// `capacitor`
    Capacitor,
    /// `inductor`
    Inductor,
    /// `pot`
    Pot,
    /// `switch`
    Switch,
    /// `triode`
    Triode,
    /// `pentode`
    Pentode,
    /// `rectifier`
    Rectifier,
    /// `output_transformer`
    OutputTransformer,
    /// `loudspeaker`
    Loudspeaker,
    /// `supply`
    Supply,
    /// `bias_supply`
    BiasSupply,
    /// `voltage_source`
    VoltageSource,
}

impl Kind {
    /// All kinds.
    pub const ALL: [Kind; 13] = [
        Kind::Resistor,
        Kind::Capacitor,
        Kind::Inductor,
        Kind::Pot,
        Kind::Switch,
        Kind::Triode,
        Kind::Pentode,
        Kind::Rectifier,
        Kind::OutputTransformer,
        Kind::Loudspeaker,
        Kind::Supply,
        Kind::BiasSupply,
        Kind::VoltageSource,
    ];

    /// The key that names the kind in a file.
    pub fn word(self) -> &'static str {
        self.keys().0
    }

    /// The kind in a sentence: "output transformer".
    pub fn in_words(self) -> String {
        self.word().replace('_', " ")
    }

    /// The kind that a key names.
    pub fn from_word(word: &str) -> Option<Kind> {
        Kind::ALL.into_iter().find(|k| k.word() == word)
    }

    /// Keys that must stand beside it.
    pub fn required(self) -> &'static [&'static str] {
        self.keys().1
    }

    /// Keys of this kind that may stand beside it; [`COMMON`] ones come on top.
    pub fn optional(self) -> &'static [&'static str] {
        self.keys().2
    }

    /// Whether a part of this kind may be left out of the amp.
    pub fn may_be_unfitted(self) -> bool {
        self.optional().contains(&"fitted")
    }

    #[rustfmt::skip]
    fn keys(self) -> (&'static str, &'static [&'static str], &'static [&'static str]) {
        match self {
            Kind::Resistor => ("resistor", &["between"], &["rated", "tolerance", "fitted"]),
            Kind::Capacitor => ("capacitor", &["between"], &["rated", "tolerance", "fitted"]),
            Kind::Inductor => ("inductor", &["between"],
                &["winding_resistance", "rated", "tolerance", "fitted"]),
            Kind::Pot => ("pot", &["from", "to", "wiper"],
                &["taper", "control", "set", "rated", "tolerance", "fitted"]),
            Kind::Switch => ("switch", &["between"], &["control"]),
            Kind::Triode => ("triode", &["anode", "grid", "cathode"], &["fitted"]),
            Kind::Pentode => ("pentode", &["anode", "screen", "grid", "cathode"], &["fitted"]),
            Kind::Rectifier => ("rectifier", &["winding", "to"], &["winding_resistance", "from"]),
            Kind::OutputTransformer => ("output_transformer", &["primary", "secondary"],
                &["primary_shares", "secondary_shares"]),
            Kind::Loudspeaker => ("loudspeaker", &["between"], &["fitted"]),
            Kind::Supply => ("supply", &["node"], &["resistance"]),
            Kind::BiasSupply => ("bias_supply", &["node"], &["resistance"]),
            Kind::VoltageSource => ("voltage_source", &["between"], &["resistance"]),
        }
    }
}

/// Keys that any part may have.
pub const COMMON: [&str; 3] = ["stage", "role", "near"];

impl PartKind {
    /// Which kind it is.
    pub fn kind(&self) -> Kind {
        match self {
            PartKind::Resistor { .. } => Kind::Resistor,
            PartKind::Capacitor { .. } => Kind::Capacitor,
            PartKind::Inductor { .. } => Kind::Inductor,
            PartKind::Pot { .. } => Kind::Pot,
            PartKind::Switch { .. } => Kind::Switch,
            PartKind::Triode { .. } => Kind::Triode,
            PartKind::Pentode { .. } => Kind::Pentode,
            PartKind::Rectifier { .. } => Kind::Rectifier,
            PartKind::OutputTransformer(_) => Kind::OutputTransformer,
            PartKind::Loudspeaker { .. } => Kind::Loudspeaker,
            PartKind::Supply { .. } => Kind::Supply,
            PartKind::BiasSupply { .. } => Kind::BiasSupply,
            PartKind::VoltageSource { .. } => Kind::VoltageSource,
        }
    }

    /// The one number of a part that has one, SI units, with what it measures.
    pub fn single_value(&self) -> Option<(Quantity, f64)> {
        match *self {
            PartKind::Resistor { ohms, .. } | PartKind::Pot { ohms, .. } => {
                Some((Quantity::Resistance, ohms))
            }
            PartKind::Capacitor { farads, .. } => Some((Quantity::Capacitance, farads)),
            PartKind::Inductor { henries, .. } => Some((Quantity::Inductance, henries)),
            PartKind::Supply { volts, .. } => Some((Quantity::SupplyVoltage, volts)),
            PartKind::BiasSupply { volts, .. } => Some((Quantity::BiasVoltage, volts)),
            PartKind::VoltageSource { volts, .. } => Some((Quantity::SourceVoltage, volts)),
            PartKind::Switch { .. }
            | PartKind::Triode { .. }
            | PartKind::Pentode { .. }
            | PartKind::Rectifier { .. }
            | PartKind::OutputTransformer(_)
            | PartKind::Loudspeaker { .. } => None,
        }
    }

    /// The same, to be changed.
    pub(crate) fn single_value_mut(&mut self) -> Option<(Quantity, &mut f64)> {
        let (quantity, _) = self.single_value()?;
        match self {
            PartKind::Resistor { ohms: value, .. }
            | PartKind::Pot { ohms: value, .. }
            | PartKind::Capacitor { farads: value, .. }
            | PartKind::Inductor { henries: value, .. }
            | PartKind::Supply { volts: value, .. }
            | PartKind::BiasSupply { volts: value, .. }
            | PartKind::VoltageSource { volts: value, .. } => Some((quantity, value)),
            _ => None,
        }
    }
}
