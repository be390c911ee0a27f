//! The order of work: what is done before and after every opening, and each opening in turn.

use super::section as headed;
use crate::analysis::job::{Job, Opening};
use crate::analysis::safety::{AFTER_CLOSING, BEFORE_OPENING};
use maud::{Markup, html};

/// The section.
pub fn section(job: &Job) -> Markup {
    let body = html! {
        h3 { "A. Before every opening" }
        (ticks(BEFORE_OPENING.iter().copied()))
        h3 { "B. After every opening" }
        (ticks(AFTER_CLOSING.iter().copied()))
        @for (i, opening) in job.openings.iter().enumerate() { (one(i + 1, opening, job)) }
    };
    headed("Order of work", body)
}

fn ticks<'a>(lines: impl Iterator<Item = &'a str>) -> Markup {
    html! { ul class="tick" { @for line in lines { li { (line) } } } }
}

fn one(number: usize, opening: &Opening, job: &Job) -> Markup {
    let controls: Vec<String> = job
        .controls
        .iter()
        .map(|c| format!("{} {}", c.name, c.in_words))
        .collect();
    html! {
        div class="opening" {
            h3 {
                (number) ". " (opening.parts.join(", "))
                @if !opening.near.is_empty() { " (" (opening.near) ")" }
            }
            @if !opening.why.is_empty() { p { (opening.why) } }
            ul class="tick" {
                @if opening.opens_chassis {
                    li { "Steps A: off, unplugged, discharged, measured. Every time anew." }
                } @else {
                    li { "Off and unplugged. The chassis stays closed." }
                }
                @for step in &opening.steps { li { (step) } }
                @if opening.opens_chassis { li { "Steps B: looked over, closed, powered up through the current limiter." } }
                li {
                    "Listen"
                    @if !controls.is_empty() { " at " (controls.join(", ")) }
                    ". "
                    @for line in &opening.listen { (line) " " }
                }
            }
        }
    }
}
