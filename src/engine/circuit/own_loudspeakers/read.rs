//! The tables `[[loudspeaker]]` of a circuit file to loudspeakers, or a diagnostic for every fault in
//! them.

use super::own::{LOSSES, NO_LOSSES_OHMS, OwnLoudspeaker};
use super::{KnownLoudspeakers, MOST_OWN_LOUDSPEAKERS};
use crate::circuit::diagnostics::{Diagnostic, nearest, shorten};
use crate::circuit::reader::{Line, Reader};
use crate::circuit::text::{Entry, Item, Raw};
use crate::circuit::values::{plain_text, unknown_key};
use crate::device::acoustics::{
    Resonance, Section, ValueFault, count_fault, range_fault, range_of,
};
use crate::device::loudspeaker::{RANGES, SENSITIVITY, coil_fault};
use crate::device::{Acoustic, Loudspeaker};
use std::sync::Arc;

/// Longest name, characters, as of a control.
const LONGEST_NAME: usize = 32;
/// Twice this is heard of a loudspeaker whose acoustic side is not stated: a guitar loudspeaker
/// falls steeply from about 5 kHz on (common practice, no source).
const USUAL_ROLL_OFF: Resonance = Resonance { hz: 5000.0, q: 0.7 };
/// What a section of the acoustic side looks like.
const EXAMPLE: &str = "write it like { peak = { hz = 2300, q = 2.5, db = 3 } }";

impl Reader<'_> {
    /// The tables `[[loudspeaker]]`.
    pub fn own_loudspeakers(&mut self, entries: &[Entry]) {
        let Some(entry) = entries.iter().find(|e| e.key == "loudspeaker") else {
            return;
        };
        let Raw::List(tables) = &entry.item.raw else {
            self.faults.push(
                Diagnostic::error(
                    "loudspeaker is not a list of tables",
                    "write [[loudspeaker]], with two brackets on each side, on a line of its own",
                )
                .line(entry.line),
            );
            return;
        };
        if let Some(item) = tables.get(MOST_OWN_LOUDSPEAKERS) {
            let message = format!(
                "{} loudspeakers are too many: a file may bring {MOST_OWN_LOUDSPEAKERS}",
                tables.len()
            );
            let remedy = "leave out those that you do not compare";
            self.faults
                .push(Diagnostic::error(message, remedy).line(item.line));
        }
        for item in tables.iter().take(MOST_OWN_LOUDSPEAKERS) {
            self.own_loudspeaker(item);
        }
    }

    fn own_loudspeaker(&mut self, item: &Item) {
        let told = self.faults.len();
        let Raw::Table(entries) = &item.raw else {
            let message = "is not a loudspeaker".into();
            let remedy = "write [[loudspeaker]] with its keys below".into();
            self.fault("loudspeaker", item.line, item, message, remedy);
            return;
        };
        let named = entries.iter().find_map(|e| match &e.item.raw {
            Raw::Text(text) if e.key == "name" => Some(text.clone()),
            _ => None,
        });
        let line = Line {
            designator: named.as_deref().unwrap_or("loudspeaker"),
            line: item.line,
            entries,
        };
        let keys = RANGES.iter().map(|(key, ..)| *key);
        let allowed: Vec<&str> = ["name", "about"]
            .into_iter()
            .chain(keys)
            .chain([SENSITIVITY.0, "acoustic"])
            .collect();
        self.unknown_keys(Some(&line), entries, &allowed);
        self.own_name(&line);
        let about = self.text(&line, "about", false).unwrap_or_default();

        let lossless = LOSSES.iter().all(|key| line.get(key).is_none());
        let values = RANGES.map(|(key, range, unit)| {
            if lossless && LOSSES.contains(&key) {
                return Some(if key == LOSSES[0] {
                    0.0
                } else {
                    NO_LOSSES_OHMS
                });
            }
            self.number(&line, "", &line, key, range, unit)
        });
        if let [Some(rated_ohms), Some(coil_ohms), ..] = values
            && let Some(fault) = coil_fault(coil_ohms, rated_ohms)
            && let Some(entry) = line.get("coil_ohms")
        {
            self.told(&line, "coil_ohms", entry.line, &entry.item, fault);
        }
        let (key, range, unit) = SENSITIVITY;
        let sensitivity_db = line
            .get(key)
            .and_then(|_| self.number(&line, "", &line, key, range, unit));
        let mut assumed = Vec::new();
        if lossless {
            assumed.extend(LOSSES);
        }
        let sections = match line.get("acoustic") {
            Some(entry) => self.sections(&line, entry),
            None => {
                assumed.push("acoustic");
                vec![Section::RollOff(USUAL_ROLL_OFF); 2]
            }
        };

        let whole = self.faults.len() == told;
        let driver = || {
            let [
                rated_ohms,
                coil_ohms,
                coil_henries,
                lossy_henries,
                lossy_ohms,
                resonance_hz,
                mechanical_q,
                electrical_q,
                rated_watts,
            ] = values;
            Some(Loudspeaker {
                name: named.clone()?,
                about,
                rated_ohms: rated_ohms?,
                coil_ohms: coil_ohms?,
                coil_henries: coil_henries?,
                lossy_henries: lossy_henries?,
                lossy_ohms: lossy_ohms?,
                resonance_hz: resonance_hz?,
                mechanical_q: mechanical_q?,
                electrical_q: electrical_q?,
                rated_watts: rated_watts?,
                sensitivity_db,
                acoustic: Acoustic::from(sections),
            })
        };
        match driver().filter(|_| whole) {
            Some(driver) => self.own.push(OwnLoudspeaker {
                driver: driver.with_own_resonance().into(),
                assumed,
            }),
            None => self.spoilt.extend(named),
        }
    }

    /// Whether a loudspeaker's name can be told from all others and from what else stands where it
    /// is chosen.
    fn own_name(&mut self, line: &Line) {
        let Some(entry) = line.get("name") else {
            let fault = Diagnostic::error(
                "name is missing from this loudspeaker",
                "add name = \"…\", the name that parts and changes use",
            );
            self.faults
                .push(fault.part(line.designator).line(line.line));
            return;
        };
        let name = match plain_text(entry) {
            Ok(name) => name,
            Err(fault) => {
                self.faults.push(fault.part(line.designator));
                return;
            }
        };
        let same = |other: &str| other.eq_ignore_ascii_case(&name);
        let length = name.chars().count();
        let (message, remedy) = if !(1..=LONGEST_NAME).contains(&length) {
            (
                format!("the name has {length} characters; 1 to {LONGEST_NAME} are allowed"),
                "give it another name",
            )
        } else if name.trim() != name || name.contains('=') {
            (
                "the name begins or ends with a space, or has = in it".to_owned(),
                "leave that out",
            )
        } else if same("in") || same("out") {
            (
                format!("{name} means that a loudspeaker is connected or not"),
                "give it another name",
            )
        } else if self.catalogue.loudspeaker(&name).is_some() {
            (
                "is the name of a loudspeaker that comes with the program".to_owned(),
                "give yours another name",
            )
        } else if self.own.iter().any(|own| same(&own.driver.name))
            || self.spoilt.iter().any(|other| same(other))
        {
            (
                "is the name of an earlier loudspeaker of this file".to_owned(),
                "give one of the two another name",
            )
        } else {
            return;
        };
        self.faults.push(
            Diagnostic::error(message, remedy)
                .part(line.designator)
                .line(entry.line)
                .value(&name),
        );
    }

    /// A plain number within its range. `place` stands before the key in what is told.
    fn number(
        &mut self,
        own: &Line,
        place: &str,
        line: &Line,
        key: &str,
        range: [f64; 2],
        unit: &str,
    ) -> Option<f64> {
        let [least, greatest] = range;
        let Some(entry) = line.get(key) else {
            let place = if place.is_empty() {
                "this loudspeaker"
            } else {
                place.trim_end_matches(": ")
            };
            let fault = Diagnostic::error(
                format!("{key} is missing from {place}"),
                format!("add {key} = …, from {least} to {greatest}{unit}"),
            );
            self.faults.push(fault.part(own.designator).line(line.line));
            return None;
        };
        let value = match &entry.item.raw {
            Raw::Number(text) => text.parse::<f64>().ok(),
            _ => None,
        };
        let fault = match value {
            Some(value) => range_fault(value, range, unit),
            None => Some(ValueFault {
                message: format!("is {}, which is no plain number", self.shown(&entry.item)),
                remedy: format!(
                    "write a number from {least} to {greatest}{unit}, without quotes or unit"
                ),
            }),
        };
        match fault {
            None => value,
            Some(fault) => {
                self.told(
                    own,
                    &format!("{place}{key}"),
                    entry.line,
                    &entry.item,
                    fault,
                );
                None
            }
        }
    }

    fn shown(&self, item: &Item) -> String {
        shorten(self.source.shown(item))
    }

    fn told(&mut self, own: &Line, what: &str, line: usize, item: &Item, fault: ValueFault) {
        let shown = self.shown(item);
        self.faults.push(
            Diagnostic::error(format!("{what} {}", fault.message), fault.remedy)
                .part(own.designator)
                .line(line)
                .value(&shown),
        );
    }

    fn sections(&mut self, own: &Line, entry: &Entry) -> Vec<Section> {
        let Raw::List(items) = &entry.item.raw else {
            let fault = ValueFault {
                message: "is not a list of sections".into(),
                remedy: "write acoustic = [ … ] with a section a line, or leave it out".into(),
            };
            self.told(own, "acoustic", entry.line, &entry.item, fault);
            return Vec::new();
        };
        if let Some(fault) = count_fault(items.len()) {
            self.told(own, "acoustic", entry.line, &entry.item, fault);
        }
        let numbered = items.iter().enumerate();
        numbered
            .filter_map(|(index, item)| self.section(own, index + 1, item))
            .collect()
    }

    fn section(&mut self, own: &Line, number: usize, item: &Item) -> Option<Section> {
        let (word, keys) = match &item.raw {
            Raw::Table(entries) => match &entries[..] {
                [entry] => (entry.key.as_str(), &entry.item.raw),
                _ => ("", &item.raw),
            },
            _ => ("", &item.raw),
        };
        let known = Section::WORDS.iter().find(|(known, _)| *known == word);
        let (Some((_, allowed)), Raw::Table(entries)) = (known, keys) else {
            let words = Section::WORDS.map(|(word, _)| word);
            let remedy = match (known, nearest(word, words)) {
                (None, Some(near)) => format!("did you mean {near}?"),
                (None, None) => format!("{EXAMPLE}; known: {}", words.join(", ")),
                _ => EXAMPLE.into(),
            };
            let message = match word {
                "" => "is not a section".into(),
                _ if known.is_some() => format!("({word}) has no keys"),
                _ => format!("({}) is not a known section", shorten(word)),
            };
            let fault = ValueFault { message, remedy };
            self.told(own, &format!("acoustic {number}"), item.line, item, fault);
            return None;
        };
        let place = format!("acoustic {number} ({word}): ");
        for entry in entries
            .iter()
            .filter(|e| !allowed.contains(&e.key.as_str()))
        {
            let mut fault = unknown_key(entry, allowed).part(own.designator);
            fault.message.insert_str(0, &place);
            self.faults.push(fault);
        }
        let line = Line {
            designator: own.designator,
            line: item.line,
            entries,
        };
        let values: Vec<(&str, Option<f64>)> = allowed
            .iter()
            .map(|&key| {
                let (range, unit) = range_of(key);
                (key, self.number(own, &place, &line, key, range, unit))
            })
            .collect();
        Section::of(word, |key| values.iter().find(|(k, _)| *k == key)?.1)
    }

    /// The loudspeaker that a part names. One whose table has faults is not told to be unknown too.
    pub fn driver(&mut self, line: &Line, value: &Entry) -> Option<Arc<Loudspeaker>> {
        if let Raw::Text(name) = &value.item.raw
            && self.spoilt.iter().any(|s| s.eq_ignore_ascii_case(name))
        {
            return None;
        }
        let own = self.own.clone();
        let known = KnownLoudspeakers::new(self.catalogue, &own);
        self.named(line, value, known.names(), |name| known.find(name))
    }
}
