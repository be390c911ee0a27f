//! Title, cautions, what is over its limit, and the foot of the page.

use super::section;
use crate::analysis::job::Job;
use crate::analysis::safety::{JOB_CAUTIONS, NUMBERS};
use maud::{Markup, html};

/// What this is, for which amp, from which file.
pub fn title(job: &Job) -> Markup {
    let origin = &job.origin;
    html! {
        header class="title" {
            h1 {
                "Job sheet: " (job.amp)
                @if !job.proposed.name.is_empty() { ", “" (job.proposed.name) "”" }
            }
            @if !job.proposed.about.is_empty() { p { (job.proposed.about) } }
            @if origin.invented {
                p { span class="invented" { "Invented data: this amp comes with the program and does not exist. Do not work from this sheet." } }
            }
            dl {
                dt { "Date" } dd { @match &origin.date { Some(date) => (date), None => span class="line" {} } }
                dt { "Done by" } dd { span class="line" {} }
                dt { "Circuit" } dd { (origin.circuit) }
                dt { "Serial no." } dd { span class="line" {} }
                dt { "Proposal" } dd { @if origin.proposal.is_empty() { "from the command line" } @else { (origin.proposal) } }
                dt { "Made by" } dd { (origin.program) }
            }
        }
    }
}

/// The cautions, before anything else.
pub fn cautions() -> Markup {
    html! {
        section class="cautions" {
            h2 { "Before anything else" }
            ol {
                @for (catchword, meaning) in JOB_CAUTIONS { li { strong { (catchword) } " " (meaning) } }
            }
        }
    }
}

/// What is over its limit, as proposed first.
pub fn over(job: &Job) -> Markup {
    html! {
        section class="over" {
            h2 { "Over its limit" }
            @if job.over.is_empty() {
                p { "Nothing, as found or as proposed, of what was computed: valves at rest." }
            } @else {
                ul { @for over in &job.over { li { (over.sentence) } } }
                @if job.over.iter().any(|o| o.at.proposed) {
                    p { strong { "The proposal leaves something over its limit. Put that right before you solder anything else." } }
                }
            }
        }
    }
}

/// What the numbers are, and where they come from.
pub fn foot(job: &Job) -> Markup {
    let origin = &job.origin;
    let numbers = section(
        "What these numbers are",
        html! {
            ul {
                @for line in NUMBERS { li { (line) } }
                @for line in &job.assumed { li { (line) } }
            }
        },
    );
    html! {
        (numbers)
        footer {
            p {
                "Made from " (origin.circuit)
                @if !origin.proposal.is_empty() { " and " (origin.proposal) }
                " by " (origin.program) ". "
                @if origin.invented { "The amp, its loudspeaker and its proposal are invented. " }
                "Nothing on this sheet was measured."
            }
        }
    }
}
