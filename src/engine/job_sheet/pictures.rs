//! The verdict: its sentences, how hard the power valves work, and the curve.

use super::section::section as headed;
use crate::advice::job::{Job, Load};
use crate::analysis::response::Response;
use crate::picture::curve::{Curves, curve_svg};
use crate::text::digits::{percent, printed, significant};
use maud::{Markup, PreEscaped, html};

/// Size of the curve: its letters stay legible in the width of a sheet, px.
const CURVE: (u32, u32) = (760, 530);

/// The section.
pub fn section(job: &Job, response: &Response) -> Markup {
    let body = html! {
        ul {
            @for line in &job.said.verdict { li { (line) } }
            @for line in &job.said.warnings { li { strong { "Warning: " } (line) } }
        }
        @if !job.each.is_empty() {
            h3 { "Each change by itself" }
            ul { @for line in &job.each { li { (line) } } }
        }
        @if !job.loads.is_empty() { (loads(&job.loads)) }
        (curve(response))
    };
    headed("Why: the verdict", body)
}

fn curve(response: &Response) -> Markup {
    let svg = curve_svg(&Curves {
        title: "Response",
        note: &format!("From {} to {}.", response.from, response.to),
        axis: "Gain, dB",
        hz: &response.hz,
        as_found: &response.as_found.db,
        proposed: response.proposed.as_ref().map(|c| c.db.as_slice()),
        size: CURVE,
    });
    html! {
        @match svg {
            Ok(svg) => div class="picture" role="img" aria-label="Frequency response as found and proposed" { (PreEscaped(svg)) },
            Err(fault) => p { "There is no curve: " (fault) "." }
        }
    }
}

/// Height of a row with two bars, of the head, and the place of 0 and 100 %; units of the drawing.
const ROW: f64 = 34.0;
const HEAD: f64 = 26.0;
const LEFT: f64 = 100.0;
const FULL: f64 = 400.0;
const WIDTH: f64 = 760.0;
/// Bars end here, whatever they say.
const MOST: f64 = 480.0;

/// Bars against 100 % of each limit: as found open and dashed, proposed solid.
fn loads(loads: &[Load]) -> Markup {
    let height = HEAD + ROW * loads.len() as f64 + 6.0;
    let bar = |watts: f64, limit: f64| (FULL * watts / limit).clamp(0.0, MOST);
    let words = |watts: f64, limit: f64| {
        let share = 100.0 * watts / limit;
        let over = if share > 100.0 { ", OVER" } else { "" };
        format!(
            "{} W of {} W, {}{over}",
            significant(watts, 2),
            printed(limit),
            percent(share)
        )
    };
    html! {
        h3 { "Dissipation of the power valves at rest" }
        div class="picture" {
            svg xmlns="http://www.w3.org/2000/svg" viewBox=(format!("0 0 {WIDTH} {height}")) font-family="sans-serif" font-size="12" role="img"
                aria-label="Dissipation of the power valves against their limits" {
                rect x=(LEFT) y="6" width="24" height="8" fill="none" stroke="#000" stroke-dasharray="4 3" {}
                text x=(LEFT + 30.0) y="14" { "as found" }
                rect x=(LEFT + 100.0) y="6" width="24" height="8" fill="#000" {}
                text x=(LEFT + 130.0) y="14" { "proposed" }
                text x=(LEFT + FULL) y="14" text-anchor="middle" { "limit" }
                path d=(format!("M{x} 18 V{height}", x = LEFT + FULL)) stroke="#000" stroke-width="1.5" {}
                @for (i, load) in loads.iter().enumerate() {
                    @let y = HEAD + ROW * i as f64;
                    @let (found, proposed) = (bar(load.watts.as_found, load.limit), bar(load.watts.proposed, load.limit));
                    text x="0" y=(y + 17.0) { (load.of) }
                    rect x=(LEFT) y=(y) width=(found) height="11" fill="none" stroke="#000" stroke-dasharray="4 3" {}
                    rect x=(LEFT) y=(y + 14.0) width=(proposed) height="11" fill="#000" {}
                    text x=(LEFT + FULL.max(found) + 8.0) y=(y + 10.0) { (words(load.watts.as_found, load.limit)) }
                    text x=(LEFT + FULL.max(proposed) + 8.0) y=(y + 24.0) { (words(load.watts.proposed, load.limit)) }
                }
            }
        }
    }
}
