//! A section of the page.

use maud::{Markup, html};

/// A section under its heading.
pub fn section(heading: &str, body: Markup) -> Markup {
    html! { section { h2 { (heading) } (body) } }
}
