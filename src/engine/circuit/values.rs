//! Reading of single values: quantities, texts, flags, words, node names, ratings.

use super::diagnostics::{Diagnostic, nearest, shorten};
use super::reader::{FORMAT, Line, MOST_NODES, Reader};
use super::text::{Entry, Item, Raw};
use super::{Kind, NodeId, Particulars};
use crate::units::{NotationError, Quantity};
use std::ops::RangeInclusive;

impl Reader<'_> {
    /// A value in range, or a fault.
    pub fn value(&mut self, line: &Line, entry: &Entry, quantity: Quantity) -> Option<f64> {
        self.item(line, &entry.key, &entry.item, quantity)
    }

    pub fn item(&mut self, line: &Line, key: &str, item: &Item, quantity: Quantity) -> Option<f64> {
        let (Raw::Text(text) | Raw::Number(text)) = &item.raw else {
            self.fault(
                line.designator,
                item.line,
                item,
                format!("is not a {}", quantity.name()),
                format!("write a value such as {key} = \"…\""),
            );
            return None;
        };
        match quantity.parse(text) {
            Ok(value) => Some(value),
            Err(error) => {
                let fault =
                    value_fault(&error, text, Kind::from_word(key).is_none().then_some(key));
                self.faults
                    .push(fault.part(line.designator).line(item.line));
                None
            }
        }
    }

    /// A fault about a value as written.
    pub fn fault(
        &mut self,
        designator: &str,
        line: usize,
        item: &Item,
        message: String,
        remedy: String,
    ) {
        let shown = shorten(self.source.shown(item));
        let mut fault = Diagnostic::error(format!("{shown} {message}"), remedy)
            .line(line)
            .value(&shown);
        if !designator.is_empty() {
            fault = fault.part(designator);
        }
        self.faults.push(fault);
    }

    /// Text without control characters; line breaks are for `about`.
    pub fn text(&mut self, line: &Line, key: &str, required: bool) -> Option<String> {
        let entry = if required {
            self.required(line, key)?
        } else {
            line.get(key)?
        };
        match plain_text(entry) {
            Ok(text) => Some(text),
            Err(fault) => {
                let fault = if line.designator.is_empty() {
                    fault
                } else {
                    fault.part(line.designator)
                };
                self.faults.push(fault);
                None
            }
        }
    }

    pub fn control_name(&mut self, line: &Line) -> Option<String> {
        let name = self.text(line, "control", false)?;
        if name.is_empty() || name.chars().count() > 32 || name.contains(['=', '\n']) {
            let entry = line.get("control")?;
            self.fault(
                line.designator,
                entry.line,
                &entry.item,
                "is not a control name".into(),
                "use 1 to 32 characters without =".into(),
            );
            return None;
        }
        Some(name)
    }

    pub fn flag(&mut self, line: &Line, key: &str) -> Option<bool> {
        let entry = line.get(key)?;
        if let Raw::Flag(flag) = entry.item.raw {
            return Some(flag);
        }
        self.fault(
            line.designator,
            entry.line,
            &entry.item,
            format!("is not a value of {key}"),
            format!("write {key} = true or {key} = false"),
        );
        None
    }

    /// One of a few words.
    pub fn word<T>(&mut self, line: &Line, entry: &Entry, words: &[(&str, T)]) -> Option<T>
    where
        T: Copy,
    {
        if let Raw::Text(text) = &entry.item.raw
            && let Some((_, value)) = words.iter().find(|(w, _)| text.eq_ignore_ascii_case(w))
        {
            return Some(*value);
        }
        let words: Vec<&str> = words.iter().map(|w| w.0).collect();
        self.fault(
            line.designator,
            entry.line,
            &entry.item,
            format!("is not a value of {}", entry.key),
            format!("write {}", words.join(" or ")),
        );
        None
    }

    pub fn node_at(&mut self, line: &Line, key: &str) -> Option<NodeId> {
        let entry = line.get(key)?;
        self.node(line, &entry.item)
    }

    /// Node of a name, made if new.
    pub fn node(&mut self, line: &Line, item: &Item) -> Option<NodeId> {
        let name = self.node_name(line, item)?;
        if let Some(&id) = self.node_ids.get(&name) {
            return Some(id);
        }
        if self.nodes.len() == MOST_NODES {
            if self.wiring_known {
                self.faults.push(
                    Diagnostic::error(
                        format!("too many nodes: at most {MOST_NODES}"),
                        "leave out what does not touch the sound",
                    )
                    .line(item.line),
                );
            }
            self.wiring_known = false;
            return None;
        }
        let id = NodeId(self.nodes.len() as u16);
        self.nodes.push(name.clone());
        self.node_ids.insert(name, id);
        Some(id)
    }

    pub fn node_name(&mut self, line: &Line, item: &Item) -> Option<String> {
        if let Raw::Text(name) = &item.raw {
            if is_ground(name) {
                return Some("gnd".into());
            }
            let good = (1..=24).contains(&name.len())
                && name
                    .chars()
                    .all(|c| c.is_ascii_alphanumeric() || "_+-.".contains(c));
            if good {
                return Some(name.clone());
            }
        }
        self.fault(
            line.designator,
            item.line,
            item,
            "is not a node name".into(),
            "use letters, digits, _ + - . (24 at most) in quotes; ground is \"gnd\"".into(),
        );
        None
    }

    /// A list of nodes of a length in `lengths`.
    pub fn nodes(
        &mut self,
        line: &Line,
        key: &str,
        lengths: RangeInclusive<usize>,
    ) -> Option<Vec<NodeId>> {
        let entry = line.get(key)?;
        let Raw::List(list) = &entry.item.raw else {
            self.node_list_fault(line, entry, &lengths);
            return None;
        };
        if !lengths.contains(&list.len()) {
            self.node_list_fault(line, entry, &lengths);
            return None;
        }
        let nodes: Vec<Option<NodeId>> = list.iter().map(|item| self.node(line, item)).collect();
        nodes.into_iter().collect()
    }

    pub fn node_list_fault(&mut self, line: &Line, entry: &Entry, lengths: &RangeInclusive<usize>) {
        let many = if lengths.start() == lengths.end() {
            "two nodes".to_owned()
        } else {
            format!("a list of {} to {} nodes", lengths.start(), lengths.end())
        };
        self.fault(
            line.designator,
            entry.line,
            &entry.item,
            format!("is not a value of {}: it takes {many}", entry.key),
            format!("write {} = [\"…\", \"…\"]", entry.key),
        );
    }

    pub fn particulars(&mut self, line: &Line) -> Particulars {
        let mut particulars = Particulars {
            stage: self.text(line, "stage", false).unwrap_or_default(),
            role: self.text(line, "role", false).unwrap_or_default(),
            near: self.text(line, "near", false),
            ..Particulars::default()
        };
        if let Some(entry) = line.get("tolerance") {
            particulars.tolerance = self.value(line, entry, Quantity::Tolerance);
        }
        let ratings: &[Item] = match line.get("rated") {
            Some(entry) => match &entry.item.raw {
                Raw::List(list) => list,
                _ => std::slice::from_ref(&entry.item),
            },
            None => &[],
        };
        for item in ratings {
            let text = match &item.raw {
                Raw::Text(text) => text.trim_end().to_ascii_lowercase(),
                _ => String::new(),
            };
            if text.ends_with('w') || text.ends_with("watt") || text.ends_with("watts") {
                particulars.rated_watts = self.item(line, "rated", item, Quantity::RatedPower);
            } else if text.contains('v') {
                particulars.rated_volts = self.item(line, "rated", item, Quantity::RatedVoltage);
            } else {
                self.fault(
                    line.designator,
                    item.line,
                    item,
                    "is not a rating".into(),
                    "write rated = \"0.5 W\", \"400 V\" or a list of both".into(),
                );
            }
        }
        particulars
    }
}

/// The names of ground.
pub(crate) fn is_ground(name: &str) -> bool {
    ["gnd", "ground", "earth", "0"]
        .iter()
        .any(|g| name.eq_ignore_ascii_case(g))
}

/// A fault of a value, with the key where it is not the part's own value.
pub(crate) fn value_fault(error: &NotationError, text: &str, key: Option<&str>) -> Diagnostic {
    let shown = match error {
        NotationError::OutOfRange { quantity, value } => quantity.in_words(*value),
        _ => format!("\"{}\"", shorten(text)),
    };
    let key = key.map(|k| format!("{k}: ")).unwrap_or_default();
    Diagnostic::error(format!("{key}{shown} {error}"), error.remedy()).value(text)
}

pub(crate) fn unknown_key(entry: &Entry, allowed: &[&str]) -> Diagnostic {
    let remedy = match nearest(&entry.key, allowed.iter().copied()) {
        Some(word) => format!("did you mean {word}?"),
        None => format!("known here: {}", allowed.join(", ")),
    };
    Diagnostic::error(
        format!("{} is not a known key", shorten(&entry.key)),
        remedy,
    )
    .line(entry.line)
    .value(&entry.key)
}

pub(crate) fn check_format(entries: &[Entry], faults: &mut Vec<Diagnostic>) {
    match entries.iter().find(|e| e.key == "format") {
        Some(Entry {
            item: Item {
                raw: Raw::Number(number),
                ..
            },
            ..
        }) if number == FORMAT => {}
        Some(entry) => faults.push(
            Diagnostic::error(
                "this format is not known",
                format!("write format = {FORMAT}, or use a newer program"),
            )
            .line(entry.line),
        ),
        None => faults.push(Diagnostic::error(
            "format is missing",
            format!("add format = {FORMAT} as the first line"),
        )),
    }
}

/// Text without control characters, of a reasonable length.
pub(crate) fn plain_text(entry: &Entry) -> Result<String, Diagnostic> {
    let long = entry.key == "about";
    let most = if long { 4000 } else { 120 };
    match &entry.item.raw {
        Raw::Text(text)
            if text.chars().count() <= most
                && !text.chars().any(|c| c.is_control() && !(long && c == '\n')) =>
        {
            Ok(text.clone())
        }
        _ => Err(Diagnostic::error(
            format!("{} is not a text of at most {most} characters", entry.key),
            "write it in quotes, without control characters",
        )
        .line(entry.line)),
    }
}
