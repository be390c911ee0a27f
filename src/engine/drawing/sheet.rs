//! A drawn sheet: symbols in their places, wires, dots and texts, in grid units.
//!
//! One unit is a tenth of an inch on paper as a schematic is usually gridded; x to the right, y down.
//! Pins lie on whole units. Everything that shows a drawing (SVG, window, job sheet) takes this.

use crate::circuit::{NodeId, PartId};

/// A place on the grid.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Point {
    pub x: i32,
    pub y: i32,
}

/// Where something points.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Way {
    Right,
    Down,
    Left,
    Up,
}

/// What is drawn at a place. See `symbols` for the shape of each and the order of its pins.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Symbol {
    Resistor,
    Capacitor,
    /// With a sign at its positive pin: the second, or else the first.
    PolarCapacitor {
        plus_second: bool,
    },
    Inductor,
    /// Pins from, to, wiper.
    Pot,
    /// Two pins, the wiper tied to the second, or to the first.
    Rheostat {
        tied_to_first: bool,
    },
    Switch {
        closed: bool,
    },
    /// Pins anode, grid, cathode.
    Triode,
    /// Pins anode, screen, grid, cathode.
    Pentode,
    /// Pins to (the rail), from (ground or a bias).
    Rectifier,
    /// One pin.
    Supply,
    /// Primary taps from end to end, then secondary taps.
    Transformer {
        primary: u8,
        secondary: u8,
    },
    Loudspeaker,
    /// Two pins.
    Source,
    /// The jack: one pin.
    Jack,
    /// One pin, at the top.
    Ground,
    /// One pin: the wire goes on at the flag of the same name.
    Flag,
}

/// What a symbol stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Item {
    Part(PartId),
    /// The input.
    Jack,
    /// Ground, at a pin.
    Ground,
    /// A name in place of a wire.
    Flag(NodeId),
}

/// Where a wire may be joined.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pin {
    pub node: NodeId,
    pub at: Point,
    /// The way a wire leaves.
    pub leaves: Way,
}

/// From a corner to the opposite one, both within.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Area {
    pub from: Point,
    pub to: Point,
}

/// A symbol in its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Placed {
    pub item: Item,
    pub symbol: Symbol,
    /// The pin that `turn` is told from: the first.
    pub at: Point,
    /// The way from the first pin to the second (of a valve: from the anode to the cathode).
    pub turn: Way,
    /// Seen in that direction, what stands at its left stands at its right (a valve's grid; a wiper).
    pub mirrored: bool,
    /// From first to last pin of a part with two ends that is drawn longer or shorter than usual.
    pub length: i32,
    /// In the symbol's order.
    pub pins: Vec<Pin>,
    /// What no foreign wire or text may enter.
    pub body: Area,
}

/// A wire of one node: a line from corner to corner, level or upright.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wire {
    pub node: NodeId,
    pub points: Vec<Point>,
}

/// What a text tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Says {
    Designator,
    Value,
    /// A second line: a control's name, "not fitted".
    Note,
    /// Direct volts at a node.
    Volts,
    /// A rail's or flag's name.
    Name,
}

/// Where a text begins, lies about, or ends at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Anchor {
    Start,
    Middle,
    End,
}

/// A text, at its baseline. A unit has ten parts here.
#[derive(Clone, Debug, PartialEq)]
pub struct Text {
    pub says: Says,
    /// Whose.
    pub of: Option<Item>,
    pub node: Option<NodeId>,
    pub text: String,
    /// In units.
    pub x: f32,
    pub y: f32,
    pub anchor: Anchor,
    /// Height of the letters, units.
    pub size: f32,
    pub changed: bool,
}

/// A whole drawing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sheet {
    pub placed: Vec<Placed>,
    pub wires: Vec<Wire>,
    /// Where three or more ways of one node meet.
    pub dots: Vec<(NodeId, Point)>,
    pub texts: Vec<Text>,
    pub from: Point,
    pub to: Point,
}
