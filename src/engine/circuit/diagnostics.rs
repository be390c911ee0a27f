//! Diagnostics: what is wrong with a file or a change, where, and what to do about it.

use serde::Serialize;
use std::fmt;
use strsim::osa_distance;

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// The circuit cannot be used.
    Error,
    /// The circuit can be used; look at this.
    Warning,
}

/// One fault or warning.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Diagnostic {
    /// How bad it is.
    pub severity: Severity,
    /// Designator of the part, if it is about one.
    pub part: Option<String>,
    /// Line in the file, counted from 1; none for a change that came from elsewhere.
    pub line: Option<usize>,
    /// The value as written, shortened.
    pub value: Option<String>,
    /// What is wrong, with the allowed range where there is one.
    pub message: String,
    /// What to do.
    pub remedy: String,
}

impl Diagnostic {
    /// An error about no part and no line yet.
    pub fn error(message: impl Into<String>, remedy: impl Into<String>) -> Self {
        Diagnostic {
            severity: Severity::Error,
            part: None,
            line: None,
            value: None,
            message: harmless(message.into()),
            remedy: harmless(remedy.into()),
        }
    }

    /// The same as a warning.
    pub(crate) fn warning(message: impl Into<String>, remedy: impl Into<String>) -> Self {
        Diagnostic {
            severity: Severity::Warning,
            ..Self::error(message, remedy)
        }
    }

    pub(crate) fn part(mut self, designator: &str) -> Self {
        self.part = Some(shorten(designator));
        self
    }

    pub(crate) fn line(mut self, line: impl Into<Option<usize>>) -> Self {
        self.line = line.into().filter(|&l| l > 0);
        self
    }

    pub(crate) fn value(mut self, value: &str) -> Self {
        self.value = Some(shorten(value));
        self
    }
}

impl fmt::Display for Diagnostic {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.severity == Severity::Warning {
            write!(f, "warning: ")?;
        }
        match (&self.part, self.line) {
            (Some(part), Some(line)) => write!(f, "{part}, line {line}: ")?,
            (Some(part), None) => write!(f, "{part}: ")?,
            (None, Some(line)) => write!(f, "line {line}: ")?,
            (None, None) => {}
        }
        write!(f, "{}", self.message)?;
        if !self.remedy.is_empty() {
            write!(f, "; {}", self.remedy)?;
        }
        Ok(())
    }
}

impl std::error::Error for Diagnostic {}

/// More faults than this tell nothing new; the rest is counted.
const MOST_DIAGNOSTICS: usize = 200;

/// Orders by line and cuts a flood short.
pub(crate) fn in_order(mut diagnostics: Vec<Diagnostic>) -> Vec<Diagnostic> {
    diagnostics.sort_by_key(|d| d.line.unwrap_or(usize::MAX));
    let more = diagnostics.len().saturating_sub(MOST_DIAGNOSTICS);
    if more > 0 {
        diagnostics.truncate(MOST_DIAGNOSTICS);
        diagnostics.push(Diagnostic::error(
            format!("{more} more faults are not listed"),
            "mend those above first",
        ));
    }
    diagnostics
}

/// Text from a file as it may be shown: at most 48 characters, nothing that moves a cursor.
pub(crate) fn shorten(text: &str) -> String {
    const LONGEST: usize = 48;
    let mut shown = harmless(text.chars().take(LONGEST).collect());
    if text.chars().nth(LONGEST).is_some() {
        shown.push('…');
    }
    shown
}

/// Text that may be shown on a terminal.
fn harmless(text: String) -> String {
    if text.contains(moves_text) {
        text.replace(moves_text, "\u{fffd}")
    } else {
        text
    }
}

/// Control characters, and those that turn the direction of writing.
fn moves_text(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}

/// ", did you mean …?" for the candidate nearest to `wrong`, if one is near enough.
pub(crate) fn nearest<'a>(
    wrong: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    // Longer ones are no slips of the finger, and would cost time.
    if wrong.len() > 40 {
        return None;
    }
    let wrong_small = wrong.to_lowercase();
    let allowed = 1 + wrong.chars().count() / 3;
    candidates
        .into_iter()
        .filter(|c| !c.is_empty() && c.len() <= 60)
        .map(|c| (osa_distance(&wrong_small, &c.to_lowercase()), c))
        .filter(|(distance, c)| *distance <= allowed && *distance < c.chars().count())
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, c)| c)
}
