//! Empty rows and columns taken out of a sheet: of those that stand side by side one stays.
//!
//! A row is empty when nothing but upright wires and leads of upright parts pass it, a column when
//! nothing but level ones do. Leads come out shorter, down to the least length of a part.

use crate::circuit::NodeId;
use crate::drawing::labels::frame_of;
use crate::drawing::sheet::{Item, Placed, Point, Sheet, Symbol, Text};
use crate::drawing::strokes::{ResistorStyle, strokes};
use crate::drawing::symbols::{Stand, place};

/// The least length of a part with two ends: its texts stand beside it in two lines.
const SHORTEST: i32 = 4;

/// From the first to the last row or column that a thing takes.
pub(super) type Span = (i32, i32);

/// The columns and the rows that a symbol takes with its lines and pins.
pub(super) fn of_symbol(placed: &Placed) -> [Span; 2] {
    let mut x = (placed.body.from.x, placed.body.to.x);
    let mut y = (placed.body.from.y, placed.body.to.y);
    let mut add = |from: [f32; 2], to: [f32; 2]| {
        x = (
            x.0.min(from[0].floor() as i32),
            x.1.max(to[0].ceil() as i32),
        );
        y = (
            y.0.min(from[1].floor() as i32),
            y.1.max(to[1].ceil() as i32),
        );
    };
    for pin in &placed.pins {
        let at = [pin.at.x as f32, pin.at.y as f32];
        add(at, at);
    }
    for stroke in strokes(placed, ResistorStyle::Box, false) {
        let [from, to] = stroke.outline();
        add(from, to);
    }
    [x, y]
}

/// The columns and rows of a text.
fn of_text(text: &Text) -> [Span; 2] {
    let frame = frame_of(text);
    [0, 1].map(|i| (frame.from[i].floor() as i32, frame.to[i].ceil() as i32))
}

/// What texts and symbols take: columns and rows.
pub(super) fn things(sheet: &Sheet) -> Vec<[Span; 2]> {
    let texts = sheet.texts.iter().map(of_text);
    sheet.placed.iter().map(of_symbol).chain(texts).collect()
}

/// Takes out empty columns.
pub(super) fn columns(sheet: &Sheet) -> Sheet {
    along(sheet, 0)
}

/// Takes out empty rows.
pub(super) fn rows(sheet: &Sheet) -> Sheet {
    along(sheet, 1)
}

/// By how much a symbol's leads may be shortened along an axis.
fn slack(placed: &Placed, axis: usize) -> i32 {
    let shortest = match placed.symbol {
        Symbol::Resistor
        | Symbol::Capacitor
        | Symbol::PolarCapacitor { .. }
        | Symbol::Switch { .. } => SHORTEST,
        _ => return 0,
    };
    if placed.turn.upright() == (axis == 1) {
        (placed.length - shortest).max(0)
    } else {
        0
    }
}

/// A symbol whose leads may be shortened, between its pins.
struct Flexible {
    pins: Span,
    slack: i32,
}

/// Columns: 0, rows: 1.
fn along(sheet: &Sheet, axis: usize) -> Sheet {
    let of = |point: Point| if axis == 0 { point.x } else { point.y };
    let mut spans: Vec<Span> = Vec::new();
    let mut flexible: Vec<Flexible> = Vec::new();
    for placed in &sheet.placed {
        let slack = slack(placed, axis);
        if slack == 0 {
            spans.push(of_symbol(placed)[axis]);
            continue;
        }
        let ends = [0, 1].map(|i: usize| of(placed.pins[i].at));
        spans.extend(ends.map(|end| (end, end)));
        let pins = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        flexible.push(Flexible { pins, slack });
    }
    for text in &sheet.texts {
        // A text beside a part that has slack keeps its room by the part's least length.
        let own = sheet.placed.iter().find(|p| Some(p.item) == text.of);
        if !own.is_some_and(|p| slack(p, axis) > 0 && matches!(p.item, Item::Part(_))) {
            spans.push(of_text(text)[axis]);
        }
    }
    spans.extend(sheet.dots.iter().map(|(_, at)| (of(*at), of(*at))));
    for point in sheet.wires.iter().flat_map(|wire| &wire.points) {
        spans.push((of(*point), of(*point)));
    }
    let Some(places) = Places::new(&spans, flexible) else {
        return sheet.clone();
    };
    moved(sheet, axis, &places)
}

/// Where each row or column goes.
struct Places {
    first: i32,
    places: Vec<i32>,
}

impl Places {
    fn new(spans: &[Span], mut flexible: Vec<Flexible>) -> Option<Places> {
        let first = spans.iter().map(|span| span.0).min()?;
        let last = spans.iter().map(|span| span.1).max().unwrap_or(first);
        let mut taken = vec![false; (last - first + 1) as usize];
        for (from, to) in spans {
            taken[(from - first) as usize..=(to - first) as usize].fill(true);
        }
        let mut places = Vec::new();
        let (mut place, mut before) = (first, true);
        for (i, taken) in taken.iter().enumerate() {
            let at = first + i as i32;
            places.push(place);
            let inside = |f: &&mut Flexible| f.pins.0 < at && at < f.pins.1;
            let keeps =
                *taken || before || flexible.iter_mut().filter(inside).any(|f| f.slack == 0);
            if keeps {
                place += 1;
            } else {
                flexible
                    .iter_mut()
                    .filter(inside)
                    .for_each(|f| f.slack -= 1);
            }
            before = *taken;
        }
        Some(Places { first, places })
    }

    fn of(&self, at: i32) -> i32 {
        let last = self.places.len() as i32 - 1;
        self.places[(at - self.first).clamp(0, last) as usize]
    }
}

/// A sheet with its columns or rows elsewhere.
fn moved(sheet: &Sheet, axis: usize, places: &Places) -> Sheet {
    let to = |point: Point| match axis {
        0 => Point::new(places.of(point.x), point.y),
        _ => Point::new(point.x, places.of(point.y)),
    };
    let mut out = sheet.clone();
    for placed in &mut out.placed {
        let at = to(placed.at);
        if slack(placed, axis) == 0 {
            move_symbol(placed, [at.x - placed.at.x, at.y - placed.at.y]);
            continue;
        }
        let far = to(placed.pins[1].at);
        let stand = Stand {
            at,
            turn: placed.turn,
            mirrored: placed.mirrored,
            length: (far.x - at.x).abs() + (far.y - at.y).abs(),
        };
        let nodes: Vec<NodeId> = placed.pins.iter().map(|pin| pin.node).collect();
        *placed = place(placed.item, placed.symbol, stand, &nodes);
    }
    for point in out.wires.iter_mut().flat_map(|wire| &mut wire.points) {
        *point = to(*point);
    }
    for (_, at) in &mut out.dots {
        *at = to(*at);
    }
    for text in &mut out.texts {
        // With its symbol where it has one: by as much as the symbol's middle.
        let find = |sheet: &Sheet| {
            let own = sheet.placed.iter().find(|p| Some(p.item) == text.of);
            own.filter(|p| matches!(p.item, Item::Part(_))).map(|p| {
                let (x, y) = (p.body.from.x + p.body.to.x, p.body.from.y + p.body.to.y);
                [x as f32 / 2.0, y as f32 / 2.0][axis]
            })
        };
        let by = match (
            find(sheet),
            out.placed.iter().find(|p| Some(p.item) == text.of),
        ) {
            (Some(before), Some(after)) => {
                let (from, to) = (after.body.from, after.body.to);
                [(from.x + to.x) as f32 / 2.0, (from.y + to.y) as f32 / 2.0][axis] - before
            }
            _ => {
                let at = frame_of(text).from[axis].floor() as i32;
                (places.of(at) - at) as f32
            }
        };
        if axis == 0 {
            text.x += by;
        } else {
            text.y += by;
        }
    }
    out
}

fn move_symbol(placed: &mut Placed, [x, y]: [i32; 2]) {
    let pins = placed.pins.iter_mut().map(|pin| &mut pin.at);
    let ends = [&mut placed.at, &mut placed.body.from, &mut placed.body.to];
    for point in pins.chain(ends) {
        point.x += x;
        point.y += y;
    }
}

/// Moves all that is on a sheet.
pub(super) fn shift(sheet: &mut Sheet, x: i32, y: i32) {
    for placed in &mut sheet.placed {
        move_symbol(placed, [x, y]);
    }
    let points = sheet.wires.iter_mut().flat_map(|wire| &mut wire.points);
    for point in points.chain(sheet.dots.iter_mut().map(|(_, at)| at)) {
        point.x += x;
        point.y += y;
    }
    for text in &mut sheet.texts {
        text.x += x as f32;
        text.y += y as f32;
    }
}
