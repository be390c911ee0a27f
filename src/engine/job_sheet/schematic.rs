//! The amp's drawing on the page: where the work is, before it, and the whole as the last page.

use maud::{Markup, PreEscaped, html};

/// Drawings for the page, as SVG; nothing where there are none.
#[derive(Clone, Debug, Default)]
pub struct Schematic {
    /// Folded to A4, lying.
    pub whole: Option<String>,
    /// Around the parts that are worked on.
    pub pieces: Vec<Piece>,
}

/// Pieces up to this width stand beside the words, mm.
const BESIDE: f32 = 95.0;

/// A piece of the drawing.
#[derive(Clone, Debug)]
pub struct Piece {
    pub svg: String,
    /// Width on paper, mm.
    pub wide: f32,
}

/// Where the work is, if a piece shows it.
pub fn pieces(schematic: &Schematic) -> Markup {
    html! {
        @if !schematic.pieces.is_empty() {
            @for piece in &schematic.pieces {
                @let beside = piece.wide <= BESIDE;
                div class=(if beside { "picture beside" } else { "picture" }) style=(format!("width: {:.0}mm; max-width: 100%", piece.wide)) {
                    (PreEscaped(&piece.svg))
                }
            }
            p class="note" {
                "The picture is cut out of the schematic"
                @if schematic.whole.is_some() { " on the last page" }
                "."
            }
        }
    }
}

/// The whole drawing, on a page of its own.
pub fn whole(schematic: &Schematic) -> Markup {
    html! {
        @if let Some(whole) = &schematic.whole {
            section class="schematic" { (PreEscaped(whole)) }
        }
    }
}
