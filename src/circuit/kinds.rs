//! The part kinds of the file format: the word that names each, its keys, its wiring.

use super::{NodeId, PartKind};
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

/// What a part joins, as far as the checks of the wiring need it.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Wiring {
    /// Every terminal.
    pub terminals: Vec<NodeId>,
    /// Groups of terminals between which direct current can flow.
    pub conducting: Vec<Vec<NodeId>>,
    /// Ends between which the voltage is fixed.
    pub ideal_source: Option<[NodeId; 2]>,
}

/// A source below this is taken as ideal, Ω; far below any wire of an amplifier.
const IDEAL_OHMS: f64 = 1e-3;

impl Wiring {
    pub fn joined(terminals: &[NodeId]) -> Self {
        Wiring {
            terminals: terminals.to_vec(),
            conducting: vec![terminals.to_vec()],
            ideal_source: None,
        }
    }

    pub fn blocking(terminals: &[NodeId]) -> Self {
        Wiring {
            terminals: terminals.to_vec(),
            ..Wiring::default()
        }
    }

    /// A valve: its grid is insulated, all else conducts.
    pub fn valve(grid: NodeId, others: &[NodeId]) -> Self {
        let mut wiring = Wiring::joined(others);
        wiring.terminals.push(grid);
        wiring
    }

    pub fn windings(primary: &[NodeId], secondary: &[NodeId]) -> Self {
        Wiring {
            terminals: [primary, secondary].concat(),
            conducting: vec![primary.to_vec(), secondary.to_vec()],
            ideal_source: None,
        }
    }

    pub fn source(ends: [NodeId; 2], ohms: f64) -> Self {
        let mut wiring = Wiring::joined(&ends);
        wiring.ideal_source = (ohms < IDEAL_OHMS).then_some(ends);
        wiring
    }
}

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
    pub(super) fn single_value_mut(&mut self) -> Option<(Quantity, &mut f64)> {
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

    pub(super) fn wiring(&self) -> Wiring {
        use super::GROUND;
        match *self {
            PartKind::Capacitor { between, .. } => Wiring::blocking(&between),
            PartKind::Resistor { between, .. }
            | PartKind::Inductor { between, .. }
            | PartKind::Switch { between, .. }
            | PartKind::Loudspeaker { between, .. } => Wiring::joined(&between),
            PartKind::Pot {
                from, to, wiper, ..
            } => Wiring::joined(&[from, to, wiper]),
            PartKind::Triode {
                anode,
                grid,
                cathode,
                ..
            } => Wiring::valve(grid, &[anode, cathode]),
            PartKind::Pentode {
                anode,
                screen,
                grid,
                cathode,
                ..
            } => Wiring::valve(grid, &[anode, screen, cathode]),
            PartKind::Rectifier { to, from, .. } => Wiring::joined(&[to, from]),
            PartKind::OutputTransformer(ref t) => {
                Wiring::windings(&t.primary.taps, &t.secondary.taps)
            }
            PartKind::Supply { ohms, node, .. } | PartKind::BiasSupply { ohms, node, .. } => {
                Wiring::source([node, GROUND], ohms)
            }
            PartKind::VoltageSource { ohms, between, .. } => Wiring::source(between, ohms),
        }
    }
}
