//! Title, cautions, what is over its limit, and the foot of the page.

use super::section::section;
use crate::advice::job::Job;
use crate::advice::safety::{JOB_CAUTIONS, NUMBERS};
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
            @if let Some(verdict) = &job.in_short { p class="short-verdict" { strong { "In short: " } (verdict) } }
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
    let over = &job.over;
    html! {
        section class="over" {
            h2 { "Over its rating" }
            @if over.still.is_empty() && over.brought.is_empty() {
                p { "As proposed, nothing: valves and parts were looked at at rest, with the mains 10 % high, while the guitar plays and on a steady tone." }
            }
            @if !over.still.is_empty() {
                p { strong { "As found and as proposed, this is over. Put it right before anything else." } }
                ul { @for line in &over.still { li { (line) } } }
            }
            @if !over.brought.is_empty() {
                p { strong { "The proposal brings this over. Do not solder it as it is." } }
                ul { @for line in &over.brought { li { (line) } } }
            }
            @if !over.mended.is_empty() {
                p { "As found this is over too, and the proposal mends it:" }
                ul { @for line in &over.mended { li { (line) } } }
            }
            @if !over.brief.is_empty() {
                p { "For moments only:" }
                ul { @for line in &over.brief { li { (line) } } }
            }
            @if !over.loose.is_empty() {
                p { "If a joint fails:" }
                ul { @for line in &over.loose { li { (line) } } }
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
            }
            @if !job.assumed.is_empty() { p class="note" { "Assumed, since the file does not say. " (job.assumed.join(" ")) } }
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
