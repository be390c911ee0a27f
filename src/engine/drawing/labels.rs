//! Texts: designators, values, what changes, direct volts, names of rails and flags.
//!
//! Takes symbols and wires in their places; gives each text the first of its candidate places that meets
//! no line, no symbol and no other text.

use super::sheet::{Anchor, Item, Placed, Says, Sheet, Text, Wire};
use super::strokes::{ResistorStyle, Spot, strokes};
use super::text_places::{PITCH, Place, around, beside, candidates, split};
pub use super::text_places::{SIZE, SMALL};
use super::write::{Lettering, lines_of};
use crate::circuit::NodeId;
use std::collections::BTreeMap;

/// Boxes that share less than this only touch, units.
const ROUNDING: f32 = 1e-3;

/// How letters are set where it is not the usual way.
#[derive(Clone, Copy, Debug)]
pub struct Type<'a> {
    /// Times the usual size, at most.
    pub size: f32,
    /// No letters may be smaller than this, units; where a text has no place at `size`, it is tried
    /// down to here. None: at `size` alone.
    pub least: Option<f32>,
    /// Names of flags, where they are not those of the nodes.
    pub names: &'a BTreeMap<NodeId, String>,
}

/// A box between grid units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    pub from: Spot,
    pub to: Spot,
}

impl Frame {
    fn meets(&self, other: &Frame) -> bool {
        let over = |a: f32, b: f32| a < b - ROUNDING;
        (0..2).all(|i| over(self.from[i], other.to[i]) && over(other.from[i], self.to[i]))
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

/// Gives a sheet its texts. What has no free place gets its first, and is a fault of the drawing.
pub fn label(sheet: &mut Sheet, lettering: &Lettering<'_>) {
    let names = BTreeMap::new();
    let usual = Type {
        size: 1.0,
        least: None,
        names: &names,
    };
    label_in(sheet, lettering, &usual);
}

/// The same in letters of another size, or with other names at flags.
pub fn label_in(sheet: &mut Sheet, lettering: &Lettering<'_>, letters: &Type<'_>) {
    let mut pen = Pen {
        letters,
        taken: inked(&sheet.placed, &sheet.wires),
        texts: Vec::new(),
    };
    let mut late: Vec<(&Placed, Vec<Text>)> = Vec::new();
    for placed in &sheet.placed {
        let mut lines = lines_of(lettering, placed);
        if let Item::Flag(node) = placed.item
            && let Some(name) = letters.names.get(&node)
        {
            lines.iter_mut().for_each(|line| line.text = name.clone());
        }
        let halves = |size: f32| {
            let places = around(placed, size);
            let pairs = places.into_iter().zip(pen.sized(&lines, size));
            let own = pairs.map(|((x, y, anchor), line)| at(&line, x, y, anchor));
            vec![own.collect::<Vec<Text>>()]
        };
        let options = match split(placed) && lines.len() == 2 {
            true => pen.options(halves),
            false => Vec::new(),
        };
        if !pen.put(options) && !lines.is_empty() {
            late.push((placed, lines));
        }
    }
    for (placed, lines) in late {
        // All sizes near the part come before any place further away.
        let of = |size: f32, far: bool| {
            let places = candidates(placed, lines.len(), size);
            let near = places.len() / 3;
            let places = if far {
                &places[near..]
            } else {
                &places[..near]
            };
            pen.blocks(&lines, size, places)
        };
        let mut options = pen.options(|size| of(size, false));
        options.extend(pen.options(|size| of(size, true)));
        let first = options.first().cloned();
        if pen.put(options) || pen.put_lines(placed, &lines) {
            continue;
        }
        // A fault of the drawing: it stands on something.
        pen.texts.extend(first.unwrap_or_default());
    }
    for (node, lines) in lettering.nodes(sheet) {
        let rail = lines.iter().any(|line| line.says == Says::Name);
        let places = beside(sheet, node, rail);
        let options = pen.options(|size| pen.blocks(&lines, size, &places));
        let first = options.first().cloned();
        // Volts that find no place are left out: they stand in the list too.
        if !pen.put(options) && rail {
            pen.texts.extend(first.unwrap_or_default());
        }
    }
    sheet.texts = pen.texts;
}

/// Texts that have their places, and the ground that is taken.
struct Pen<'a> {
    letters: &'a Type<'a>,
    taken: Vec<Frame>,
    texts: Vec<Text>,
}

impl Pen<'_> {
    /// What is possible at each size that may be used, the largest first.
    fn options(&self, of: impl Fn(f32) -> Vec<Vec<Text>>) -> Vec<Vec<Text>> {
        let Type { size, least, .. } = *self.letters;
        let Some(least) = least else {
            return of(size);
        };
        let smaller = [0.93, 0.86, 0.8].map(|share| share * size);
        let smaller = smaller.into_iter().filter(|size| SIZE * size > least);
        let last = (least / SIZE < size).then_some(least / SIZE);
        [size]
            .into_iter()
            .chain(smaller)
            .chain(last)
            .flat_map(of)
            .collect()
    }

    fn sized(&self, lines: &[Text], size: f32) -> Vec<Text> {
        let least = self.letters.least.unwrap_or(0.0);
        let sized = |line: &Text| Text {
            size: (line.size * size).max(least),
            ..line.clone()
        };
        lines.iter().map(sized).collect()
    }

    /// Lines under one another, at each place.
    fn blocks(&self, lines: &[Text], size: f32, places: &[Place]) -> Vec<Vec<Text>> {
        let lines = self.sized(lines, size);
        let block = |(x, y, anchor): &Place| {
            let lines = lines.iter().enumerate();
            let placed = lines.map(|(i, line)| at(line, *x, y + PITCH * size * i as f32, *anchor));
            placed.collect()
        };
        places.iter().map(block).collect()
    }

    /// Puts lines one by one where there is no room for all in one place; whether there is for each.
    fn put_lines(&mut self, placed: &Placed, lines: &[Text]) -> bool {
        let (taken, texts) = (self.taken.len(), self.texts.len());
        let all = lines.iter().all(|line| {
            let line = std::slice::from_ref(line);
            let options =
                self.options(|size| self.blocks(line, size, &candidates(placed, 1, size)));
            self.put(options)
        });
        if !all {
            self.taken.truncate(taken);
            self.texts.truncate(texts);
        }
        all
    }

    /// Puts the first of the options that is free; whether there is one.
    fn put(&mut self, options: Vec<Vec<Text>>) -> bool {
        let found = options
            .into_iter()
            .find(|own| !own.is_empty() && free(own, &self.taken));
        let Some(own) = found else {
            return false;
        };
        self.taken.extend(own.iter().map(frame_of));
        self.texts.extend(own);
        true
    }
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
