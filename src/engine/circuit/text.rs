//! TOML text to a plain tree with line numbers, recovering from faults where possible.

use super::diagnostics::{Diagnostic, shorten};
use std::ops::Range;
use toml::de::{DeTable, DeValue};

/// Largest file, bytes.
pub const MOST_BYTES: usize = 1 << 20;

/// Most brackets, braces, points and equals signs outside comment lines. A file of 512 parts needs
/// half as many. Each may cost a kilobyte when read, so this bounds the memory.
const MOST_SIGNS: usize = 32_768;

/// Longest text whose faults of notation are all told; of a longer one, the first.
const MOST_BYTES_RECOVERED: usize = 256 << 10;

/// A value as written.
#[derive(Debug)]
pub(crate) enum Raw {
    Text(String),
    Number(String),
    Flag(bool),
    List(Vec<Item>),
    Table(Vec<Entry>),
    /// A date or a time, which nothing here wants.
    Date,
}

/// A value with its place.
#[derive(Debug)]
pub(crate) struct Item {
    pub raw: Raw,
    pub line: usize,
    span: Range<usize>,
}

/// A key with its value.
#[derive(Debug)]
pub(crate) struct Entry {
    pub key: String,
    /// Line of the key.
    pub line: usize,
    pub item: Item,
}

/// Text with the table of its lines.
pub(crate) struct Source<'t> {
    text: &'t str,
    /// Offset of the first byte of each line but the first.
    breaks: Vec<usize>,
}

impl<'t> Source<'t> {
    fn new(text: &'t str) -> Self {
        let breaks = text
            .bytes()
            .enumerate()
            .filter_map(|(i, b)| (b == b'\n').then_some(i + 1))
            .collect();
        Source { text, breaks }
    }

    /// Line of a byte, counted from 1.
    fn line(&self, offset: usize) -> usize {
        self.breaks.partition_point(|&b| b <= offset) + 1
    }

    /// The value as it stands in the file, quotes left off.
    pub fn shown(&self, item: &Item) -> &'t str {
        self.slice(item.span.clone())
            .trim_matches(|c| c == '"' || c == '\'')
    }

    /// The key at the start of a line, if it has one.
    fn first_word(&self, line: usize) -> Option<&'t str> {
        let start = match line {
            0 | 1 => 0,
            _ => *self.breaks.get(line - 2)?,
        };
        let end = self.breaks.get(line - 1).copied();
        let (word, _) = self
            .text
            .get(start..end.unwrap_or(self.text.len()))?
            .split_once('=')?;
        let word = word.trim();
        (!word.is_empty() && word.chars().all(char::is_alphanumeric)).then_some(word)
    }

    fn slice(&self, span: Range<usize>) -> &'t str {
        self.text.get(span).unwrap_or("").trim()
    }
}

/// Text of bytes, within the limits of size and encoding.
pub(crate) fn decode(bytes: &[u8]) -> Result<&str, Diagnostic> {
    if bytes.len() > MOST_BYTES {
        return Err(Diagnostic::error(
            format!(
                "the file has {} bytes; at most {MOST_BYTES} (1 MiB) are read",
                bytes.len()
            ),
            "an amplifier fits in a few thousand: check that it is the right file",
        ));
    }
    let text = std::str::from_utf8(bytes).map_err(|e| {
        let breaks = bytes[..e.valid_up_to()].iter().filter(|&&b| b == b'\n');
        Diagnostic::error("the file is not UTF-8 text", "save it as UTF-8").line(breaks.count() + 1)
    })?;
    if signs(text) > MOST_SIGNS {
        return Err(Diagnostic::error(
            format!(
                "the file has more than {MOST_SIGNS} brackets, braces, points and equals signs"
            ),
            "an amplifier needs far fewer: check that it is the right file",
        ));
    }
    Ok(text)
}

/// Signs that may open a table or a list, outside comment lines.
fn signs(text: &str) -> usize {
    text.lines()
        .filter(|line| !line.trim_start().starts_with('#'))
        .flat_map(str::bytes)
        .filter(|b| matches!(b, b'[' | b'{' | b'.' | b'='))
        .count()
}

/// The entries of the file in their order. Faults of the notation itself are added to `faults`;
/// what could be read in spite of them is given.
pub(crate) fn parse<'t>(text: &'t str, faults: &mut Vec<Diagnostic>) -> (Source<'t>, Vec<Entry>) {
    let source = Source::new(text);
    let (table, errors) = match DeTable::parse(text) {
        Ok(table) => (table.into_inner(), Vec::new()),
        Err(first) if text.len() > MOST_BYTES_RECOVERED => (DeTable::new(), vec![first]),
        Err(_) => {
            let (table, errors) = DeTable::parse_recoverable(text);
            (table.into_inner(), errors)
        }
    };
    for error in errors {
        let span = error.span().unwrap_or(text.len()..text.len());
        let line = source.line(span.start);
        let word = source.slice(span);
        let mut fault = if error.message() == "duplicate key" {
            Diagnostic::error(
                format!("{} is stated twice", shorten(word)),
                "give one of the two another name, or delete it",
            )
        } else {
            Diagnostic::error(
                format!("not valid TOML: {}", error.message()),
                "check quotes, commas, brackets and braces on this line",
            )
        };
        // What the line begins with is the part's designator, most likely.
        if let Some(part) = source.first_word(line) {
            fault = fault.part(part);
        }
        faults.push(fault.line(line).value(word));
    }
    let entries = entries(&source, table);
    (source, entries)
}

// The parser refuses more than 80 levels, so the recursion ends well before the stack does.
fn entries(source: &Source, table: DeTable) -> Vec<Entry> {
    let mut placed: Vec<(usize, Entry)> = table
        .into_iter()
        .map(|(key, value)| {
            let start = key.span().start;
            let entry = Entry {
                line: source.line(start),
                key: key.into_inner().into_owned(),
                item: item(source, value),
            };
            (start, entry)
        })
        .collect();
    placed.sort_by_key(|(start, _)| *start);
    placed.into_iter().map(|(_, entry)| entry).collect()
}

fn item(source: &Source, value: toml::Spanned<DeValue>) -> Item {
    let span = value.span();
    let raw = match value.into_inner() {
        DeValue::String(s) => Raw::Text(s.into_owned()),
        DeValue::Integer(_) | DeValue::Float(_) => {
            Raw::Number(source.slice(span.clone()).replace('_', ""))
        }
        DeValue::Boolean(b) => Raw::Flag(b),
        DeValue::Datetime(_) => Raw::Date,
        DeValue::Array(list) => Raw::List(list.into_iter().map(|v| item(source, v)).collect()),
        DeValue::Table(table) => Raw::Table(entries(source, table)),
    };
    Item {
        raw,
        line: source.line(span.start),
        span,
    }
}

/// A TOML string.
pub(crate) fn quoted(text: &str) -> String {
    toml_edit::Value::from(text).to_string()
}
