//! A drawing as SVG: ink on paper, one colour for what is proposed.

use super::sheet::{Anchor, Item, Says, Sheet};
use super::strokes::{ResistorStyle, Spot, Stroke, strokes};
use std::fmt::Write;

/// Colours and how symbols are drawn.
#[derive(Clone)]
pub struct SvgStyle<'a> {
    pub title: &'a str,
    /// Part of a page, which has a title of its own.
    pub inline: bool,
    /// Without the title over it; it is read out all the same.
    pub bare: bool,
    pub ink: &'a str,
    pub paper: &'a str,
    pub accent: &'a str,
    pub faint: &'a str,
    pub resistors: ResistorStyle,
    /// Pixels a unit.
    pub scale: f32,
    /// Parts that are left out: by item.
    pub unfitted: &'a dyn Fn(Item) -> bool,
    /// Parts that a proposal changes.
    pub changed: &'a dyn Fn(Item) -> bool,
    /// Valves that share a bulb.
    pub halves: &'a dyn Fn(Item) -> bool,
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

fn points(spots: &[Spot], scale: f32) -> String {
    let mut text = String::new();
    for [x, y] in spots {
        let _ = write!(text, "{:.1},{:.1} ", x * scale, y * scale);
    }
    text.trim_end().to_string()
}

/// Around a drawing, and above it for the amp's name, units.
const MARGIN: f32 = 2.0;
const HEAD: f32 = 3.0;

/// Width and height of the picture of a sheet, units.
pub fn room(sheet: &Sheet) -> [f32; 2] {
    [
        (sheet.to.x - sheet.from.x) as f32 + 2.0 * MARGIN,
        (sheet.to.y - sheet.from.y) as f32 + 2.0 * MARGIN + HEAD,
    ]
}

/// The drawing as a file.
pub fn svg(sheet: &Sheet, style: &SvgStyle<'_>) -> String {
    let scale = style.scale;
    let margin = MARGIN;
    let head = if style.bare { 0.0 } else { HEAD };
    let (left, top) = (
        sheet.from.x as f32 - margin,
        sheet.from.y as f32 - margin - head,
    );
    let [wide, tall] = room(sheet);
    let tall = tall - HEAD + head;
    let mut out = String::new();
    let _ = write!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"{:.1} {:.1} {:.1} {:.1}\" \
         width=\"{:.0}\" height=\"{:.0}\" role=\"img\" aria-label=\"{title}\" \
         font-family=\"sans-serif\" stroke-linecap=\"round\" stroke-linejoin=\"round\">\n\
         {name}<rect x=\"{:.1}\" y=\"{:.1}\" width=\"100%\" height=\"100%\" fill=\"{}\"/>\n",
        left * scale,
        top * scale,
        wide * scale,
        tall * scale,
        wide * scale,
        tall * scale,
        left * scale,
        top * scale,
        style.paper,
        title = escaped(style.title),
        name = match style.inline {
            true => String::new(),
            false => format!("<title>{}</title>\n", escaped(style.title)),
        },
    );
    if !style.bare {
        heading(&mut out, style, left + margin, top + 2.2);
    }
    write_lines(&mut out, sheet, style);
    for placed in &sheet.placed {
        let unfitted = (style.unfitted)(placed.item);
        let colour = match () {
            () if (style.changed)(placed.item) => style.accent,
            () if unfitted => style.faint,
            () => style.ink,
        };
        for stroke in strokes(placed, style.resistors, (style.halves)(placed.item)) {
            paint(&mut out, &stroke, colour, scale, unfitted);
        }
    }
    for text in &sheet.texts {
        let anchor = match text.anchor {
            Anchor::Start => "start",
            Anchor::Middle => "middle",
            Anchor::End => "end",
        };
        let colour = match () {
            () if text.changed => style.accent,
            () if text.of.is_some_and(|item| (style.unfitted)(item)) => style.faint,
            () if text.says == Says::Volts => style.faint,
            () => style.ink,
        };
        let weight = if text.says == Says::Designator {
            " font-weight=\"bold\""
        } else {
            ""
        };
        let _ = writeln!(
            out,
            "<text x=\"{:.1}\" y=\"{:.1}\" font-size=\"{:.1}\" text-anchor=\"{anchor}\"{weight} fill=\"{colour}\">{}</text>",
            text.x * scale,
            text.y * scale,
            text.size * scale,
            escaped(&text.text),
        );
    }
    out.push_str("</svg>\n");
    out
}

/// The title over the drawing, at its baseline.
fn heading(out: &mut String, style: &SvgStyle<'_>, x: f32, y: f32) {
    let scale = style.scale;
    let _ = writeln!(
        out,
        "<text x=\"{:.1}\" y=\"{:.1}\" font-size=\"{:.1}\" font-weight=\"bold\" fill=\"{}\">{}</text>",
        x * scale,
        y * scale,
        1.6 * scale,
        style.ink,
        escaped(style.title),
    );
}

fn paint(out: &mut String, stroke: &Stroke, colour: &str, scale: f32, dashed: bool) {
    let thin = 0.12 * scale;
    let thick = 0.2 * scale;
    let dash = if dashed {
        format!(
            " stroke-dasharray=\"{:.1} {:.1}\"",
            0.4 * scale,
            0.3 * scale
        )
    } else {
        String::new()
    };
    let line = |spots: &[Spot], width: f32, dash: &str| {
        format!(
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width:.2}\"{dash}/>\n",
            points(spots, scale)
        )
    };
    match stroke {
        Stroke::Line(spots) => out.push_str(&line(spots, thin, &dash)),
        Stroke::Bar(spots) => out.push_str(&line(spots, thick, "")),
        Stroke::Dashed(spots) => {
            let dash = format!(
                " stroke-dasharray=\"{:.1} {:.1}\"",
                0.4 * scale,
                0.4 * scale
            );
            out.push_str(&line(spots, thin, &dash));
        }
        Stroke::Outline(spots) => {
            let _ = writeln!(
                out,
                "<polygon points=\"{}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{thin:.2}\"{dash}/>",
                points(spots, scale)
            );
        }
        Stroke::Filled(spots) => {
            let _ = writeln!(
                out,
                "<polygon points=\"{}\" fill=\"{colour}\"/>",
                points(spots, scale)
            );
        }
        Stroke::Circle([x, y], r) => {
            let _ = writeln!(
                out,
                "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{:.2}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{thin:.2}\"{dash}/>",
                x * scale,
                y * scale,
                r * scale
            );
        }
    }
}

/// Wires and dots.
fn write_lines(out: &mut String, sheet: &Sheet, style: &SvgStyle<'_>) {
    let scale = style.scale;
    let thin = 0.12 * scale;
    for wire in &sheet.wires {
        let spots: Vec<Spot> = wire
            .points
            .iter()
            .map(|p| [p.x as f32, p.y as f32])
            .collect();
        let _ = writeln!(
            out,
            "<polyline points=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{thin:.2}\"/>",
            points(&spots, scale),
            style.ink,
        );
    }
    for (_, at) in &sheet.dots {
        let _ = writeln!(
            out,
            "<circle cx=\"{:.1}\" cy=\"{:.1}\" r=\"{:.2}\" fill=\"{}\"/>",
            at.x as f32 * scale,
            at.y as f32 * scale,
            0.3 * scale,
            style.ink,
        );
    }
}
