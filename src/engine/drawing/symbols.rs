//! Where the pins of each symbol lie, and what ground it covers.
//!
//! A symbol is told by its first pin and by the way to its second (of a valve: from the anode to the
//! cathode). Lengths are grid units; lines drawn are in `strokes`.
//!
//! - Two ends: first at `at`, second `length` on. Loudspeaker and source likewise.
//! - Pot: from, to `length` on, wiper at half of it and [`WIPER`] aside: at the right of one that
//!   points down, at the left when mirrored.
//! - Triode: anode, grid, cathode: cathode [`VALVE`] on, grid at half of it and [`GRID`] aside: at the
//!   left of one that points down, at the right when mirrored.
//! - Pentode: anode, screen, grid, cathode: the screen opposite the grid, one unit nearer the anode.
//! - Rectifier: to, from: [`VALVE`] on.
//! - Transformer: primary taps in a line, `length` from end to end; secondary taps [`WINDINGS`] aside
//!   (at the right of one that points down), over the same length.
//! - One pin: jack, supply, ground, flag: the symbol lies on the way `turn` from the pin.

use super::sheet::{Area, Item, Pin, Placed, Point, Symbol, Way};
use crate::circuit::NodeId;

/// From a pot's line to its wiper's pin.
pub const WIPER: i32 = 3;
/// From anode to cathode.
pub const VALVE: i32 = 8;
/// From a valve's axis to its grid's pin.
pub const GRID: i32 = 4;
/// From the primary's line to the secondary's.
pub const WINDINGS: i32 = 6;
/// Usual length of a part with two ends.
pub const LENGTH: i32 = 6;
/// Usual length of a pot.
pub const POT: i32 = 8;

impl Way {
    /// One unit.
    pub fn step(self) -> Point {
        let (x, y) = match self {
            Way::Right => (1, 0),
            Way::Down => (0, 1),
            Way::Left => (-1, 0),
            Way::Up => (0, -1),
        };
        Point { x, y }
    }

    /// A quarter turn, as a clock's hands go: from right to down.
    pub fn clockwise(self) -> Way {
        match self {
            Way::Right => Way::Down,
            Way::Down => Way::Left,
            Way::Left => Way::Up,
            Way::Up => Way::Right,
        }
    }

    /// The other way.
    pub fn opposite(self) -> Way {
        self.clockwise().clockwise()
    }

    /// Whether it is up or down.
    pub fn upright(self) -> bool {
        matches!(self, Way::Down | Way::Up)
    }
}

impl Point {
    pub fn new(x: i32, y: i32) -> Point {
        Point { x, y }
    }

    /// So many units on.
    pub fn on(self, way: Way, units: i32) -> Point {
        let step = way.step();
        Point::new(self.x + step.x * units, self.y + step.y * units)
    }
}

impl Area {
    /// The smallest area with these points.
    pub fn around(points: &[Point]) -> Area {
        let (mut from, mut to) = (points[0], points[0]);
        for point in points {
            from = Point::new(from.x.min(point.x), from.y.min(point.y));
            to = Point::new(to.x.max(point.x), to.y.max(point.y));
        }
        Area { from, to }
    }

    pub fn contains(self, point: Point) -> bool {
        (self.from.x..=self.to.x).contains(&point.x) && (self.from.y..=self.to.y).contains(&point.y)
    }

    pub fn meets(self, other: Area) -> bool {
        self.from.x <= other.to.x
            && other.from.x <= self.to.x
            && self.from.y <= other.to.y
            && other.from.y <= self.to.y
    }

    /// So many units more at each side.
    pub fn wider(self, units: i32) -> Area {
        Area {
            from: Point::new(self.from.x - units, self.from.y - units),
            to: Point::new(self.to.x + units, self.to.y + units),
        }
    }
}

/// How a symbol stands.
#[derive(Clone, Copy, Debug)]
pub struct Stand {
    pub at: Point,
    pub turn: Way,
    pub mirrored: bool,
    pub length: i32,
}

/// A symbol in its place; `nodes` in the order of its pins.
pub fn place(item: Item, symbol: Symbol, stand: Stand, nodes: &[NodeId]) -> Placed {
    let Stand {
        at,
        turn,
        mirrored,
        length,
    } = stand;
    let right = if mirrored {
        turn.clockwise()
    } else {
        turn.clockwise().opposite()
    };
    let pin = |i: usize, at: Point, leaves: Way| Pin {
        node: nodes[i],
        at,
        leaves,
    };
    let along = |units: i32| at.on(turn, units);
    let back = turn.opposite();
    let left = right.opposite();
    let (pins, body): (Vec<Pin>, Vec<Point>) = match symbol {
        Symbol::Resistor
        | Symbol::Capacitor
        | Symbol::PolarCapacitor { .. }
        | Symbol::Inductor
        | Symbol::Switch { .. }
        | Symbol::Source => (
            vec![pin(0, at, back), pin(1, along(length), turn)],
            vec![along(1).on(right, 1), along(length - 1).on(left, 1)],
        ),
        Symbol::Rheostat { .. } => (
            vec![pin(0, at, back), pin(1, along(length), turn)],
            vec![along(1).on(right, 2), along(length - 1).on(left, 1)],
        ),
        Symbol::Loudspeaker => (
            vec![pin(0, at, back), pin(1, along(length), turn)],
            vec![along(1).on(right, 2), along(length - 1).on(left, 1)],
        ),
        Symbol::Pot => (
            vec![
                pin(0, at, back),
                pin(1, along(length), turn),
                pin(2, along(length / 2).on(right, WIPER), right),
            ],
            vec![along(1).on(right, WIPER - 1), along(length - 1).on(left, 1)],
        ),
        Symbol::Triode => (
            vec![
                pin(0, at, back),
                pin(1, along(VALVE / 2).on(left, GRID), left),
                pin(2, along(VALVE), turn),
            ],
            vec![along(1).on(left, GRID - 1), along(VALVE - 1).on(right, 3)],
        ),
        Symbol::Pentode => (
            vec![
                pin(0, at, back),
                pin(1, along(VALVE / 2 - 1).on(right, GRID), right),
                pin(2, along(VALVE / 2).on(left, GRID), left),
                pin(3, along(VALVE), turn),
            ],
            vec![
                along(1).on(left, GRID - 1),
                along(VALVE - 1).on(right, GRID - 1),
            ],
        ),
        Symbol::Rectifier => (
            vec![pin(0, at, back), pin(1, along(VALVE), turn)],
            vec![along(1).on(left, 3), along(VALVE - 1).on(right, 3)],
        ),
        Symbol::Transformer { primary, secondary } => {
            taps(stand, (right, left), [primary, secondary], nodes)
        }
        Symbol::Jack | Symbol::Supply => (
            vec![pin(0, at, back)],
            vec![along(1).on(right, 1), along(2).on(left, 1)],
        ),
        Symbol::Flag => (vec![pin(0, at, back)], vec![along(1), along(length.max(1))]),
        Symbol::Ground => (
            vec![pin(0, at, back)],
            vec![along(1).on(right, 1), along(2).on(left, 1)],
        ),
    };
    Placed {
        item,
        symbol,
        at,
        turn,
        mirrored,
        length,
        pins,
        body: Area::around(&body),
    }
}

/// Pins and body of a transformer.
fn taps(
    stand: Stand,
    (right, left): (Way, Way),
    [primary, secondary]: [u8; 2],
    nodes: &[NodeId],
) -> (Vec<Pin>, Vec<Point>) {
    let Stand {
        at, turn, length, ..
    } = stand;
    let tap = |i: u8, of: u8| at.on(turn, length * i32::from(i) / i32::from(of.max(2) - 1));
    let pin = |i: u8, at: Point, leaves: Way| Pin {
        node: nodes[i as usize],
        at,
        leaves,
    };
    let first = (0..primary).map(|i| pin(i, tap(i, primary), left));
    let second = (0..secondary).map(|i| {
        let at = tap(i, secondary).on(right, WINDINGS);
        pin(primary + i, at, right)
    });
    let body = vec![
        at.on(right, 1).on(turn.opposite(), 1),
        at.on(turn, length + 1).on(right, WINDINGS - 1),
    ];
    (first.chain(second).collect(), body)
}
