//! The drawing on the screen: lines, dots, symbols, texts.

use super::shown::{Shown, ground};
use super::state::Look;
use crate::circuit::{NodeId, PartId};
use crate::drawing::sheet::{Anchor, Item, Says, Text};
use crate::drawing::strokes::Stroke as Lines;
use crate::editor::theme::Ink;
use egui::epaint::PathShape;
use egui::{Align2, Color32, FontFamily, FontId, Painter, Pos2, Rect, Shape, Stroke, pos2};

/// Letters smaller than this are not drawn, points.
const LEGIBLE: f32 = 4.5;
/// Letters smaller than this are not made bold: they would only be blurred.
const BOLD: f32 = 8.5;

/// What is marked.
pub struct Marks<'a> {
    /// The part that is selected.
    pub selected: Option<PartId>,
    /// The part under the pointer.
    pub part: Option<PartId>,
    /// The wire under the pointer.
    pub wire: Option<NodeId>,
    /// The node that the curve is measured at.
    pub measured: Option<NodeId>,
    /// Valves that clip right now.
    pub clips: &'a [PartId],
}

/// Paints the drawing in an area.
pub fn paint(painter: &Painter, area: Rect, shown: &Shown, look: Look, marks: &Marks, ink: &Ink) {
    let at = |spot: [f32; 2]| look.screen(area, spot);
    let thin = (0.12 * look.scale).clamp(0.8, 2.5);
    let sheet = &shown.drawing.sheet;
    if let Some(placed) = marks.selected.and_then(|part| shown.placed(part)) {
        let ground = on_screen(ground(placed), area, look);
        painter.rect_filled(ground.expand(3.0), 3.0, ink.chosen);
    }
    for wire in &sheet.wires {
        let marked = marks.wire == Some(wire.node) || marks.measured == Some(wire.node);
        let (width, colour) = match marked {
            true => (2.2 * thin, ink.ink),
            false => (thin, ink.ink),
        };
        let points: Vec<Pos2> = wire
            .points
            .iter()
            .map(|point| at([point.x as f32, point.y as f32]))
            .collect();
        painter.add(PathShape::line(points, Stroke::new(width, colour)));
    }
    for (_, dot) in &sheet.dots {
        let centre = at([dot.x as f32, dot.y as f32]);
        painter.circle_filled(centre, (0.3 * look.scale).max(1.2), ink.ink);
    }
    for (placed, strokes) in sheet.placed.iter().zip(&shown.strokes) {
        let changed = shown.drawing.is_changed(placed.item);
        let unfitted = shown.drawing.is_unfitted(placed.item);
        let colour = match () {
            () if changed => ink.proposed,
            () if unfitted => ink.weak,
            () => ink.ink,
        };
        let hovered = matches!(placed.item, Item::Part(part) if marks.part == Some(part));
        let weight = if changed || hovered { 1.7 * thin } else { thin };
        for stroke in strokes {
            symbol(
                painter,
                stroke,
                &at,
                Stroke::new(weight, colour),
                unfitted,
                look.scale,
            );
        }
        if matches!(placed.item, Item::Part(part) if marks.clips.contains(&part)) {
            clipping(painter, on_screen(ground(placed), area, look), ink);
        }
    }
    for text in &sheet.texts {
        write(painter, text, &at, shown, look.scale, ink);
    }
}

fn on_screen(rect: Rect, area: Rect, look: Look) -> Rect {
    Rect::from_min_max(
        look.screen(area, [rect.min.x, rect.min.y]),
        look.screen(area, [rect.max.x, rect.max.y]),
    )
}

fn symbol(
    painter: &Painter,
    stroke: &Lines,
    at: &dyn Fn([f32; 2]) -> Pos2,
    pen: Stroke,
    dashed: bool,
    scale: f32,
) {
    let points = |spots: &[[f32; 2]]| -> Vec<Pos2> { spots.iter().map(|s| at(*s)).collect() };
    let broken = |points: &[Pos2]| -> Vec<Shape> {
        Shape::dashed_line(points, pen, 0.4 * scale, 0.35 * scale)
    };
    match stroke {
        Lines::Line(spots) if dashed => painter.extend(broken(&points(spots))),
        Lines::Dashed(spots) => painter.extend(broken(&points(spots))),
        Lines::Line(spots) => {
            painter.add(PathShape::line(points(spots), pen));
        }
        Lines::Bar(spots) => {
            let bar = Stroke::new(1.7 * pen.width, pen.color);
            painter.add(PathShape::line(points(spots), bar));
        }
        Lines::Outline(spots) if dashed => {
            let mut outline = points(spots);
            outline.extend(outline.first().copied());
            painter.extend(broken(&outline));
        }
        Lines::Outline(spots) => {
            painter.add(PathShape::closed_line(points(spots), pen));
        }
        Lines::Filled(spots) => {
            painter.add(Shape::convex_polygon(
                points(spots),
                pen.color,
                Stroke::NONE,
            ));
        }
        Lines::Circle(centre, radius) => {
            painter.circle_stroke(at(*centre), radius * scale, pen);
        }
    }
}

/// A valve that clips: the corners of a frame, and the word.
fn clipping(painter: &Painter, ground: Rect, ink: &Ink) {
    let frame = ground.expand(3.0);
    let pen = Stroke::new(2.5, ink.ink);
    let long = 0.2 * frame.width().min(frame.height());
    for (x, right) in [(frame.left(), 1.0), (frame.right(), -1.0)] {
        for (y, down) in [(frame.top(), 1.0), (frame.bottom(), -1.0)] {
            let corner = pos2(x, y);
            painter.line_segment([corner, pos2(x + right * long, y)], pen);
            painter.line_segment([corner, pos2(x, y + down * long)], pen);
        }
    }
    let font = FontId::new(11.0, FontFamily::Proportional);
    let above = frame.center_top() - egui::vec2(0.0, 1.0);
    painter.text(above, Align2::CENTER_BOTTOM, "clips", font, ink.ink);
}

fn write(
    painter: &Painter,
    text: &Text,
    at: &dyn Fn([f32; 2]) -> Pos2,
    shown: &Shown,
    scale: f32,
    ink: &Ink,
) {
    let size = 0.92 * text.size * scale;
    if size < LEGIBLE {
        return;
    }
    let unfitted = text.of.is_some_and(|item| shown.drawing.is_unfitted(item));
    let colour: Color32 = match () {
        () if text.changed => ink.proposed,
        () if unfitted || text.says == Says::Volts => ink.weak,
        () => ink.ink,
    };
    let align = match text.anchor {
        Anchor::Start => Align2::LEFT_CENTER,
        Anchor::Middle => Align2::CENTER_CENTER,
        Anchor::End => Align2::RIGHT_CENTER,
    };
    // The place of a text is its baseline; the middle of its letters stands a little higher.
    let place = at([text.x, text.y - 0.33 * text.size]);
    let font = FontId::new(size, FontFamily::Proportional);
    painter.text(place, align, &text.text, font.clone(), colour);
    if size > BOLD && (text.says == Says::Designator || text.changed) {
        // Bold without a bold face: once more, a fraction of a point beside.
        painter.text(
            place + egui::vec2(0.5, 0.0),
            align,
            &text.text,
            font,
            colour,
        );
    }
}
