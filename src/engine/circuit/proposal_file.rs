//! Proposal files: changes and settings under a name, as they are written. As-found overrides have
//! the same shape.

use super::MOST_PARTS;
use super::diagnostics::{Diagnostic, in_order, shorten};
use super::text::quoted;
use super::text::{self, Entry, Raw};
use super::values::{check_format, plain_text, unknown_key};
use super::written::{WrittenChange, WrittenSetting};
use std::fmt::Write;

/// What is to be soldered, and how the controls stand meanwhile, as it is written.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct WrittenProposal {
    /// Its name.
    pub name: String,
    /// What it is meant to do.
    pub about: String,
    /// Name of the amp that it is for; empty if for any.
    pub for_amp: String,
    /// Part values.
    pub changes: Vec<WrittenChange>,
    /// Control settings.
    pub settings: Vec<WrittenSetting>,
}

/// Reads a proposal file.
///
/// # Errors
/// Every fault found, in the order of the file. Whether its parts exist shows when it is applied.
pub fn read_proposal(text: &str) -> Result<WrittenProposal, Vec<Diagnostic>> {
    read_proposal_bytes(text.as_bytes())
}

/// Reads a proposal file that may not be text at all.
///
/// # Errors
/// Every fault found, in the order of the file.
pub fn read_proposal_bytes(bytes: &[u8]) -> Result<WrittenProposal, Vec<Diagnostic>> {
    let text = text::decode(bytes).map_err(|fault| vec![fault])?;
    let mut faults = Vec::new();
    let (_, entries) = text::parse(text, &mut faults);
    let mut proposal = WrittenProposal::default();
    check_format(&entries, &mut faults);
    for entry in &entries {
        match entry.key.as_str() {
            "format" => {}
            "proposal" => head(&mut proposal, entry, &mut faults),
            "changes" => {
                for (designator, value, line) in pairs(entry, &mut faults) {
                    let line = Some(line);
                    proposal.changes.push(WrittenChange {
                        designator,
                        value,
                        line,
                    });
                }
            }
            "controls" => {
                for (control, value, line) in pairs(entry, &mut faults) {
                    let line = Some(line);
                    proposal.settings.push(WrittenSetting {
                        control,
                        value,
                        line,
                    });
                }
            }
            _ => faults.push(unknown_key(
                entry,
                &["format", "proposal", "changes", "controls"],
            )),
        }
    }
    if faults.is_empty() {
        Ok(proposal)
    } else {
        Err(in_order(faults))
    }
}

fn head(proposal: &mut WrittenProposal, entry: &Entry, faults: &mut Vec<Diagnostic>) {
    let Some(entries) = table(entry, faults) else {
        return;
    };
    for entry in entries {
        let place = match entry.key.as_str() {
            "name" => &mut proposal.name,
            "about" => &mut proposal.about,
            "for" => &mut proposal.for_amp,
            _ => {
                faults.push(unknown_key(entry, &["name", "about", "for"]));
                continue;
            }
        };
        match plain_text(entry) {
            Ok(text) => *place = text,
            Err(fault) => faults.push(fault),
        }
    }
}

pub(crate) fn table<'e>(entry: &'e Entry, faults: &mut Vec<Diagnostic>) -> Option<&'e [Entry]> {
    if let Raw::Table(entries) = &entry.item.raw {
        return Some(entries);
    }
    let message = format!("{} is not a table", entry.key);
    let remedy = format!("write [{}] on a line of its own", entry.key);
    faults.push(Diagnostic::error(message, remedy).line(entry.line));
    None
}

/// Name, value and line of each entry; numbers and flags are taken as their text.
pub(crate) fn pairs(entry: &Entry, faults: &mut Vec<Diagnostic>) -> Vec<(String, String, usize)> {
    let mut pairs = Vec::new();
    let entries = table(entry, faults).unwrap_or(&[]);
    if entries.len() > MOST_PARTS {
        let message = format!(
            "{} entries are too many: at most {MOST_PARTS}",
            entries.len()
        );
        let remedy = "a circuit has no more parts than that";
        faults.push(Diagnostic::error(message, remedy).line(entry.line));
        return pairs;
    }
    for entry in entries {
        let value = match &entry.item.raw {
            Raw::Text(text) | Raw::Number(text) => text.clone(),
            Raw::Flag(true) => "on".into(),
            Raw::Flag(false) => "off".into(),
            _ => {
                faults.push(
                    Diagnostic::error(
                        format!("{} has no single value", shorten(&entry.key)),
                        "write it like R14 = \"33k\" or Volume = 0.6",
                    )
                    .line(entry.line),
                );
                continue;
            }
        };
        pairs.push((entry.key.clone(), value, entry.line));
    }
    pairs
}

/// The proposal as a file; reading it again gives the same but for lines.
pub fn write_proposal(proposal: &WrittenProposal) -> String {
    let mut text = String::from("format = 1\n\n[proposal]\n");
    for (key, value) in [
        ("name", &proposal.name),
        ("about", &proposal.about),
        ("for", &proposal.for_amp),
    ] {
        if !value.is_empty() {
            let _ = writeln!(text, "{key} = {}", quoted(value));
        }
    }
    if !proposal.changes.is_empty() {
        text.push_str("\n[changes]\n");
        for change in &proposal.changes {
            let _ = writeln!(
                text,
                "{} = {}",
                key(&change.designator),
                quoted(&change.value)
            );
        }
    }
    if !proposal.settings.is_empty() {
        text.push_str("\n[controls]\n");
        for setting in &proposal.settings {
            let _ = writeln!(
                text,
                "{} = {}",
                key(&setting.control),
                quoted(&setting.value)
            );
        }
    }
    text
}

/// A TOML key, quoted only if it must be.
fn key(name: &str) -> String {
    toml_edit::Key::new(name).to_string()
}
