//! Empty rows and columns taken out of a sheet: of those that stand side by side one stays.
//!
//! A row is empty when nothing but upright wires pass it, a column when nothing but level ones do.

use super::super::labels::frame_of;
use super::super::sheet::{Placed, Point, Sheet};
use super::super::strokes::{ResistorStyle, strokes};

/// From the first to the last row or column that a thing takes.
pub(super) type Span = (i32, i32);

/// The columns and the rows that a symbol takes with its lines and pins.
pub(super) fn of_symbol(placed: &Placed) -> [Span; 2] {
    let mut x = (placed.body.from.x, placed.body.to.x);
    let mut y = (placed.body.from.y, placed.body.to.y);
    let mut add = |from: [f32; 2], to: [f32; 2]| {
        x = (x.0.min(from[0].floor() as i32), x.1.max(to[0].ceil() as i32));
        y = (y.0.min(from[1].floor() as i32), y.1.max(to[1].ceil() as i32));
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

/// What texts and symbols take: columns and rows.
pub(super) fn things(sheet: &Sheet) -> Vec<[Span; 2]> {
    let texts = sheet.texts.iter().map(|text| {
        let frame = frame_of(text);
        let span = |i: usize| (frame.from[i].floor() as i32, frame.to[i].ceil() as i32);
        [span(0), span(1)]
    });
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

/// Columns: 0, rows: 1.
fn along(sheet: &Sheet, axis: usize) -> Sheet {
    let of = |point: Point| if axis == 0 { point.x } else { point.y };
    let mut spans: Vec<Span> = things(sheet).iter().map(|thing| thing[axis]).collect();
    spans.extend(sheet.dots.iter().map(|(_, at)| (of(*at), of(*at))));
    for point in sheet.wires.iter().flat_map(|wire| &wire.points) {
        spans.push((of(*point), of(*point)));
    }
    let Some(first) = spans.iter().map(|span| span.0).min() else {
        return sheet.clone();
    };
    let last = spans.iter().map(|span| span.1).max().unwrap_or(first);
    let mut taken = vec![false; (last - first + 1) as usize];
    for (from, to) in spans {
        taken[(from - first) as usize..=(to - first) as usize].fill(true);
    }
    let mut places = Vec::new();
    let (mut place, mut before) = (first, true);
    for taken in taken {
        places.push(place);
        place += i32::from(taken || before);
        before = taken;
    }
    let moved = |at: i32| places[(at - first) as usize] - at;
    let mut out = sheet.clone();
    for placed in &mut out.placed {
        let by = moved(of(placed.at));
        move_symbol(placed, [by * i32::from(axis == 0), by * i32::from(axis == 1)]);
    }
    for point in out.wires.iter_mut().flat_map(|wire| &mut wire.points) {
        move_point(point, axis, moved(of(*point)));
    }
    for (_, at) in &mut out.dots {
        move_point(at, axis, moved(of(*at)));
    }
    for text in &mut out.texts {
        let by = moved(frame_of(text).from[axis].floor() as i32) as f32;
        if axis == 0 {
            text.x += by;
        } else {
            text.y += by;
        }
    }
    out
}

fn move_point(point: &mut Point, axis: usize, by: i32) {
    if axis == 0 {
        point.x += by;
    } else {
        point.y += by;
    }
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
