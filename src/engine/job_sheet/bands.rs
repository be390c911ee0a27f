//! A drawing of a resistor with its bands. The words stand beside it: a printer may have no colours.

use crate::units::marking::Colour;
use maud::{Markup, html};

/// Colours on paper, sRGB (own choice, told apart in grey as far as may be).
fn paint(colour: Colour) -> &'static str {
    match colour {
        Colour::Silver => "#c4c8cc",
        Colour::Gold => "#c9a227",
        Colour::Black => "#111111",
        Colour::Brown => "#7a4419",
        Colour::Red => "#d0191e",
        Colour::Orange => "#f27f0c",
        Colour::Yellow => "#f5d90a",
        Colour::Green => "#1c8a3c",
        Colour::Blue => "#1f4fa8",
        Colour::Violet => "#8a3f9e",
        Colour::Grey => "#8a8a8a",
        Colour::White => "#ffffff",
    }
}

/// Two letters a colour, IEC 60757 (from memory).
fn letters(colour: Colour) -> &'static str {
    match colour {
        Colour::Silver => "SR",
        Colour::Gold => "GD",
        Colour::Black => "BK",
        Colour::Brown => "BN",
        Colour::Red => "RD",
        Colour::Orange => "OG",
        Colour::Yellow => "YE",
        Colour::Green => "GN",
        Colour::Blue => "BU",
        Colour::Violet => "VT",
        Colour::Grey => "GY",
        Colour::White => "WH",
    }
}

/// Width of the drawing, and of a band with its gap; units of the drawing.
const WIDTH: f64 = 170.0;
const BAND: f64 = 11.0;
const PITCH: f64 = 18.0;
/// The tolerance stands apart from the digits, so that one knows where to begin.
const APART: f64 = 12.0;

/// The drawing.
pub fn drawing(bands: &[Colour]) -> Markup {
    // The tolerance band, where there is one, stands behind the multiplier.
    let tolerance = match bands.len() {
        4 => 3,
        _ => 4,
    };
    let place = |i: usize| {
        let apart = if i >= tolerance { APART } else { 0.0 };
        36.0 + PITCH * i as f64 + apart
    };
    let words: Vec<&str> = bands.iter().map(|c| c.name()).collect();
    html! {
        svg class="bands" xmlns="http://www.w3.org/2000/svg" viewBox="0 0 170 38" role="img"
            aria-label=(format!("resistor with bands {}", words.join(", "))) {
            path d="M2 13 H26 M144 13 H168" stroke="#000" stroke-width="1.5" fill="none" {}
            rect x="26" y="2" width=(WIDTH - 52.0) height="22" rx="5" fill="#fff" stroke="#000" stroke-width="1" {}
            @for (i, band) in bands.iter().enumerate() {
                rect x=(place(i)) y="2" width=(BAND) height="22" fill=(paint(*band)) stroke="#000" stroke-width="0.7" {}
                text x=(place(i) + BAND / 2.0) y="35" font-size="9" text-anchor="middle" font-family="sans-serif" { (letters(*band)) }
            }
        }
    }
}
