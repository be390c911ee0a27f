//! The order of work: what is done before and after every opening, and each opening in turn.

use super::section::section as headed;
use crate::advice::job::{Job, Opening};
use crate::advice::ratings::duration;
use crate::advice::safety::{AFTER_CLOSING, BEFORE_OPENING};
use crate::text::digits::{fixed, significant};
use crate::units::Quantity;
use maud::{Markup, html};

/// The section; `place` shows where the work is.
pub fn section(job: &Job, place: Markup) -> Markup {
    let body = html! {
        (place)
        div class="keep" {
            h3 { "A. Before every opening" }
            (ticks(BEFORE_OPENING.iter().copied()))
        }
        (charged(job))
        div class="keep" {
            h3 { "B. After every opening" }
            (ticks(AFTER_CLOSING.iter().copied()))
        }
        @for (i, opening) in job.openings.iter().enumerate() { (one(i + 1, opening, job)) }
    };
    headed("Order of work", body)
}

/// Openings of the chassis that have a column of their own.
const MOST_COLUMNS: usize = 4;

/// What stays charged, with room to write what was measured each time.
fn charged(job: &Job) -> Markup {
    let opened = job.openings.iter().enumerate();
    let opened: Vec<usize> = opened
        .filter(|(_, o)| o.opens_chassis)
        .map(|(i, _)| i + 1)
        .collect();
    let columns = &opened[..opened.len().min(MOST_COLUMNS)];
    html! {
        @if job.charged.is_empty() {
            p { "By the file no capacitor holds a dangerous charge. Measure all the same: the file may leave some out." }
        } @else {
            table class="readings" {
                caption class="note" {
                    "Capacitors to discharge and to measure. Volts are the most that they hold, right after switching off; the time is for the voltage to fall below 60 V by itself, the valves cold. Never wait instead of measuring. There may be others that the file leaves out."
                }
                thead { tr {
                    th scope="col" { "Capacitor" }
                    th scope="col" class="short" { "Value" }
                    th scope="col" class="number" { "Holds, V" }
                    th scope="col" class="number" { "Energy, J" }
                    th scope="col" { "Below 60 V after" }
                    th scope="col" class="short" { "Through" }
                    @for number in columns { th scope="col" class="blank" { "V before " (number) } }
                } }
                tbody {
                    @for one in &job.charged {
                        tr {
                            th scope="row" { span class="part" { (one.designator) } " " (one.role) }
                            td class="short" { (Quantity::Capacitance.in_words(one.farads)) }
                            td class="number" { (fixed(one.volts, 0)) }
                            td class="number" { (significant(one.joules, 2)) }
                            td { @match one.seconds { Some(seconds) => (duration(seconds)), None => strong { "hours or days" } } }
                            td { @if one.through.is_empty() { span class="part" { "nothing" } } @else { (one.through.join(", ")) } }
                            @for _ in columns { td {} }
                        }
                    }
                }
            }
        }
    }
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
