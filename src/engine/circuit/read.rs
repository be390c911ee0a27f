//! Circuit-values file to checked circuit, or every fault at once.

use super::diagnostics::{Diagnostic, in_order, nearest, shorten};
use super::kinds::{COMMON, Kind};
use super::own_loudspeakers::OwnLoudspeaker;
use super::reader::{Line, MOST_PARTS, Reader};
use super::text::{self, Entry, Item, Raw};
use super::values::{check_format, unknown_key};
use super::wiring::Wired;
use super::{Circuit, Part, PartId, check};
use crate::device::Catalogue;
use std::collections::HashMap;

/// Reads a circuit-values file.
///
/// # Errors
/// Every fault found, in the order of the file.
pub fn read(text: &str, catalogue: &Catalogue) -> Result<Circuit, Vec<Diagnostic>> {
    read_bytes(text.as_bytes(), catalogue)
}

/// Reads a circuit-values file that may not be text at all.
///
/// # Errors
/// Every fault found, in the order of the file.
pub fn read_bytes(bytes: &[u8], catalogue: &Catalogue) -> Result<Circuit, Vec<Diagnostic>> {
    let text = text::decode(bytes).map_err(|fault| vec![fault])?;
    let mut notation_faults = Vec::new();
    let (source, entries) = text::parse(text, &mut notation_faults);
    let mut reader = Reader::new(source, catalogue);
    // A slip in the notation may have swallowed a part, so the wiring is not judged then.
    reader.wiring_known = notation_faults.is_empty();
    let circuit = reader.file(&entries);
    let mut faults = reader.faults;
    // What follows from a slip in the notation is not told again on the same line.
    faults.retain(|f| notation_faults.iter().all(|n| n.line != f.line));
    faults.extend(notation_faults);
    match circuit {
        Some(circuit) if faults.is_empty() => Ok(circuit),
        _ => Err(in_order(faults)),
    }
}

impl Reader<'_> {
    fn file(&mut self, entries: &[Entry]) -> Option<Circuit> {
        self.unknown_keys(None, entries, &["format", "amp", "parts", "loudspeaker"]);
        check_format(entries, &mut self.faults);
        // Before the parts, which name them.
        self.own_loudspeakers(entries);
        let parts = self.table(entries, "parts");
        for entry in parts.iter().take(MOST_PARTS) {
            self.part(entry);
        }
        if let Some(entry) = parts.get(MOST_PARTS) {
            self.wiring_known = false;
            self.faults.push(
                Diagnostic::error(
                    format!("{} parts are too many: at most {MOST_PARTS}", parts.len()),
                    "leave out what does not touch the sound",
                )
                .line(entry.line),
            );
        }
        self.unique_in_any_case();

        let amp = self.table(entries, "amp");
        self.unknown_keys(None, amp, &["name", "about", "input", "output"]);
        let amp = Line {
            designator: "",
            line: entries
                .iter()
                .find(|e| e.key == "amp")
                .map_or(0, |e| e.line),
            entries: amp,
        };
        let name = self.text(&amp, "name", true);
        let about = self.text(&amp, "about", false);
        let input = self.input(&amp);
        let output = self.output(&amp);

        if self.wiring_known
            && let (Some(input), Some(output)) = (input, output)
        {
            let faults = check::wiring(&self.wired, &self.nodes, input, output);
            self.faults.extend(faults);
        }
        self.faults.extend(check::agreement(&self.parts));
        if !self.faults.is_empty() {
            return None;
        }
        self.supply_cores();
        let own = self.own.iter().flat_map(OwnLoudspeaker::supplied);
        self.supplied.extend(own);
        let mut circuit = Circuit {
            name: name?,
            about: about.unwrap_or_default(),
            nodes: std::mem::take(&mut self.nodes),
            parts: std::mem::take(&mut self.parts),
            input: input?,
            output: output?,
            supplied: std::mem::take(&mut self.supplied),
            assumed: std::mem::take(&mut self.assumed),
            own_loudspeakers: std::mem::take(&mut self.own),
            guitar: None,
        };
        circuit.name_parts();
        Some(circuit)
    }

    fn table<'e>(&mut self, entries: &'e [Entry], key: &'static str) -> &'e [Entry] {
        match entries.iter().find(|e| e.key == key) {
            Some(Entry {
                item:
                    Item {
                        raw: Raw::Table(inner),
                        ..
                    },
                ..
            }) => inner,
            Some(entry) => {
                self.faults.push(
                    Diagnostic::error(
                        format!("{key} is not a table"),
                        format!("write [{key}] on a line of its own"),
                    )
                    .line(entry.line),
                );
                &[]
            }
            None => {
                self.faults.push(Diagnostic::error(
                    format!("the file has no [{key}]"),
                    format!("add a line [{key}] with its entries below"),
                ));
                &[]
            }
        }
    }

    fn part(&mut self, entry: &Entry) {
        self.designator(entry);
        let Raw::Table(entries) = &entry.item.raw else {
            self.wiring_known = false;
            self.fault(
                &entry.key,
                entry.line,
                &entry.item,
                "is not a part".into(),
                format!(
                    "write {} = {{ resistor = \"4k7\", between = [\"…\", \"…\"] }}",
                    shorten(&entry.key)
                ),
            );
            return;
        };
        let line = Line {
            designator: &entry.key,
            line: entry.line,
            entries,
        };
        let Some((kind, value)) = self.kind(&line) else {
            self.wiring_known = false;
            return;
        };
        let allowed: Vec<&str> = [kind.word()]
            .iter()
            .chain(kind.required())
            .chain(kind.optional())
            .chain(&COMMON)
            .copied()
            .collect();
        self.unknown_keys(Some(&line), entries, &allowed);
        for key in kind.required() {
            if line.get(key).is_none() {
                self.wiring_known = false;
                self.faults.push(
                    Diagnostic::error(
                        format!("{key} is missing from this {}", kind.in_words()),
                        format!("add {key} = …"),
                    )
                    .part(line.designator)
                    .line(line.line),
                );
            }
        }
        let id = PartId(self.parts.len() as u16);
        let (part_kind, wiring) = self.part_kind(id, kind, &line, value);
        let particulars = self.particulars(&line);
        let fitted = self.flag(&line, "fitted").unwrap_or(true);
        match wiring {
            Some(wiring) => self.wired.push(Wired {
                designator: entry.key.clone(),
                line: entry.line,
                kind,
                wiring,
            }),
            None => self.wiring_known = false,
        }
        if let Some(kind) = part_kind {
            self.parts.push(Part {
                designator: entry.key.clone(),
                line: entry.line,
                kind,
                fitted,
                particulars,
            });
        }
    }

    /// The first key names the kind; a kind's word found further on is taken with a fault.
    fn kind<'e>(&mut self, line: &Line<'e>) -> Option<(Kind, &'e Entry)> {
        if let Some(first) = line.entries.first()
            && let Some(kind) = Kind::from_word(&first.key)
        {
            return Some((kind, first));
        }
        let later = line
            .entries
            .iter()
            .find_map(|e| Kind::from_word(&e.key).map(|k| (k, e)));
        let words = Kind::ALL.map(Kind::word);
        let (message, remedy) = match (line.entries.first(), later) {
            (_, Some((kind, _))) => (
                format!("{} is not the first key", kind.word()),
                "name the kind first".to_owned(),
            ),
            (Some(first), None) => (
                format!("{} is not a kind of part", shorten(&first.key)),
                match nearest(&first.key, words) {
                    Some(word) => format!("did you mean {word}?"),
                    None => format!("name the kind first: {}", words.join(", ")),
                },
            ),
            (None, None) => (
                "has no kind".to_owned(),
                format!("name the kind first: {}", words.join(", ")),
            ),
        };
        self.faults.push(
            Diagnostic::error(message, remedy)
                .part(line.designator)
                .line(line.line),
        );
        later
    }

    fn designator(&mut self, entry: &Entry) {
        let name = &entry.key;
        let good = name.len() <= 12
            && name.starts_with(|c: char| c.is_ascii_alphabetic())
            && name.chars().all(|c| c.is_ascii_alphanumeric() || c == '_');
        if !good {
            self.faults.push(
                Diagnostic::error(
                    "is not a designator",
                    "use a letter, then letters and digits, 12 at most, such as R14, V1a or HT",
                )
                .part(name)
                .line(entry.line),
            );
        }
    }

    fn unique_in_any_case(&mut self) {
        let mut seen: HashMap<String, &Wired> = HashMap::new();
        for wired in &self.wired {
            let small = wired.designator.to_ascii_lowercase();
            if let Some(first) = seen.get(&small) {
                self.faults.push(
                    Diagnostic::error(
                        format!(
                            "differs from {} on line {} in capitals only",
                            shorten(&first.designator),
                            first.line
                        ),
                        "give one of the two another designator",
                    )
                    .part(&wired.designator)
                    .line(wired.line),
                );
            } else {
                seen.insert(small, wired);
            }
        }
    }

    pub fn unknown_keys(&mut self, line: Option<&Line>, entries: &[Entry], allowed: &[&str]) {
        for entry in entries {
            if !allowed.contains(&entry.key.as_str()) {
                let mut fault = unknown_key(entry, allowed);
                if let Some(line) = line {
                    fault = fault.part(line.designator);
                }
                self.faults.push(fault);
            }
        }
    }
}
