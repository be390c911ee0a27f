//! The lines of each symbol, by IEC 60617 (from memory): what SVG, window and job sheet paint.
//!
//! Takes a symbol in its place; gives strokes in grid units. Nothing else draws a symbol.

use super::frame::Frame;
pub use super::frame::Spot;
use super::sheet::{Placed, Symbol};

/// How a resistor is drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum ResistorStyle {
    /// A box.
    #[default]
    Box,
    /// A zig-zag.
    ZigZag,
}

/// A thing to paint.
#[derive(Clone, Debug, PartialEq)]
pub enum Stroke {
    /// A line through places, thin.
    Line(Vec<Spot>),
    /// A thick line: plates, cathodes.
    Bar(Vec<Spot>),
    /// An outline that is closed.
    Outline(Vec<Spot>),
    /// A filled area.
    Filled(Vec<Spot>),
    /// A circle: centre, radius.
    Circle(Spot, f32),
    /// Part of a circle, as places on it; `dashed` for the half of a valve that stands elsewhere.
    Dashed(Vec<Spot>),
}

impl Stroke {
    /// From the least to the greatest of its places.
    pub fn outline(&self) -> [Spot; 2] {
        let points: Vec<Spot> = match self {
            Stroke::Circle([x, y], r) => vec![[x - r, y - r], [x + r, y + r]],
            Stroke::Line(points)
            | Stroke::Bar(points)
            | Stroke::Outline(points)
            | Stroke::Filled(points)
            | Stroke::Dashed(points) => points.clone(),
        };
        let mut least = [f32::MAX; 2];
        let mut most = [f32::MIN; 2];
        for point in points {
            for i in 0..2 {
                least[i] = least[i].min(point[i]);
                most[i] = most[i].max(point[i]);
            }
        }
        [least, most]
    }
}

/// Half the height of a resistor's box.
const HALF: f32 = 1.5;

/// The strokes of a symbol in its place. `half` draws a valve as one of two in a bulb.
pub fn strokes(placed: &Placed, style: ResistorStyle, half: bool) -> Vec<Stroke> {
    let frame = Frame::of(placed);
    let length = placed.length as f32;
    match placed.symbol {
        Symbol::Resistor => resistor(&frame, length, style),
        Symbol::Capacitor => capacitor(&frame, length, None),
        Symbol::PolarCapacitor { plus_second } => capacitor(&frame, length, Some(plus_second)),
        Symbol::Inductor => coil(&frame, length),
        Symbol::Pot => pot(&frame, length, style),
        Symbol::Rheostat { tied_to_first } => rheostat(&frame, length, style, tied_to_first),
        Symbol::Switch { closed } => switch(&frame, length, closed),
        Symbol::Triode => valve(&frame, half, false),
        Symbol::Pentode => valve(&frame, half, true),
        Symbol::Rectifier => rectifier(&frame),
        Symbol::Supply | Symbol::Jack => vec![Stroke::Circle(frame.spot(0.35, 0.0), 0.35)],
        Symbol::Transformer { .. } => transformer(&frame, placed, length),
        Symbol::Loudspeaker => loudspeaker(&frame, length),
        Symbol::Source => source(&frame, length),
        Symbol::Ground => vec![
            Stroke::Line(frame.line(&[(0.0, 0.0), (1.0, 0.0)])),
            Stroke::Line(frame.line(&[(1.0, -0.9), (1.0, 0.9)])),
            Stroke::Line(frame.line(&[(1.3, -0.6), (1.3, 0.6)])),
            Stroke::Line(frame.line(&[(1.6, -0.3), (1.6, 0.3)])),
        ],
        Symbol::Flag => vec![Stroke::Line(frame.line(&[
            (0.0, 0.0),
            (0.6, 0.0),
            (0.6, 0.4),
            (1.2, 0.0),
            (0.6, -0.4),
            (0.6, 0.0),
        ]))],
    }
}

fn leads(frame: &Frame, from: f32, to: f32, length: f32) -> Vec<Stroke> {
    vec![
        Stroke::Line(frame.line(&[(0.0, 0.0), (from, 0.0)])),
        Stroke::Line(frame.line(&[(to, 0.0), (length, 0.0)])),
    ]
}

fn body(frame: &Frame, middle: f32, style: ResistorStyle) -> Stroke {
    let (from, to) = (middle - HALF, middle + HALF);
    match style {
        ResistorStyle::Box => {
            Stroke::Outline(frame.line(&[(from, -0.5), (to, -0.5), (to, 0.5), (from, 0.5)]))
        }
        ResistorStyle::ZigZag => {
            let mut spots = vec![(from, 0.0)];
            for i in 0..6 {
                let side = if i % 2 == 0 { 0.55 } else { -0.55 };
                spots.push((from + (i as f32 + 0.5) * (to - from) / 6.0, side));
            }
            spots.push((to, 0.0));
            Stroke::Line(frame.line(&spots))
        }
    }
}

fn resistor(frame: &Frame, length: f32, style: ResistorStyle) -> Vec<Stroke> {
    let middle = length / 2.0;
    let mut strokes = leads(frame, middle - HALF, middle + HALF, length);
    strokes.push(body(frame, middle, style));
    strokes
}

fn capacitor(frame: &Frame, length: f32, plus_second: Option<bool>) -> Vec<Stroke> {
    let middle = length / 2.0;
    let mut strokes = leads(frame, middle - 0.3, middle + 0.3, length);
    for place in [middle - 0.3, middle + 0.3] {
        strokes.push(Stroke::Bar(frame.line(&[(place, -1.0), (place, 1.0)])));
    }
    if let Some(second) = plus_second {
        let along = if second { middle + 1.1 } else { middle - 1.1 };
        // At the left of an upright one.
        let left = if frame.aside[0].abs() > 0.5 {
            -frame.aside[0]
        } else {
            frame.aside[1]
        };
        let aside = 0.9 * left;
        strokes.push(Stroke::Line(
            frame.line(&[(along - 0.3, aside), (along + 0.3, aside)]),
        ));
        strokes.push(Stroke::Line(
            frame.line(&[(along, aside - 0.3), (along, aside + 0.3)]),
        ));
    }
    strokes
}

fn coil(frame: &Frame, length: f32) -> Vec<Stroke> {
    let from = length / 2.0 - 2.0;
    let mut strokes = leads(frame, from, from + 4.0, length);
    for i in 0..4 {
        let centre = (from + 0.5 + i as f32, 0.0);
        strokes.push(Stroke::Line(frame.arc(centre, 0.5, 180.0, 0.0)));
    }
    strokes.push(Stroke::Line(frame.line(&[(from, 0.9), (from + 4.0, 0.9)])));
    strokes
}

/// A filled head at a place, pointing along the line from another.
fn arrow(frame: &Frame, from: (f32, f32), to: (f32, f32)) -> Stroke {
    let (x, y) = (to.0 - from.0, to.1 - from.1);
    let long = x.hypot(y).max(1e-3);
    let (x, y) = (x / long * 0.8, y / long * 0.8);
    let back = (to.0 - x, to.1 - y);
    Stroke::Filled(frame.line(&[
        to,
        (back.0 - 0.4 * y, back.1 + 0.4 * x),
        (back.0 + 0.4 * y, back.1 - 0.4 * x),
    ]))
}

fn pot(frame: &Frame, length: f32, style: ResistorStyle) -> Vec<Stroke> {
    let mut strokes = resistor(frame, length, style);
    let middle = length / 2.0;
    let wiper = super::symbols::WIPER as f32;
    strokes.push(Stroke::Line(frame.line(&[(middle, wiper), (middle, 0.9)])));
    strokes.push(arrow(frame, (middle, wiper), (middle, 0.5)));
    strokes
}

fn rheostat(frame: &Frame, length: f32, style: ResistorStyle, tied_to_first: bool) -> Vec<Stroke> {
    let mut strokes = resistor(frame, length, style);
    let middle = length / 2.0;
    let end = if tied_to_first { 0.6 } else { length - 0.6 };
    strokes.push(Stroke::Line(frame.line(&[
        (end, 0.0),
        (end, 1.4),
        (middle, 1.4),
        (middle, 0.9),
    ])));
    strokes.push(arrow(frame, (middle, 1.4), (middle, 0.5)));
    strokes
}

fn switch(frame: &Frame, length: f32, closed: bool) -> Vec<Stroke> {
    let (from, to) = (length / 2.0 - 1.3, length / 2.0 + 1.3);
    let mut strokes = leads(frame, from - 0.2, to + 0.2, length);
    strokes.push(Stroke::Circle(frame.spot(from, 0.0), 0.2));
    strokes.push(Stroke::Circle(frame.spot(to, 0.0), 0.2));
    let tip = if closed {
        (to - 0.2, 0.1)
    } else {
        (to - 0.4, 0.9)
    };
    strokes.push(Stroke::Line(frame.line(&[(from + 0.2, 0.1), tip])));
    strokes
}

/// The radius of a bulb.
const BULB: f32 = 2.3;

fn valve(frame: &Frame, half: bool, pentode: bool) -> Vec<Stroke> {
    let middle = 4.0;
    let grid = super::symbols::GRID as f32;
    let mut strokes = vec![
        Stroke::Line(frame.line(&[(0.0, 0.0), (2.7, 0.0)])),
        Stroke::Bar(frame.line(&[(2.7, -1.1), (2.7, 1.1)])),
        Stroke::Line(frame.line(&[(5.2, 0.0), (8.0, 0.0)])),
        Stroke::Bar(frame.line(&[(5.5, -1.1), (5.2, -1.1), (5.2, 1.1), (5.5, 1.1)])),
    ];
    if half {
        strokes.push(Stroke::Line(frame.arc((middle, 0.0), BULB, -180.0, 0.0)));
        strokes.push(Stroke::Dashed(frame.arc((middle, 0.0), BULB, 0.0, 180.0)));
    } else {
        strokes.push(Stroke::Circle(frame.spot(middle, 0.0), BULB));
    }
    let row = |along: f32| -> Vec<Stroke> {
        [-1.2, -0.3, 0.6]
            .map(|aside| Stroke::Line(frame.line(&[(along, aside), (along, aside + 0.6)])))
            .to_vec()
    };
    if pentode {
        strokes.extend(row(3.2));
        strokes.extend(row(3.75));
        strokes.extend(row(4.4));
        strokes.push(Stroke::Line(frame.line(&[
            (4.4, -1.2),
            (4.0, -1.6),
            (4.0, -grid),
        ])));
        strokes.push(Stroke::Line(frame.line(&[
            (3.75, 1.2),
            (3.0, 1.7),
            (3.0, grid),
        ])));
        // The suppressor grid, or beam plates, on the cathode.
        strokes.push(Stroke::Line(frame.line(&[
            (3.2, -1.2),
            (3.2, -1.75),
            (5.2, -1.75),
            (5.2, -1.1),
        ])));
    } else {
        strokes.extend(row(4.0));
        strokes.push(Stroke::Line(frame.line(&[(4.0, -1.2), (4.0, -grid)])));
    }
    strokes
}

fn rectifier(frame: &Frame) -> Vec<Stroke> {
    let mut strokes = vec![
        Stroke::Line(frame.line(&[(0.0, 0.0), (2.6, 0.0)])),
        Stroke::Bar(frame.line(&[(2.9, -1.2), (2.6, -1.2), (2.6, 1.2), (2.9, 1.2)])),
        Stroke::Circle(frame.spot(4.0, 0.0), BULB),
    ];
    for side in [-1.0, 1.0] {
        strokes.push(Stroke::Bar(
            frame.line(&[(4.6, 0.4 * side), (4.6, 1.4 * side)]),
        ));
        strokes.push(Stroke::Line(
            frame.line(&[(4.6, 0.9 * side), (7.0, 0.9 * side)]),
        ));
        strokes.push(Stroke::Line(frame.arc(
            (7.0, 0.45 * side),
            0.45,
            90.0 * side,
            -90.0 * side,
        )));
    }
    strokes.push(Stroke::Line(frame.line(&[(7.0, 0.0), (8.0, 0.0)])));
    strokes
}

fn transformer(frame: &Frame, placed: &Placed, length: f32) -> Vec<Stroke> {
    let wide = super::symbols::WINDINGS as f32;
    let mut strokes = Vec::new();
    for (line, bulge, pin) in [(1.4, 1.0, 0.0), (wide - 1.4, -1.0, wide)] {
        let turns = (length / 1.5).round().max(2.0);
        let step = length / turns;
        for i in 0..turns as usize {
            let centre = (step * (i as f32 + 0.5), line);
            let (from, to) = if bulge > 0.0 {
                (180.0, 0.0)
            } else {
                (-180.0, 0.0)
            };
            let arc = frame.arc(centre, step / 2.0, from, to);
            strokes.push(Stroke::Line(arc));
        }
        for own in &placed.pins {
            let at = [own.at.x as f32, own.at.y as f32];
            let on_line = frame.spot(0.0, pin);
            let aside =
                (at[0] - on_line[0]) * frame.aside[0] + (at[1] - on_line[1]) * frame.aside[1];
            if aside.abs() < 0.1 {
                let along =
                    (at[0] - on_line[0]) * frame.along[0] + (at[1] - on_line[1]) * frame.along[1];
                strokes.push(Stroke::Line(frame.line(&[(along, pin), (along, line)])));
            }
        }
    }
    for aside in [wide / 2.0 - 0.25, wide / 2.0 + 0.25] {
        strokes.push(Stroke::Line(frame.line(&[(0.0, aside), (length, aside)])));
    }
    strokes
}

fn loudspeaker(frame: &Frame, length: f32) -> Vec<Stroke> {
    let middle = length / 2.0;
    let mut strokes = leads(frame, middle - 1.0, middle + 1.0, length);
    strokes.push(Stroke::Outline(frame.line(&[
        (middle - 1.0, -0.4),
        (middle + 1.0, -0.4),
        (middle + 1.0, 0.4),
        (middle - 1.0, 0.4),
    ])));
    strokes.push(Stroke::Outline(frame.line(&[
        (middle - 1.0, 0.4),
        (middle - 2.0, 1.8),
        (middle + 2.0, 1.8),
        (middle + 1.0, 0.4),
    ])));
    strokes
}

fn source(frame: &Frame, length: f32) -> Vec<Stroke> {
    let middle = length / 2.0;
    let mut strokes = leads(frame, middle - 1.0, middle + 1.0, length);
    strokes.push(Stroke::Circle(frame.spot(middle, 0.0), 1.0));
    let (x, y) = (middle - 0.5, 0.0);
    strokes.push(Stroke::Line(frame.line(&[(x - 0.25, y), (x + 0.25, y)])));
    strokes.push(Stroke::Line(frame.line(&[(x, y - 0.25), (x, y + 0.25)])));
    strokes
}
