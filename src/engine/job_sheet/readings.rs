//! Expected voltages, with room to write what was measured.

use crate::advice::job::{Expected, Job, bases};
use crate::solve::solved::Both;
use crate::text::digits::fixed;
use maud::{Markup, html};

/// The section.
pub fn section(job: &Job) -> Markup {
    let pins = by_valve(&job.pins);
    let body = html! {
        @for note in &job.notes { p class="note" { (note) } }
        @if job.pins.iter().any(|p| p.range.is_some()) {
            p class="note" { "“Nine amps in ten” is where nine in ten amps of this model read as proposed, parts and valves being within their tolerances and the mains at its nominal voltage. With the mains 5 % high, supplies and anodes read about 5 % more. Outside that, look for a reason." }
        }
        h3 { "Supply" }
        (table("Part", &[job.supply.iter().collect()], job))
        h3 { "Valves" }
        p class="note" { (bases::NOTE) }
        (table("Valve", &pins, job))
    };
    // A page of its own: it lies on the bench while the rest goes back into the folder.
    html! { section class="own-page" { h2 { "Expected voltages, without signal" } (body) } }
}

fn by_valve(pins: &[Expected]) -> Vec<Vec<&Expected>> {
    let mut out: Vec<Vec<&Expected>> = Vec::new();
    for pin in pins {
        match out.last_mut() {
            Some(group) if group[0].at == pin.at => group.push(pin),
            _ => out.push(vec![pin]),
        }
    }
    out
}

fn table(first: &str, groups: &[Vec<&Expected>], job: &Job) -> Markup {
    let ranges = job.pins.iter().any(|p| p.range.is_some());
    let electrodes = groups.iter().flatten().any(|e| e.electrode.is_some());
    html! {
        table class="readings" {
            thead { tr {
                th scope="col" { (first) }
                @if electrodes { th scope="col" { "Pin" } th scope="col" { "Electrode" } }
                th scope="col" { "Node" }
                th scope="col" class="number" { "As found, V" }
                th scope="col" class="number" { "Proposed, V" }
                th scope="col" class="number" { "Change, V" }
                @if ranges { th scope="col" class="number" { "Nine amps in ten, V" } }
                th scope="col" class="blank" { "Measured, V" }
                th scope="col" class="blank" { "As left, V" }
            } }
            @for group in groups {
                tbody {
                    @for (i, expected) in group.iter().enumerate() { (row(i, group, expected, electrodes, ranges)) }
                }
            }
        }
    }
}

fn row(
    i: usize,
    group: &[&Expected],
    expected: &Expected,
    electrodes: bool,
    ranges: bool,
) -> Markup {
    let Both { as_found, proposed } = expected.volts;
    html! {
        tr class=[expected.moves.then_some("moves")] {
            @if electrodes {
                @if i == 0 {
                    th scope="rowgroup" rowspan=(group.len()) { span class="part" { (expected.at) } " " (expected.what) }
                }
                td { (expected.pin.unwrap_or("")) }
                td { (expected.electrode.map_or("", |e| e.name())) }
            } @else {
                th scope="row" { span class="part" { (expected.at) } " " (expected.what) }
            }
            td class="free" { (expected.node) }
            td class="number" { (meter(as_found)) }
            td class="number" { (meter(proposed)) }
            td class="number" { @if expected.moves { (signed(proposed - as_found)) } @else { "stays" } }
            @if ranges {
                td class="number" {
                    @if let Some(range) = expected.range { (between(range.proposed)) }
                }
            }
            td {} td {}
        }
    }
}

/// Volts as a meter shows them: no digit that it would not have.
fn meter(volts: f64) -> String {
    match volts.abs() {
        v if v < 0.005 => "0".into(),
        v if v < 9.95 => fixed(volts, 2),
        v if v < 99.5 => fixed(volts, 1),
        _ => fixed(volts, 0),
    }
}

/// "292 to 298"; one number where a meter would not tell both ends apart.
fn between(range: [f64; 2]) -> String {
    let [low, high] = range.map(meter);
    match low == high {
        true => low,
        false => format!("{low} to {high}"),
    }
}

fn signed(by: f64) -> String {
    let sign = if by > 0.0 { "+" } else { "" };
    let places = match by.abs() {
        b if b < 1.0 => 2,
        b if b < 10.0 => 1,
        _ => 0,
    };
    format!("{sign}{}", fixed(by, places))
}
