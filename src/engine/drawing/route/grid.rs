//! The cells that wires run over: which net runs level and which upright in each, bodies, pins.

use crate::circuit::NodeId;
use crate::drawing::sheet::{Area, Placed, Point, Symbol, Way};

/// One cell of the grid.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Cell {
    /// A symbol's body: no wire.
    pub body: bool,
    /// Where a text is likely.
    pub text: bool,
    /// The node of a pin here.
    pub pin: Option<NodeId>,
    /// The net with a level wire here, and the one with an upright wire.
    pub level: Option<NodeId>,
    pub upright: Option<NodeId>,
    /// Ways in which wires leave, a bit each by [`bit`].
    pub arms: u8,
    /// Ways in which pins' own leads leave.
    pub leads: u8,
}

pub(super) const WAYS: [Way; 4] = [Way::Right, Way::Down, Way::Left, Way::Up];

pub(super) fn bit(way: Way) -> u8 {
    1 << way as u8
}

impl Cell {
    pub fn along(&self, way: Way) -> Option<NodeId> {
        if way.upright() {
            self.upright
        } else {
            self.level
        }
    }

    pub fn has(&self, way: Way) -> bool {
        self.arms & bit(way) != 0
    }

    /// The net that owns this cell alone, if one does.
    pub fn owner(&self) -> Option<NodeId> {
        match (self.pin, self.level, self.upright) {
            (Some(pin), _, _) => Some(pin),
            (_, Some(a), Some(b)) => (a == b).then_some(a),
            (_, Some(a), None) | (_, None, Some(a)) => Some(a),
            _ => None,
        }
    }
}

/// The grid.
pub(super) struct Grid {
    pub from: Point,
    pub wide: i32,
    pub tall: i32,
    pub cells: Vec<Cell>,
}

/// Room around all symbols.
const MARGIN: i32 = 6;

impl Grid {
    pub fn new(placed: &[Placed], soft: &[Area]) -> Grid {
        let mut points: Vec<Point> = placed
            .iter()
            .flat_map(|p| [p.body.from, p.body.to])
            .collect();
        points.extend(placed.iter().flat_map(|p| p.pins.iter().map(|pin| pin.at)));
        if points.is_empty() {
            points.push(Point::new(0, 0));
        }
        let area = Area::around(&points).wider(MARGIN);
        let mut grid = Grid {
            from: area.from,
            wide: area.to.x - area.from.x + 1,
            tall: area.to.y - area.from.y + 1,
            cells: Vec::new(),
        };
        grid.cells = vec![Cell::default(); (grid.wide * grid.tall) as usize];
        for area in soft {
            grid.fill(*area, |cell| cell.text = true);
        }
        for symbol in placed {
            if symbol.symbol != Symbol::Flag {
                grid.fill(symbol.body, |cell| cell.body = true);
            }
        }
        for pin in placed.iter().flat_map(|p| &p.pins) {
            if let Some(i) = grid.index(pin.at) {
                grid.cells[i].pin = Some(pin.node);
                grid.cells[i].leads |= bit(pin.leaves.opposite());
            }
        }
        grid
    }

    fn fill(&mut self, area: Area, change: impl Fn(&mut Cell)) {
        for y in area.from.y..=area.to.y {
            for x in area.from.x..=area.to.x {
                if let Some(i) = self.index(Point::new(x, y)) {
                    change(&mut self.cells[i]);
                }
            }
        }
    }

    pub fn index(&self, at: Point) -> Option<usize> {
        let (x, y) = (at.x - self.from.x, at.y - self.from.y);
        ((0..self.wide).contains(&x) && (0..self.tall).contains(&y))
            .then(|| (y * self.wide + x) as usize)
    }

    pub fn point(&self, index: usize) -> Point {
        let (x, y) = (index as i32 % self.wide, index as i32 / self.wide);
        Point::new(x + self.from.x, y + self.from.y)
    }

    pub fn next(&self, index: usize, way: Way) -> Option<usize> {
        self.index(self.point(index).on(way, 1))
    }

    /// Whether a wire of a net may go from a cell one step on. A cell with another net may only be
    /// crossed: straight, over a plain straight wire.
    pub fn may_step(&self, node: NodeId, from: usize, to: usize, way: Way) -> bool {
        let (a, b) = (&self.cells[from], &self.cells[to]);
        let foreign = |net: Option<NodeId>| net.is_some_and(|net| net != node);
        if b.body || foreign(b.pin) || foreign(a.pin) {
            return false;
        }
        if foreign(a.along(way)) || foreign(b.along(way)) {
            return false;
        }
        if a.leads & bit(way) != 0 || b.leads & bit(way.opposite()) != 0 {
            return false;
        }
        if foreign(b.along(way.clockwise())) {
            let straight = b.has(way.clockwise()) && b.has(way.clockwise().opposite());
            return straight && b.pin.is_none();
        }
        true
    }

    /// Whether a wire that comes a way must go straight on: it crosses another net here.
    pub fn crosses(&self, node: NodeId, at: usize, way: Way) -> bool {
        self.cells[at]
            .along(way.clockwise())
            .is_some_and(|net| net != node)
    }

    /// Lays one step of a wire.
    pub fn lay(&mut self, node: NodeId, from: usize, to: usize, way: Way) {
        for (i, way) in [(from, way), (to, way.opposite())] {
            let cell = &mut self.cells[i];
            cell.arms |= bit(way);
            if way.upright() {
                cell.upright = Some(node);
            } else {
                cell.level = Some(node);
            }
        }
    }
}
