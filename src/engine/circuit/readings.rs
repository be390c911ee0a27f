//! Measured readings: a small file of volts at nodes and valve pins, and of parts that were measured
//! with the amp off and discharged.

use super::changes::Change;
use super::diagnostics::{Diagnostic, in_order, nearest, shorten};
use super::proposal_file::{pairs, table};
use super::sections::electrodes;
use super::text::{self, Entry, Item, Raw};
use super::values::{check_format, is_ground, plain_text, unknown_key, value_fault};
use super::written::{Resolved, WrittenChange};
use super::{Circuit, GROUND, NodeId, Part};
use crate::device::Catalogue;
use crate::units::{NotationError, Quantity};

/// Input resistance of a digital meter whose file states none, Ω, and how far it may be off, as a
/// share (common practice, no source).
const METER_OHMS: f64 = 10e6;
const METER_TOLERANCE: f64 = 0.01;

/// The meter that was used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Meter {
    /// Input resistance, Ω.
    pub ohms: f64,
    /// How far all its readings may be off, as a share.
    pub tolerance: f64,
}

/// One reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Where, as written: a node or "V3 anode".
    pub point: String,
    /// The node.
    pub node: NodeId,
    /// Volts to ground.
    pub volts: f64,
    /// The last digit that was written, V.
    pub step: f64,
    /// Line in the file.
    pub line: usize,
}

/// A file of readings.
#[derive(Clone, Debug, PartialEq)]
pub struct Readings {
    /// Name of the amp that it is of; empty if not stated.
    pub for_amp: String,
    /// Anything worth noting.
    pub about: String,
    /// The meter.
    pub meter: Meter,
    /// Volts.
    pub volts: Vec<Reading>,
    /// What parts really are.
    pub parts: Vec<Change>,
}

/// Reads a file of readings taken on `circuit`.
///
/// # Errors
/// Every fault found, in the order of the file.
pub fn read_readings(
    bytes: &[u8],
    circuit: &Circuit,
    catalogue: &Catalogue,
) -> Result<Readings, Vec<Diagnostic>> {
    let text = text::decode(bytes).map_err(|fault| vec![fault])?;
    let mut faults = Vec::new();
    let (_, entries) = text::parse(text, &mut faults);
    let mut readings = Readings::none();
    let mut parts = Vec::new();
    check_format(&entries, &mut faults);
    for entry in &entries {
        match entry.key.as_str() {
            "format" => {}
            "measured" => head(&mut readings, entry, &mut faults),
            "readings" => {
                for entry in table(entry, &mut faults).unwrap_or(&[]) {
                    points(&mut readings, circuit, entry, &mut faults);
                }
            }
            "parts" => {
                for (designator, value, line) in pairs(entry, &mut faults) {
                    let line = Some(line);
                    parts.push(WrittenChange {
                        designator,
                        value,
                        line,
                    });
                }
            }
            _ => faults.push(unknown_key(
                entry,
                &["format", "measured", "readings", "parts"],
            )),
        }
    }
    let resolved = Resolved::new(circuit, &parts, &[], catalogue);
    readings.parts = resolved.changes;
    faults.extend(resolved.faults);
    measured_twice(&parts, circuit, &mut faults);
    if faults.is_empty() && readings.volts.is_empty() && parts.is_empty() {
        faults.push(Diagnostic::error(
            "nothing was measured",
            "write volts under [readings], or parts under [parts]",
        ));
    }
    if faults.is_empty() {
        Ok(readings)
    } else {
        Err(in_order(faults))
    }
}

fn head(readings: &mut Readings, entry: &Entry, faults: &mut Vec<Diagnostic>) {
    let Some(entries) = table(entry, faults) else {
        return;
    };
    for entry in entries {
        let read = match entry.key.as_str() {
            "for" => plain_text(entry).map(|text| readings.for_amp = text),
            "about" => plain_text(entry).map(|text| readings.about = text),
            "meter" => value(entry, &entry.item, Quantity::MeterResistance)
                .map(|ohms| readings.meter.ohms = ohms),
            "meter_tolerance" => value(entry, &entry.item, Quantity::Tolerance)
                .map(|share| readings.meter.tolerance = share),
            _ => Err(unknown_key(
                entry,
                &["for", "about", "meter", "meter_tolerance"],
            )),
        };
        faults.extend(read.err());
    }
}

/// A value of a quantity, or its fault with the key before it.
fn value(entry: &Entry, item: &Item, quantity: Quantity) -> Result<f64, Diagnostic> {
    let (Raw::Text(text) | Raw::Number(text)) = &item.raw else {
        return Err(no_value(entry, quantity));
    };
    value_of(&entry.key, text, quantity).map_err(|fault| fault.line(item.line))
}

fn no_value(entry: &Entry, quantity: Quantity) -> Diagnostic {
    let message = format!("{}: not a {}", shorten(&entry.key), quantity.name());
    Diagnostic::error(message, "write one value").line(entry.line)
}

fn value_of(key: &str, text: &str, quantity: Quantity) -> Result<f64, Diagnostic> {
    quantity.parse(text).map_err(|error| {
        let mut fault = value_fault(&error, text, Some(&shorten(key)));
        if let (Quantity::Reading, NotationError::OutOfRange { .. }) = (quantity, &error) {
            fault.remedy = "look at the meter's range and at the decimal point".into();
        }
        fault
    })
}

impl Readings {
    /// No reading yet, by a usual meter.
    pub fn none() -> Readings {
        Readings {
            for_amp: String::new(),
            about: String::new(),
            meter: Meter {
                ohms: METER_OHMS,
                tolerance: METER_TOLERANCE,
            },
            volts: Vec::new(),
            parts: Vec::new(),
        }
    }

    /// Adds a reading as somebody typed it, on a line of a file or of a window.
    ///
    /// # Errors
    /// What is wrong with the point, and with the volts.
    pub fn add(
        &mut self,
        circuit: &Circuit,
        point: &str,
        volts: &str,
        line: usize,
    ) -> Result<(), Vec<Diagnostic>> {
        self.add_as(circuit, point, point, volts, line)
    }

    /// The same, the volts being called `key` where they are faulty.
    fn add_as(
        &mut self,
        circuit: &Circuit,
        point: &str,
        key: &str,
        volts: &str,
        line: usize,
    ) -> Result<(), Vec<Diagnostic>> {
        let found = node_of(circuit, point, line);
        let read = value_of(key, volts, Quantity::Reading).map_err(|fault| fault.line(line));
        let (node, value) = match (found, read) {
            (Ok(node), Ok(value)) => (node, value),
            (found, read) => return Err(found.err().into_iter().chain(read.err()).collect()),
        };
        if let Some(first) = self.volts.iter().find(|r| r.node == node) {
            let message = format!(
                "{} is the same point as {} on line {}",
                shorten(point),
                shorten(&first.point),
                first.line
            );
            let remedy = "keep one of the two readings";
            return Err(vec![Diagnostic::error(message, remedy).line(line)]);
        }
        self.volts.push(Reading {
            step: step(volts),
            point: point.to_owned(),
            node,
            volts: value,
            line,
        });
        Ok(())
    }
}

/// The node of a point, or the fault of a line.
fn node_of(circuit: &Circuit, point: &str, line: usize) -> Result<NodeId, Diagnostic> {
    find(circuit, point).map_err(|(message, remedy)| {
        Diagnostic::error(format!("{} {message}", shorten(point)), remedy)
            .line(line)
            .value(point)
    })
}

/// One point, or the pins of a valve as a table: `V3 = { anode = 298 }`.
fn points(readings: &mut Readings, circuit: &Circuit, entry: &Entry, faults: &mut Vec<Diagnostic>) {
    let mut put = |name: &str, entry: &Entry| {
        let added = match &entry.item.raw {
            Raw::Text(volts) | Raw::Number(volts) => {
                readings.add_as(circuit, name, &entry.key, volts, entry.line)
            }
            _ => {
                let found = node_of(circuit, name, entry.line).err();
                let value = no_value(entry, Quantity::Reading);
                Err(found.into_iter().chain([value]).collect())
            }
        };
        faults.extend(added.err().into_iter().flatten());
    };
    match &entry.item.raw {
        Raw::Table(pins) => {
            for pin in pins {
                put(&format!("{} {}", entry.key, pin.key), pin);
            }
        }
        _ => put(&entry.key, entry),
    }
}

/// The last digit of a number as it was written: 1 of "298", 0.01 of "1.35 V".
fn step(text: &str) -> f64 {
    let places = text.split_once(['.', ',']).map_or(0, |(_, tail)| {
        tail.chars().take_while(char::is_ascii_digit).count()
    });
    let unit = if text.contains("mV") { 1e-3 } else { 1.0 };
    unit * 10f64.powi(-(places.min(12) as i32))
}

/// The node of a point: its name, or a valve's designator with a pin.
fn find(circuit: &Circuit, point: &str) -> Result<NodeId, (String, String)> {
    let ground = (
        "is ground, which reads 0 V".to_string(),
        "leave it out: all readings are to ground".to_string(),
    );
    if is_ground(point) {
        return Err(ground);
    }
    if let Some(node) = circuit.find_node(point) {
        return Ok(node);
    }
    if let Some((designator, pin)) = point.trim().rsplit_once(char::is_whitespace) {
        let designator = designator.trim();
        let sections = circuit.parts_named(designator);
        if let [first, second, ..] = sections[..] {
            let names = [first, second].map(|id| &circuit.part(id).designator);
            return Err((
                format!("could be either half of {}", shorten(designator)),
                format!("write {} {pin} or {} {pin}", names[0], names[1]),
            ));
        }
        if let [id] = sections[..] {
            return match of_pin(circuit.part(id), pin) {
                Some(GROUND) => Err(ground),
                Some(node) => Ok(node),
                None => Err((
                    format!("is not a pin of {}", circuit.part(id).designator),
                    "write anode, screen, grid or cathode after a valve's designator".into(),
                )),
            };
        }
    }
    let mut alike = circuit.nodes().iter().enumerate();
    let same = |(_, name): &(usize, &String)| name.eq_ignore_ascii_case(point.trim());
    if let Some((index, _)) = alike.find(same) {
        return Ok(NodeId(index as u16));
    }
    let names = circuit.nodes().iter().skip(1).map(String::as_str);
    let remedy = match nearest(point, names) {
        Some(near) => format!("did you mean {near}?"),
        None => "name a node of the circuit file, or a valve and a pin: \"V3 anode\"".into(),
    };
    Err(("is not a point of this circuit".into(), remedy))
}

/// The node of a valve's electrode.
fn of_pin(part: &Part, pin: &str) -> Option<NodeId> {
    let valve = electrodes(part)?;
    match pin.to_ascii_lowercase().as_str() {
        "anode" | "plate" => Some(valve.anode),
        "screen" => valve.screen,
        "grid" => Some(valve.grid),
        "cathode" => Some(valve.cathode),
        _ => None,
    }
}

/// Parts that stand there twice under different spellings.
fn measured_twice(parts: &[WrittenChange], circuit: &Circuit, faults: &mut Vec<Diagnostic>) {
    let mut seen: Vec<(Vec<super::PartId>, Option<usize>)> = Vec::new();
    for change in parts {
        let ids = circuit.parts_named(&change.designator);
        let first = seen.iter().find(|(s, _)| ids.iter().any(|i| s.contains(i)));
        if let Some((_, Some(line))) = first {
            let message = format!("was measured on line {line} already");
            faults.push(
                Diagnostic::error(message, "keep one of the two")
                    .part(&change.designator)
                    .line(change.line),
            );
        }
        seen.push((ids, change.line));
    }
}
