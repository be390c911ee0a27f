//! The values and terminals of each kind of part.

use super::assumed::Assumed;
use super::diagnostics::nearest;
use super::kinds::Kind;
use super::reader::{Line, Reader};
use super::text::{Entry, Raw};
use super::wiring::Wiring;
use super::{GROUND, NodeId, PartId, PartKind, Taper};
use crate::device::{Valve, ValveLaw};
use crate::units::Quantity;
use std::sync::Arc;

/// Words of the tapers.
pub(crate) const TAPERS: [(&str, Taper); 3] = [
    ("linear", Taper::Linear),
    ("log", Taper::Log),
    ("reverse", Taper::Reverse),
];

/// Winding resistance of a choke whose file states none: 20 Ω a henry, as filter chokes have
/// (common practice, no source).
const CHOKE_OHMS_PER_HENRY: f64 = 20.0;

/// Resistance of each half of a mains winding whose file states none, Ω (common practice, no
/// source).
const MAINS_WINDING_OHMS: f64 = 150.0;

/// The winding resistance that is assumed for an inductor.
pub(crate) fn assumed_winding_ohms(henries: f64) -> f64 {
    let (least, greatest) = Quantity::WindingResistance.range();
    (CHOKE_OHMS_PER_HENRY * henries).clamp(least, greatest)
}

/// Why a valve does not go where another kind is asked for; none if it does.
pub(crate) fn kind_mismatch(kind: Kind, valve: &Valve) -> Option<(String, String)> {
    match (kind, &valve.law) {
        (Kind::Triode, ValveLaw::Pentode(_)) => Some((
            "is a pentode".into(),
            format!(
                "write pentode = \"{}\" with its screen; joined to the anode's node it works as a triode",
                valve.name
            ),
        )),
        (Kind::Pentode, ValveLaw::Triode(_)) => Some((
            "is a triode".into(),
            format!("write triode = \"{}\" without a screen", valve.name),
        )),
        _ => None,
    }
}

type Read = (Option<PartKind>, Option<Wiring>);

impl Reader<'_> {
    /// The part, and its wiring even where a value is faulty.
    pub fn part_kind(&mut self, id: PartId, kind: Kind, line: &Line, value: &Entry) -> Read {
        match kind {
            Kind::Resistor => {
                let ohms = self.value(line, value, Quantity::Resistance);
                self.two_ended(line, ohms, Wiring::joined, |ohms, between| {
                    PartKind::Resistor { ohms, between }
                })
            }
            Kind::Capacitor => {
                let farads = self.value(line, value, Quantity::Capacitance);
                self.two_ended(line, farads, Wiring::blocking, |farads, between| {
                    PartKind::Capacitor { farads, between }
                })
            }
            Kind::Inductor => self.inductor(id, line, value),
            Kind::Pot => self.pot(id, line, value),
            Kind::Switch => {
                let closed = self.word(line, value, &[("open", false), ("closed", true)]);
                let control = self.control(line);
                let both = closed.zip(control);
                self.two_ended(line, both, Wiring::joined, |(closed, control), between| {
                    PartKind::Switch {
                        closed,
                        between,
                        control,
                    }
                })
            }
            Kind::Triode => self.triode(line, value),
            Kind::Pentode => self.pentode(line, value),
            Kind::Rectifier => self.rectifier(id, line, value),
            Kind::OutputTransformer => self.output_transformer(id, line, value),
            Kind::Loudspeaker => {
                let driver = self.driver(line, value);
                self.two_ended(line, driver, Wiring::joined, |driver, between| {
                    PartKind::Loudspeaker { driver, between }
                })
            }
            Kind::Supply | Kind::BiasSupply => self.supply(id, kind, line, value),
            Kind::VoltageSource => {
                let volts = self.value(line, value, Quantity::SourceVoltage);
                let ohms = self.source_ohms(id, line);
                let wiring = |ends: &[NodeId]| {
                    Wiring::source([ends[0], ends[1]], ohms.unwrap_or(f64::INFINITY))
                };
                self.two_ended(line, volts.zip(ohms), wiring, |(volts, ohms), between| {
                    PartKind::VoltageSource {
                        volts,
                        ohms,
                        between,
                    }
                })
            }
        }
    }

    fn two_ended<V>(
        &mut self,
        line: &Line,
        value: Option<V>,
        wiring: impl Fn(&[NodeId]) -> Wiring,
        make: impl Fn(V, [NodeId; 2]) -> PartKind,
    ) -> Read {
        let between = self
            .nodes(line, "between", 2..=2)
            .map(|ends| [ends[0], ends[1]]);
        let part = value
            .zip(between)
            .map(|(value, between)| make(value, between));
        (part, between.map(|ends| wiring(&ends)))
    }

    fn inductor(&mut self, id: PartId, line: &Line, value: &Entry) -> Read {
        let henries = self.value(line, value, Quantity::Inductance);
        let winding_ohms = match line.get("winding_resistance") {
            Some(entry) => self.value(line, entry, Quantity::WindingResistance),
            None => henries.map(|henries| {
                let ohms = assumed_winding_ohms(henries);
                self.assume(
                    id,
                    line,
                    "winding_resistance",
                    Quantity::WindingResistance,
                    ohms,
                );
                ohms
            }),
        };
        self.two_ended(
            line,
            henries.zip(winding_ohms),
            Wiring::joined,
            |(henries, winding_ohms), between| PartKind::Inductor {
                henries,
                winding_ohms,
                between,
            },
        )
    }

    fn pot(&mut self, id: PartId, line: &Line, value: &Entry) -> Read {
        let ohms = self.value(line, value, Quantity::Resistance);
        let taper = match line.get("taper") {
            Some(entry) => self.word(line, entry, &TAPERS),
            None => {
                self.assume_words(id, line, "taper", "linear");
                Some(Taper::Linear)
            }
        };
        let set = match line.get("set") {
            Some(entry) => self.value(line, entry, Quantity::Share),
            None => {
                self.assume(id, line, "set", Quantity::Share, 0.5);
                Some(0.5)
            }
        };
        let control = self.control(line);
        let from = self.node_at(line, "from");
        let to = self.node_at(line, "to");
        let wiper = self.node_at(line, "wiper");
        let (Some(from), Some(to), Some(wiper)) = (from, to, wiper) else {
            return (None, None);
        };
        let wiring = Wiring::joined(&[from, to, wiper]);
        let (Some(ohms), Some(taper), Some(set), Some(control)) = (ohms, taper, set, control)
        else {
            return (None, Some(wiring));
        };
        let pot = PartKind::Pot {
            ohms,
            taper,
            from,
            to,
            wiper,
            set,
            control,
        };
        (Some(pot), Some(wiring))
    }

    fn triode(&mut self, line: &Line, value: &Entry) -> Read {
        let valve = self.valve(Kind::Triode, line, value);
        let anode = self.node_at(line, "anode");
        let grid = self.node_at(line, "grid");
        let cathode = self.node_at(line, "cathode");
        let (Some(anode), Some(grid), Some(cathode)) = (anode, grid, cathode) else {
            return (None, None);
        };
        let part = valve.map(|valve| PartKind::Triode {
            valve,
            anode,
            grid,
            cathode,
        });
        (part, Some(Wiring::valve(grid, &[anode, cathode])))
    }

    fn pentode(&mut self, line: &Line, value: &Entry) -> Read {
        let valve = self.valve(Kind::Pentode, line, value);
        let anode = self.node_at(line, "anode");
        let screen = self.node_at(line, "screen");
        let grid = self.node_at(line, "grid");
        let cathode = self.node_at(line, "cathode");
        let (Some(anode), Some(screen), Some(grid), Some(cathode)) = (anode, screen, grid, cathode)
        else {
            return (None, None);
        };
        let part = valve.map(|valve| PartKind::Pentode {
            valve,
            anode,
            screen,
            grid,
            cathode,
        });
        (part, Some(Wiring::valve(grid, &[anode, screen, cathode])))
    }

    fn rectifier(&mut self, id: PartId, line: &Line, value: &Entry) -> Read {
        let catalogue = self.catalogue;
        let names = catalogue.rectifiers.iter().map(|r| r.name.as_str());
        let rectifier = self.named(line, value, names, |name| catalogue.rectifier(name));
        let winding_volts = line
            .get("winding")
            .and_then(|entry| self.value(line, entry, Quantity::WindingVoltage));
        let winding_ohms = match line.get("winding_resistance") {
            Some(entry) => self.value(line, entry, Quantity::WindingResistance),
            None => {
                let (key, quantity) = ("winding_resistance", Quantity::WindingResistance);
                self.assume(id, line, key, quantity, MAINS_WINDING_OHMS);
                Some(MAINS_WINDING_OHMS)
            }
        };
        let to = self.node_at(line, "to");
        let from = match line.get("from") {
            Some(_) => self.node_at(line, "from"),
            None => Some(GROUND),
        };
        let (Some(to), Some(from)) = (to, from) else {
            return (None, None);
        };
        let wiring = Some(Wiring::joined(&[to, from]));
        let (Some(rectifier), Some(winding_volts), Some(winding_ohms)) =
            (rectifier, winding_volts, winding_ohms)
        else {
            return (None, wiring);
        };
        let part = PartKind::Rectifier {
            rectifier,
            winding_volts,
            winding_ohms,
            to,
            from,
        };
        (Some(part), wiring)
    }

    fn supply(&mut self, id: PartId, kind: Kind, line: &Line, value: &Entry) -> Read {
        let quantity = if kind == Kind::Supply {
            Quantity::SupplyVoltage
        } else {
            Quantity::BiasVoltage
        };
        let volts = self.value(line, value, quantity);
        let ohms = self.source_ohms(id, line);
        let Some(node) = self.node_at(line, "node") else {
            return (None, None);
        };
        let wiring = Wiring::source([node, GROUND], ohms.unwrap_or(f64::INFINITY));
        let part = volts.zip(ohms).map(|(volts, ohms)| match kind {
            Kind::Supply => PartKind::Supply { volts, ohms, node },
            _ => PartKind::BiasSupply { volts, ohms, node },
        });
        (part, Some(wiring))
    }

    fn source_ohms(&mut self, id: PartId, line: &Line) -> Option<f64> {
        match line.get("resistance") {
            Some(entry) => self.value(line, entry, Quantity::SourceResistance),
            None => {
                self.assume(id, line, "resistance", Quantity::SourceResistance, 0.0);
                Some(0.0)
            }
        }
    }

    fn control(&mut self, line: &Line) -> Option<String> {
        match line.get("control") {
            Some(_) => self.control_name(line),
            None => Some(line.designator.to_owned()),
        }
    }

    fn valve(&mut self, kind: Kind, line: &Line, value: &Entry) -> Option<Arc<Valve>> {
        let catalogue = self.catalogue;
        let names = catalogue
            .valves
            .iter()
            .flat_map(|v| std::iter::once(&v.name).chain(&v.also))
            .map(String::as_str);
        let valve = self.named(line, value, names, |name| catalogue.valve(name))?;
        if let Some((message, remedy)) = kind_mismatch(kind, &valve) {
            self.fault(line.designator, value.line, &value.item, message, remedy);
            return None;
        }
        Some(valve)
    }

    /// An entry of the catalogue by name, or a fault that suggests the nearest.
    pub fn named<'a, T>(
        &mut self,
        line: &Line,
        value: &Entry,
        names: impl Iterator<Item = &'a str> + Clone,
        find: impl Fn(&str) -> Option<&'a Arc<T>>,
    ) -> Option<Arc<T>>
    where
        T: 'a,
    {
        let (message, remedy) = match &value.item.raw {
            Raw::Text(name) => match find(name) {
                Some(entry) => return Some(entry.clone()),
                None => unknown_name(&value.key, name, names),
            },
            _ => (
                format!("is not the name of a {}", value.key),
                "write its name in quotes".into(),
            ),
        };
        self.fault(line.designator, value.line, &value.item, message, remedy);
        None
    }

    /// Notes that a value was not stated.
    pub fn assume(
        &mut self,
        id: PartId,
        line: &Line,
        key: &'static str,
        quantity: Quantity,
        value: f64,
    ) {
        self.assume_words(id, line, key, &quantity.in_words(value));
    }

    pub fn assume_words(&mut self, part: PartId, line: &Line, key: &'static str, value: &str) {
        self.supplied.push(assumption(line.designator, key, value));
        self.assumed.push(Assumed { part, key });
    }
}

/// The sentence that names an assumption.
pub(crate) fn assumption(designator: &str, key: &str, value: &str) -> String {
    let name = key.replace('_', " ");
    format!("{designator}: {name} is not stated; {value} is assumed.")
}

/// Message and remedy for a name that the catalogue does not hold.
pub(crate) fn unknown_name<'a>(
    kind: &str,
    name: &str,
    names: impl Iterator<Item = &'a str> + Clone,
) -> (String, String) {
    let remedy = match nearest(name, names.clone()) {
        Some(near) => format!("did you mean {near}?"),
        None => match names.collect::<Vec<_>>()[..] {
            [] => "none is known".into(),
            ref known => format!("known: {}", known.join(", ")),
        },
    };
    (format!("is not a known {}", kind.replace('_', " ")), remedy)
}
