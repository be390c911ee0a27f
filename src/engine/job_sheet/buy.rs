//! What to buy: a row a part, with what is printed on it.

use super::bands;
use crate::advice::job::{Action, ColourCode, Item, Job, Marking, Purchase};
use crate::text::digits::{fixed, printed, significant};
use maud::{Markup, html};

/// The section.
pub fn section(job: &Job) -> Markup {
    let body = html! {
        @if job.items.is_empty() {
            p { "Nothing is proposed." }
        } @else {
            table {
                caption class="note" {
                    "Watts are for twice what the part meets, volts for a fifth more, each the next size up and never below the part that was there (common practice). A closer tolerance or a higher rating is always fine."
                }
                thead { tr {
                    th scope="col" { "Part" }
                    th scope="col" { "As found → proposed" }
                    th scope="col" { "Buy" }
                    th scope="col" { "Rating" }
                    th scope="col" { "Printed on it" }
                    th scope="col" class="short" { "No." }
                    th scope="col" { "Price" }
                } }
                tbody { @for item in &job.items { (row(item)) } }
            }
            (totals(job))
        }
    };
    // A page of its own: it goes to the shop, and no head of a table stands without a row.
    html! { section { h2 { "What to buy" } (body) } }
}

/// What everything costs and how long it takes.
fn totals(job: &Job) -> Markup {
    let Some([currency, about]) = &job.prices else {
        return html! {};
    };
    html! {
        p {
            @match job.cost {
                Some(cost) => { "Together " strong { (fixed(cost, 2)) " " (currency) } ". " }
                None => { "Not every price is known. " }
            }
            @if let Some(minutes) = job.minutes {
                "About " (fixed(minutes, 0)) " minutes of work, every opening counted. "
            }
            (about)
        }
    }
}

fn row(item: &Item) -> Markup {
    html! {
        tr {
            th scope="row" {
                span class="part" { (item.designator) }
                @if !item.role.is_empty() { " " (item.role) }
                @if !item.stage.is_empty() { ", " (item.stage) }
            }
            td class="free" { (item.as_found) " → " strong { (item.proposed) } }
            @match &item.buy {
                Some(buy) => {
                    td { (what(item, buy)) }
                    td { (rating(buy)) }
                    td { (marking(&buy.marking)) }
                    td class="number" { (buy.quantity) }
                    td class="blank number" { @if let Some(price) = buy.price { (fixed(price, 2)) } }
                }
                None => {
                    td colspan="5" { (nothing(item.action)) }
                }
            }
        }
    }
}

fn nothing(action: Action) -> &'static str {
    match action {
        Action::Remove => "Nothing to buy: it comes out. Keep it for the way back.",
        Action::Set => "Nothing to buy: a contact is set.",
        _ => "Nothing to buy as one part: ask a technician.",
    }
}

fn what(item: &Item, buy: &Purchase) -> Markup {
    html! {
        p class="code" {
            (item.kind.in_words()) " " strong { (buy.value) }
            @if let Some(tolerance) = buy.tolerance {
                " ±" (printed(100.0 * tolerance)) " %"
                @if !buy.tolerance_stated { " (usual; the file states none)" }
            }
        }
        @if let Some(series) = &buy.series { p class="code" { "Preferred value, series " (series) } }
        @if let Some(note) = &buy.not_preferred { p class="code" { (note) } }
        @if !buy.build.is_empty() { p class="code" { (buy.build) } }
        @for note in &buy.notes { p class="code" { (note) } }
    }
}

/// Less than this is not told in figures, W or V.
const LEAST_SHOWN: f64 = 0.01;

fn rating(buy: &Purchase) -> Markup {
    let met = [
        (buy.watts, buy.met.watts, buy.met.watts_when, "W"),
        (buy.volts, buy.met.volts, buy.met.volts_when, "V"),
    ];
    let met = met.into_iter().filter_map(|(asked, value, when, unit)| {
        let (value, when) = (value.filter(|_| asked.is_some())?, when?);
        let shown = match value < LEAST_SHOWN {
            true => format!("less than {LEAST_SHOWN}"),
            false => significant(value, 2),
        };
        Some(format!("meets {shown} {unit} {}", when.in_words()))
    });
    html! {
        @if let Some(watts) = buy.watts { p class="code" { strong { (printed(watts)) " W" } } }
        @if let Some(volts) = buy.volts { p class="code" { strong { (printed(volts)) " V" } } }
        @for line in met { p class="code" { (line) } }
    }
}

fn marking(marking: &Marking) -> Markup {
    let code = |name: &str, code: &ColourCode| {
        html! {
            div class="code" {
                (bands::drawing(&code.bands))
                (name) ", ±" (printed(100.0 * code.tolerance)) " %: " (code.in_words())
            }
        }
    };
    let letter = marking.tolerance_letter.map_or(String::new(), String::from);
    html! {
        @if let Some(four) = &marking.four_bands { (code("4 bands", four)) }
        @if let Some(five) = &marking.five_bands { (code("5 bands", five)) }
        @if let Some(letters) = &marking.letters {
            p class="code" { "Letters: " strong { (letters) (letter) } }
        }
        @if let Some(digits) = &marking.digits {
            p class="code" { "Digits: " strong { (digits) (letter) } }
        }
        @if let Some(volts) = &marking.volts { p class="code" { "Volts code: " strong { (volts) } } }
        @for note in &marking.notes { p class="code" { (note) } }
    }
}
