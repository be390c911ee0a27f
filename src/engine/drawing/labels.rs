//! Texts: designators, values, what changes, direct volts, names of rails and flags.
//!
//! Takes symbols and wires in their places; gives each text the first of its candidate places that meets
//! no line, no symbol and no other text.

use super::sheet::{Anchor, Item, Placed, Says, Sheet, Symbol, Text, Way, Wire};
use super::strokes::{ResistorStyle, Spot, strokes};
use super::write::{Lettering, SIZE, lines_of};
use crate::circuit::NodeId;

/// From line to line.
const PITCH: f32 = 1.25;

/// A box between grid units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    pub from: Spot,
    pub to: Spot,
}

impl Frame {
    fn meets(&self, other: &Frame) -> bool {
        (0..2).all(|i| self.from[i] < other.to[i] && other.from[i] < self.to[i])
    }
}

/// Width of a text, units of its size: an even sans-serif face, letter by letter (own measure).
pub fn width(text: &str, bold: bool) -> f32 {
    let of = |c: char| match c {
        'i' | 'j' | 'l' | '.' | ',' | ':' | ';' | '|' | '\'' | '!' | ' ' => 0.32,
        'f' | 't' | 'r' | '(' | ')' | '-' | '/' => 0.42,
        'm' | 'w' | 'M' | 'W' | 'Ω' | '→' => 0.9,
        'A'..='Z' => 0.68,
        _ => 0.6,
    };
    let plain: f32 = text.chars().map(of).sum();
    if bold { 1.08 * plain } else { plain }
}

/// The ground that a text takes.
pub fn frame_of(text: &Text) -> Frame {
    let wide = width(&text.text, text.says == Says::Designator) * text.size;
    let left = match text.anchor {
        Anchor::Start => text.x,
        Anchor::Middle => text.x - wide / 2.0,
        Anchor::End => text.x - wide,
    };
    Frame {
        from: [left, text.y - 0.74 * text.size],
        to: [left + wide, text.y + 0.2 * text.size],
    }
}

/// Ground taken by lines of symbols and wires, a little wider than they are.
fn inked(placed: &[Placed], wires: &[Wire]) -> Vec<Frame> {
    let mut frames = Vec::new();
    let mut add = |from: Spot, to: Spot, room: f32| {
        frames.push(Frame {
            from: [from[0] - room, from[1] - room],
            to: [to[0] + room, to[1] + room],
        });
    };
    for symbol in placed {
        for stroke in strokes(symbol, ResistorStyle::Box, false) {
            let [from, to] = stroke.outline();
            add(from, to, 0.08);
        }
    }
    for wire in wires {
        for pair in wire.points.windows(2) {
            let x = [pair[0].x.min(pair[1].x), pair[0].x.max(pair[1].x)].map(|v| v as f32);
            let y = [pair[0].y.min(pair[1].y), pair[0].y.max(pair[1].y)].map(|v| v as f32);
            add([x[0], y[0]], [x[1], y[1]], 0.08);
        }
    }
    frames
}

/// Where a block of lines may stand: place of its first baseline, and its anchor.
fn candidates(placed: &Placed, lines: usize) -> Vec<(f32, f32, Anchor)> {
    let tall = PITCH * lines as f32;
    let (x, y) = (placed.at.x as f32, placed.at.y as f32);
    let step = placed.turn.step();
    let middle = placed.length as f32 / 2.0;
    let (mx, my) = (x + middle * step.x as f32, y + middle * step.y as f32);
    let top = my - tall / 2.0 + 0.85 * SIZE;
    let mut places = Vec::new();
    match placed.symbol {
        Symbol::Triode | Symbol::Pentode | Symbol::Rectifier => {
            let my = y + 4.0 * step.y as f32;
            for (dx, dy) in [
                (2.0, -2.6),
                (2.4, -1.4),
                (2.6, 2.2),
                (2.4, 0.0),
                (3.2, -3.4),
                (2.6, 3.2),
                (2.6, -4.4),
                (2.6, 4.4),
            ] {
                places.push((x + dx, my + dy, Anchor::Start));
                places.push((x - dx, my + dy, Anchor::End));
            }
        }
        Symbol::Transformer { .. } => {
            let low = y.max(y + placed.length as f32 * step.y as f32);
            for dy in [1.6, 2.6, 3.6] {
                places.push((x + 3.0, low + dy, Anchor::Middle));
                places.push((x + 1.0, low + dy, Anchor::Start));
            }
            let high = y.min(y + placed.length as f32 * step.y as f32);
            places.push((x + 3.0, high - tall, Anchor::Middle));
        }
        Symbol::Supply | Symbol::Jack | Symbol::Flag => {
            let away = if placed.turn == Way::Left { -1.0 } else { 1.0 };
            let anchor = if away > 0.0 {
                Anchor::Start
            } else {
                Anchor::End
            };
            if placed.turn.upright() {
                let far = if placed.turn == Way::Up { -1.6 } else { 2.2 };
                places.push((x, y + far, Anchor::Middle));
            } else {
                places.push((x + 1.4 * away, y + 0.35, anchor));
            }
            for dy in [-0.6, 1.3, -1.8, 2.5] {
                places.push((x + 1.4, y + dy, Anchor::Start));
                places.push((x - 1.4, y + dy, Anchor::End));
            }
        }
        _ if placed.turn.upright() => {
            let right = if placed.symbol == Symbol::Loudspeaker {
                [2.2, 2.6, 3.0, 3.4]
            } else {
                [1.0, 1.4, 2.0, 2.6]
            };
            for dx in right {
                for dy in [0.0, -1.0, 1.0, 2.0, -2.0] {
                    places.push((mx + dx, top + dy, Anchor::Start));
                }
            }
            for dx in [1.0, 1.4, 2.0, 2.6] {
                for dy in [0.0, -1.0, 1.0, 2.0] {
                    places.push((mx - dx, top + dy, Anchor::End));
                }
            }
        }
        _ => {
            for up in [1.3, 1.6, 2.0] {
                places.push((mx, my - up - tall + PITCH, Anchor::Middle));
            }
            for down in [1.9, 2.3] {
                places.push((mx, my + down, Anchor::Middle));
            }
            for dx in [-2.0, 2.0, -3.0, 3.0] {
                places.push((mx + dx, my - 1.3 - tall + PITCH, Anchor::Middle));
                places.push((mx + dx, my + 1.9, Anchor::Middle));
            }
        }
    }
    // Further away, before it would be left out.
    let near = places.clone();
    for away in [1.5, 3.0] {
        for (px, py, anchor) in &near {
            let (dx, dy) = match anchor {
                Anchor::Start => (away, 0.0),
                Anchor::End => (-away, 0.0),
                Anchor::Middle => (0.0, if *py < my { -away } else { away }),
            };
            places.push((px + dx, py + dy, *anchor));
        }
    }
    places
}

/// Gives a sheet its texts. What has no free place gets its first, and is a fault of the drawing.
pub fn label(sheet: &mut Sheet, lettering: &Lettering<'_>) {
    let mut taken = inked(&sheet.placed, &sheet.wires);
    let mut texts: Vec<Text> = Vec::new();
    let mut blocks: Vec<(&Placed, Vec<Text>)> = Vec::new();
    for placed in &sheet.placed {
        let lines = lines_of(lettering, placed);
        if lines.is_empty() {
            continue;
        }
        let places = if split(placed) && lines.len() == 2 {
            around(placed)
        } else {
            Vec::new()
        };
        if !places.is_empty() {
            let own: Vec<Text> = places
                .iter()
                .zip(&lines)
                .map(|((x, y, anchor), line)| at(line, *x, *y, *anchor))
                .collect();
            if free(&own, &taken) {
                taken.extend(own.iter().map(frame_of));
                texts.extend(own);
                continue;
            }
        }
        blocks.push((placed, lines));
    }
    for (placed, lines) in blocks {
        let places = candidates(placed, lines.len());
        if places
            .iter()
            .any(|place| free(&block(&lines, *place), &taken))
        {
            put(places, &lines, &mut taken, &mut texts);
            continue;
        }
        // Line by line where there is no room for all in one place.
        for line in &lines {
            let places = candidates(placed, 1);
            put(places, std::slice::from_ref(line), &mut taken, &mut texts);
        }
    }
    for (node, lines) in lettering.nodes(sheet) {
        let rail = lines.iter().any(|line| line.says == Says::Name);
        put(beside(sheet, node, rail), &lines, &mut taken, &mut texts);
    }
    sheet.texts = texts;
}

fn put(
    places: Vec<(f32, f32, Anchor)>,
    lines: &[Text],
    taken: &mut Vec<Frame>,
    texts: &mut Vec<Text>,
) {
    let found = places
        .iter()
        .find(|place| free(&block(lines, **place), taken));
    let Some(place) = found.or(places.first()) else {
        return;
    };
    let own = block(lines, *place);
    // Volts that find no place are left out: they stand in the list too.
    let volts = lines.iter().all(|line| line.says == Says::Volts);
    if volts && !free(&own, taken) {
        return;
    }
    taken.extend(own.iter().map(frame_of));
    texts.extend(own);
}

/// Lines under one another from a place on.
fn block(lines: &[Text], (x, y, anchor): (f32, f32, Anchor)) -> Vec<Text> {
    lines
        .iter()
        .enumerate()
        .map(|(i, line)| at(line, x, y + PITCH * i as f32, anchor))
        .collect()
}

fn at(line: &Text, x: f32, y: f32, anchor: Anchor) -> Text {
    Text {
        x,
        y,
        anchor,
        ..line.clone()
    }
}

fn free(texts: &[Text], taken: &[Frame]) -> bool {
    texts
        .iter()
        .map(frame_of)
        .all(|frame| !taken.iter().any(|other| frame.meets(other)))
}

/// Whether designator and value stand on either side of a lying part.
fn split(placed: &Placed) -> bool {
    matches!(
        placed.symbol,
        Symbol::Resistor
            | Symbol::Capacitor
            | Symbol::PolarCapacitor { .. }
            | Symbol::Inductor
            | Symbol::Switch { .. }
    ) && !placed.turn.upright()
}

/// Above and below a lying part.
fn around(placed: &Placed) -> Vec<(f32, f32, Anchor)> {
    let step = placed.turn.step();
    let middle = placed.length as f32 / 2.0;
    let mx = placed.at.x as f32 + middle * step.x as f32;
    let my = placed.at.y as f32 + middle * step.y as f32;
    vec![
        (mx, my - 1.3, Anchor::Middle),
        (mx, my + 1.95, Anchor::Middle),
    ]
}

/// Places beside a node's pins and wires.
fn beside(sheet: &Sheet, node: NodeId, rail: bool) -> Vec<(f32, f32, Anchor)> {
    let mut places = Vec::new();
    let valve = |p: &&Placed| !rail && matches!(p.symbol, Symbol::Triode | Symbol::Pentode);
    for placed in sheet.placed.iter().filter(valve) {
        for pin in placed.pins.iter().filter(|pin| pin.node == node) {
            let (x, y) = (pin.at.x as f32, pin.at.y as f32);
            for (dx, dy, anchor) in [
                (-0.4, -0.4, Anchor::End),
                (0.4, -0.4, Anchor::Start),
                (-0.4, 1.2, Anchor::End),
                (0.4, 1.2, Anchor::Start),
            ] {
                places.push((x + dx, y + dy, anchor));
            }
        }
    }
    let mut wires: Vec<&Wire> = sheet.wires.iter().filter(|w| w.node == node).collect();
    wires.sort_by_key(|wire| {
        let (a, b) = (wire.points[0], wire.points[wire.points.len() - 1]);
        let level = a.y == b.y;
        (!level, a.y, a.x)
    });
    for wire in wires {
        let (a, b) = (wire.points[0], wire.points[wire.points.len() - 1]);
        let (x, y) = (a.x as f32, a.y as f32);
        if a.y == b.y {
            for dx in [0.4, 1.0, 2.0, 3.0, 4.0, 6.0] {
                places.push((x + dx, y - 0.35, Anchor::Start));
                places.push((x + dx, y + 1.1, Anchor::Start));
            }
        } else {
            for dy in [1.0, 2.0, 3.0, 4.0] {
                places.push((x + 0.4, y + dy, Anchor::Start));
                places.push((x - 0.4, y + dy, Anchor::End));
            }
        }
    }
    for pin in sheet.placed.iter().flat_map(|p| &p.pins) {
        if pin.node == node {
            let (x, y) = (pin.at.x as f32, pin.at.y as f32);
            places.push((x + 0.4, y - 0.35, Anchor::Start));
            places.push((x - 0.4, y - 0.35, Anchor::End));
            places.push((x + 0.4, y + 1.1, Anchor::Start));
            places.push((x - 0.4, y + 1.1, Anchor::End));
        }
    }
    places
}

/// Texts on one another, or on lines of symbols and wires.
pub fn text_faults(sheet: &Sheet) -> Vec<super::fault::Fault> {
    use super::fault::Fault;
    let mut faults = Vec::new();
    let inked = inked(&sheet.placed, &sheet.wires);
    for (i, text) in sheet.texts.iter().enumerate() {
        let frame = frame_of(text);
        for other in &sheet.texts[..i] {
            if frame.meets(&frame_of(other)) {
                faults.push(Fault::Text {
                    text: text.text.clone(),
                    on: other.text.clone(),
                });
            }
        }
        if inked.iter().any(|ink| frame.meets(ink)) {
            faults.push(Fault::Text {
                text: text.text.clone(),
                on: match text.of {
                    Some(Item::Part(part)) => format!("a line, of part {}", part.0),
                    _ => "a line".into(),
                },
            });
        }
    }
    faults
}
