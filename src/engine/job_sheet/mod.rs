//! The job sheet: the report of a job as one page of HTML to print, with everything inside it.
//!
//! Takes a [`Job`] and the response that belongs to it; gives well-formed XHTML without scripts and
//! without anything from outside. Whatever comes from a file of the user's is escaped by the
//! template. It renders only: all words that depend on the amp come with the report.

mod bands;
mod buy;
mod head;
mod pictures;
mod readings;
mod schematic;
mod section;
mod work;

use crate::advice::job::Job;
use crate::analysis::response::Response;
use maud::{PreEscaped, html};
pub use schematic::{Piece, Schematic};

const STYLE: &str = include_str!("style.css");

/// The whole page. `response` is the curve of the same amp, `schematic` its drawing.
pub fn page(job: &Job, response: &Response, schematic: &Schematic) -> String {
    let body = html! {
        (head::title(job))
        (head::cautions())
        (head::over(job))
        (buy::section(job))
        (work::section(job, schematic::pieces(schematic)))
        (readings::section(job))
        (pictures::section(job, response))
        (head::foot(job))
        (schematic::whole(schematic))
    };
    let page = html! {
        html lang="en" xml:lang="en" xmlns="http://www.w3.org/1999/xhtml" {
            head {
                // The one element without an end in XHTML and HTML alike.
                (PreEscaped("<meta charset=\"utf-8\"/>"))
                title { "Job sheet: " (job.amp) @if !job.proposed.name.is_empty() { ", " (job.proposed.name) } }
                style { (PreEscaped(STYLE)) (PreEscaped(running_foot(job))) }
            }
            body { (body) }
        }
    };
    format!("<!DOCTYPE html>\n{}\n", page.into_string())
}

/// The line at the foot of every printed page.
fn running_foot(job: &Job) -> String {
    let name = match job.proposed.name.as_str() {
        "" => job.amp.clone(),
        proposal => format!("{}, {proposal}", job.amp),
    };
    format!(
        "@page {{ @bottom-left {{ content: \"{}\"; font: 8pt sans-serif; }} \
         @bottom-center {{ content: \"Unplugged, discharged, measured, before you touch anything\"; font: 8pt sans-serif; white-space: nowrap; }} \
         @bottom-right {{ content: \"page \" counter(page) \" of \" counter(pages); font: 8pt sans-serif; white-space: nowrap; }} }}",
        css_text(&name, FOOT_LETTERS)
    )
}

/// Letters of a name at the foot; more would run into the middle.
const FOOT_LETTERS: usize = 40;

/// A text inside a string of a style sheet: everything but letters and digits as an escape, so that
/// nothing in it can end the string or the sheet.
fn css_text(text: &str, most: usize) -> String {
    let letters: Vec<char> = text.chars().filter(|c| !c.is_control()).collect();
    let mut out: String = letters
        .iter()
        .take(most)
        .map(|c| match c.is_ascii_alphanumeric() {
            true => c.to_string(),
            false => format!("\\{:x} ", u32::from(*c)),
        })
        .collect();
    if letters.len() > most {
        out.push_str("\\2026 ");
    }
    out
}

#[cfg(test)]
mod tests {
    use super::css_text;

    #[test]
    fn a_name_cannot_leave_its_string() {
        assert_eq!(
            css_text("a\"}</style>", 40),
            "a\\22 \\7d \\3c \\2f style\\3e "
        );
        assert_eq!(css_text("Bradawl 15", 40), "Bradawl\\20 15");
        assert_eq!(css_text("abc", 2), "ab\\2026 ");
    }
}
