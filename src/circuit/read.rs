//! Circuit-values file to checked circuit, or every fault at once.

use super::diagnostics::{Diagnostic, in_order, nearest, shorten};
use super::kinds::{COMMON, Kind, Wiring};
use super::text::{self, Entry, Item, Raw, Source};
use super::{Circuit, GROUND, NodeId, Output, Part, PartId, Particulars, check};
use crate::device::Catalogue;
use crate::units::Quantity;
use std::collections::HashMap;

/// Most parts in a file.
pub const MOST_PARTS: usize = 512;
/// Most nodes in a file, ground included.
pub const MOST_NODES: usize = 256;
/// The format that this program writes.
pub(super) const FORMAT: &str = "1";

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

/// A value that the loader assumed.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Assumed {
    pub part: PartId,
    pub key: &'static str,
}

/// A part's terminals, known even if its values could not be read.
pub(super) struct Wired {
    pub designator: String,
    pub line: usize,
    pub kind: Kind,
    pub wiring: Wiring,
}

/// State of the reading.
pub(super) struct Reader<'t> {
    pub source: Source<'t>,
    pub catalogue: &'t Catalogue,
    pub faults: Vec<Diagnostic>,
    pub supplied: Vec<String>,
    pub assumed: Vec<Assumed>,
    nodes: Vec<String>,
    node_ids: HashMap<String, NodeId>,
    parts: Vec<Part>,
    wired: Vec<Wired>,
    /// False when a terminal could not be read, so that the wiring is not judged.
    wiring_known: bool,
}

/// The part or table that is being read.
pub(super) struct Line<'e> {
    pub designator: &'e str,
    pub line: usize,
    pub entries: &'e [Entry],
}

impl<'e> Line<'e> {
    pub fn get(&self, key: &str) -> Option<&'e Entry> {
        self.entries.iter().find(|e| e.key == key)
    }
}

impl<'t> Reader<'t> {
    fn new(source: Source<'t>, catalogue: &'t Catalogue) -> Self {
        Reader {
            source,
            catalogue,
            faults: Vec::new(),
            supplied: Vec::new(),
            assumed: Vec::new(),
            nodes: vec!["gnd".into()],
            node_ids: HashMap::from([("gnd".into(), GROUND)]),
            parts: Vec::new(),
            wired: Vec::new(),
            wiring_known: true,
        }
    }

    fn file(&mut self, entries: &[Entry]) -> Option<Circuit> {
        self.unknown_keys(None, entries, &["format", "amp", "parts"]);
        check_format(entries, &mut self.faults);
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
        Some(Circuit {
            name: name?,
            about: about.unwrap_or_default(),
            nodes: std::mem::take(&mut self.nodes),
            parts: std::mem::take(&mut self.parts),
            input: input?,
            output: output?,
            supplied: std::mem::take(&mut self.supplied),
            assumed: std::mem::take(&mut self.assumed),
        })
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

    fn particulars(&mut self, line: &Line) -> Particulars {
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
    fn text(&mut self, line: &Line, key: &str, required: bool) -> Option<String> {
        let Some(entry) = line.get(key) else {
            if required {
                self.faults.push(
                    Diagnostic::error(format!("{key} is missing"), format!("add {key} = \"…\""))
                        .line(line.line),
                );
            }
            return None;
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

    fn flag(&mut self, line: &Line, key: &str) -> Option<bool> {
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

    fn node_name(&mut self, line: &Line, item: &Item) -> Option<String> {
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
        lengths: std::ops::RangeInclusive<usize>,
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

    fn node_list_fault(
        &mut self,
        line: &Line,
        entry: &Entry,
        lengths: &std::ops::RangeInclusive<usize>,
    ) {
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

    fn input(&mut self, amp: &Line) -> Option<NodeId> {
        let entry = self.required(amp, "input")?;
        let name = self.node_name(amp, &entry.item)?;
        let id = self.known_node(amp, entry, &name)?;
        if id == GROUND {
            self.fault(
                "",
                entry.line,
                &entry.item,
                "cannot be the input".into(),
                "name the node of the input socket".into(),
            );
            return None;
        }
        Some(id)
    }

    fn output(&mut self, amp: &Line) -> Option<Output> {
        let entry = self.required(amp, "output")?;
        if let Raw::Text(name) = &entry.item.raw {
            let loudspeaker = self.wired.iter().position(|w| {
                w.kind == Kind::Loudspeaker && w.designator.eq_ignore_ascii_case(name)
            });
            if let Some(index) = loudspeaker {
                let ends = &self.wired[index].wiring.terminals;
                return Some(Output {
                    positive: ends[0],
                    negative: ends[1],
                    loudspeaker: Some(PartId(index as u16)),
                });
            }
            let name = self.node_name(amp, &entry.item)?;
            return Some(Output {
                positive: self.known_node(amp, entry, &name)?,
                negative: GROUND,
                loudspeaker: None,
            });
        }
        if let Raw::List(ends) = &entry.item.raw
            && let [positive, negative] = &ends[..]
        {
            let positive = self.node_name(amp, positive)?;
            let negative = self.node_name(amp, negative)?;
            return Some(Output {
                positive: self.known_node(amp, entry, &positive)?,
                negative: self.known_node(amp, entry, &negative)?,
                loudspeaker: None,
            });
        }
        self.fault(
            "",
            entry.line,
            &entry.item,
            "is not an output".into(),
            "name a loudspeaker, a node, or two nodes in a list".into(),
        );
        None
    }

    fn required<'e>(&mut self, amp: &Line<'e>, key: &str) -> Option<&'e Entry> {
        let entry = amp.get(key);
        if entry.is_none() && amp.line > 0 {
            self.faults.push(
                Diagnostic::error(
                    format!("{key} is missing from [amp]"),
                    format!("add {key} = \"…\""),
                )
                .line(amp.line),
            );
        }
        entry
    }

    fn known_node(&mut self, _amp: &Line, entry: &Entry, name: &str) -> Option<NodeId> {
        let found = self.node_ids.get(name).copied();
        // With terminals missing, the node may well be one of them.
        if found.is_none() && self.wiring_known {
            let speakers = self
                .wired
                .iter()
                .filter(|w| w.kind == Kind::Loudspeaker)
                .map(|w| w.designator.as_str());
            let near = nearest(name, self.nodes.iter().map(String::as_str).chain(speakers));
            let remedy = match near {
                Some(near) => format!("did you mean {near}?"),
                None => format!("name a node that the parts use as {}", entry.key),
            };
            let fault = Diagnostic::error(
                format!("{} {} is on no part", entry.key, shorten(name)),
                remedy,
            );
            self.faults.push(fault.line(entry.line).value(name));
        }
        found
    }
}

/// The names of ground.
pub(super) fn is_ground(name: &str) -> bool {
    ["gnd", "ground", "earth", "0"]
        .iter()
        .any(|g| name.eq_ignore_ascii_case(g))
}

/// A fault of a value, with the key where it is not the part's own value.
pub(super) fn value_fault(
    error: &crate::units::NotationError,
    text: &str,
    key: Option<&str>,
) -> Diagnostic {
    use crate::units::NotationError::OutOfRange;
    let shown = match error {
        OutOfRange { quantity, value } => quantity.in_words(*value),
        _ => format!("\"{}\"", shorten(text)),
    };
    let key = key.map(|k| format!("{k}: ")).unwrap_or_default();
    Diagnostic::error(format!("{key}{shown} {error}"), error.remedy()).value(text)
}

pub(super) fn unknown_key(entry: &Entry, allowed: &[&str]) -> Diagnostic {
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

pub(super) fn check_format(entries: &[Entry], faults: &mut Vec<Diagnostic>) {
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
pub(super) fn plain_text(entry: &Entry) -> Result<String, Diagnostic> {
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
