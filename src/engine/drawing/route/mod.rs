//! Wires between symbols in their places.
//!
//! Takes symbols, lines that are wanted as they are, and areas where texts are likely; gives straight
//! lines by node, dots, and flags where there is no way. Nets go by their span, the shortest first; each
//! is joined from its smallest piece by the cheapest way over cell and direction (A*: P. E. Hart,
//! N. J. Nilsson, B. Raphael, IEEE Trans. SSC 4(2), 1968, from memory).

mod grid;

use super::sheet::{Area, Item, Placed, Point, Symbol, Way, Wire};
use super::symbols::{Stand, place};
use crate::circuit::{GROUND, NodeId};
use grid::{Grid, WAYS};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

const STEP: u32 = 10;
const BEND: u32 = 40;
const CROSSING: u32 = 140;
const TEXT: u32 = 30;
const BESIDE_WIRE: u32 = 8;
const BESIDE_BODY: u32 = 6;

/// What joins the pins.
#[derive(Clone, Debug, Default)]
pub struct Routed {
    /// Straight lines, each as long as its net goes on.
    pub wires: Vec<Wire>,
    pub dots: Vec<(NodeId, Point)>,
    /// Names in place of wires for which there was no way.
    pub flags: Vec<Placed>,
}

/// Joins all pins of each node.
pub fn route(placed: &[Placed], first: &[Wire], soft: &[Area]) -> Routed {
    let mut grid = Grid::new(placed, soft);
    for wire in first {
        lay_line(&mut grid, wire);
    }
    let mut pins: BTreeMap<NodeId, Vec<usize>> = BTreeMap::new();
    for pin in placed.iter().flat_map(|p| &p.pins) {
        if let Some(i) = grid.index(pin.at) {
            pins.entry(pin.node).or_default().push(i);
        }
    }
    let mut named: BTreeMap<NodeId, Vec<usize>> = BTreeMap::new();
    for symbol in placed {
        if matches!(symbol.symbol, Symbol::Ground | Symbol::Flag)
            && let Some(i) = grid.index(symbol.pins[0].at)
        {
            named.entry(symbol.pins[0].node).or_default().push(i);
        }
    }
    let mut order: Vec<NodeId> = pins.keys().copied().collect();
    order.sort_by_key(|node| (span(&grid, &pins[node]), *node));
    let mut flags = Vec::new();
    let mut search = Search::new(grid.cells.len());
    for node in order {
        let named = named.get(&node).map(Vec::as_slice).unwrap_or_default();
        for lost in join(&mut grid, &mut search, node, &pins[&node], named) {
            flags.extend(flag_at(placed, node, grid.point(lost)));
        }
    }
    Routed {
        wires: lines(&grid),
        dots: dots(&grid),
        flags,
    }
}

/// Half the outline of a net.
fn span(grid: &Grid, pins: &[usize]) -> i32 {
    let points: Vec<Point> = pins.iter().map(|i| grid.point(*i)).collect();
    let area = Area::around(&points);
    area.to.x - area.from.x + area.to.y - area.from.y
}

/// Lays a wanted line if all of it may be.
fn lay_line(grid: &mut Grid, wire: &Wire) {
    let mut steps = Vec::new();
    for pair in wire.points.windows(2) {
        let (from, to) = (pair[0], pair[1]);
        let way = match (to.x - from.x, to.y - from.y) {
            (0, 0) => continue,
            (x, 0) if x > 0 => Way::Right,
            (_, 0) => Way::Left,
            (0, y) if y > 0 => Way::Down,
            (0, _) => Way::Up,
            _ => return,
        };
        let mut at = from;
        while at != to {
            let next = at.on(way, 1);
            let (Some(a), Some(b)) = (grid.index(at), grid.index(next)) else {
                return;
            };
            if !grid.may_step(wire.node, a, b, way) {
                return;
            }
            steps.push((a, b, way));
            at = next;
        }
    }
    for (a, b, way) in steps {
        grid.lay(wire.node, a, b, way);
    }
}

/// Joins the pins of a node; gives a pin of each piece that could not be joined.
fn join(
    grid: &mut Grid,
    search: &mut Search,
    node: NodeId,
    pins: &[usize],
    named: &[usize],
) -> Vec<usize> {
    let mut lost = Vec::new();
    // Cells with a wire of this node.
    let mut wired: Vec<usize> = (0..grid.cells.len())
        .filter(|i| {
            let cell = &grid.cells[*i];
            cell.level == Some(node) || cell.upright == Some(node)
        })
        .collect();
    loop {
        let (pieces, whole) = pieces(grid, search, node, pins, named, &wired);
        let open: Vec<usize> = (0..pieces.len())
            .filter(|i| !lost.iter().any(|pin| pieces[*i].contains(pin)))
            .collect();
        // Pieces with a name hang together by it.
        let mut free: Vec<usize> = open
            .iter()
            .filter(|i| !whole.contains(i))
            .copied()
            .collect();
        let named = node == GROUND || !whole.is_empty();
        if free.is_empty() || (!named && open.len() <= 1) {
            if !named && !lost.is_empty() {
                // What the lost ones would have joined needs the name too.
                lost.extend(open.iter().filter_map(|i| pin_in(&pieces[*i], pins)));
            }
            return lost;
        }
        free.sort_by_key(|i| (pieces[*i].len(), pieces[*i][0]));
        let start = free[0];
        let targets: Vec<usize> = pieces
            .iter()
            .enumerate()
            .filter(|(i, _)| *i != start)
            .flat_map(|(_, piece)| piece.iter().copied())
            .collect();
        match search.run(grid, node, &pieces[start], &targets) {
            Some(steps) => {
                for (a, b, way) in steps {
                    grid.lay(node, a, b, way);
                    wired.extend([a, b]);
                }
            }
            None => {
                lost.push(pin_in(&pieces[start], pins).unwrap_or(pieces[start][0]));
            }
        }
    }
}

/// A pin of a piece.
fn pin_in(piece: &[usize], pins: &[usize]) -> Option<usize> {
    piece.iter().find(|cell| pins.contains(cell)).copied()
}

/// Cells of a node that hang together, piece by piece, and which pieces bear a name.
fn pieces(
    grid: &Grid,
    search: &mut Search,
    node: NodeId,
    pins: &[usize],
    named: &[usize],
    wired: &[usize],
) -> (Vec<Vec<usize>>, Vec<usize>) {
    search.round += 1;
    let round = search.round;
    let seen = &mut search.marked;
    let mut pieces: Vec<Vec<usize>> = Vec::new();
    for start in pins.iter().chain(wired).copied() {
        if seen[start] == round {
            continue;
        }
        let mut piece = vec![start];
        seen[start] = round;
        let mut k = 0;
        while k < piece.len() {
            let at = piece[k];
            k += 1;
            for way in WAYS {
                let cell = &grid.cells[at];
                if !cell.has(way) || cell.along(way) != Some(node) {
                    continue;
                }
                if let Some(next) = grid.next(at, way)
                    && seen[next] != round
                {
                    seen[next] = round;
                    piece.push(next);
                }
            }
        }
        pieces.push(piece);
    }
    // A wanted line that no pin lies on is no piece to be joined.
    pieces.retain(|piece| piece.iter().any(|cell| pins.contains(cell)) || piece.len() > 1);
    let whole = (0..pieces.len())
        .filter(|i| named.iter().any(|cell| pieces[*i].contains(cell)))
        .collect();
    (pieces, whole)
}

type Steps = Vec<(usize, usize, Way)>;

/// Room for searches, so that none clears what another wrote: a number counts only in its round.
struct Search {
    round: u32,
    best: Vec<(u32, u32)>,
    came: Vec<u32>,
    /// Cells that are targets, or seen, in a round.
    marked: Vec<u32>,
    heap: BinaryHeap<Reverse<(u32, usize)>>,
}

impl Search {
    fn new(cells: usize) -> Search {
        Search {
            round: 0,
            best: vec![(0, u32::MAX); cells * 4],
            came: vec![u32::MAX; cells * 4],
            marked: vec![0; cells],
            heap: BinaryHeap::new(),
        }
    }

    fn cost(&self, state: usize) -> u32 {
        let (round, cost) = self.best[state];
        if round == self.round { cost } else { u32::MAX }
    }

    fn reach(&mut self, state: usize, cost: u32, came: u32, ahead: u32) {
        self.best[state] = (self.round, cost);
        self.came[state] = came;
        self.heap.push(Reverse((cost + ahead, state)));
    }

    /// The cheapest way from a piece to any target cell.
    fn run(
        &mut self,
        grid: &Grid,
        node: NodeId,
        from: &[usize],
        targets: &[usize],
    ) -> Option<Steps> {
        let goal: Vec<Point> = targets.iter().map(|i| grid.point(*i)).collect();
        if goal.is_empty() {
            return None;
        }
        self.round += 1;
        self.heap.clear();
        for target in targets {
            self.marked[*target] = self.round;
        }
        let goal = Area::around(&goal);
        let ahead = |at: usize| {
            let p = grid.point(at);
            let x = (goal.from.x - p.x).max(p.x - goal.to.x).max(0);
            let y = (goal.from.y - p.y).max(p.y - goal.to.y).max(0);
            STEP * (x + y) as u32
        };
        for start in from {
            // A cell that another net crosses is no place to branch off.
            if grid.cells[*start].owner() == Some(node) {
                for way in WAYS {
                    self.reach(start * 4 + way as usize, 0, u32::MAX, ahead(*start));
                }
            }
        }
        while let Some(Reverse((estimate, state))) = self.heap.pop() {
            let (at, way) = (state / 4, WAYS[state % 4]);
            let cost = self.cost(state);
            if estimate > cost + ahead(at) {
                continue;
            }
            if self.marked[at] == self.round && grid.cells[at].owner() == Some(node) {
                return Some(trace(grid, &self.came, state));
            }
            self.expand(grid, node, state, (at, way, cost), &ahead);
        }
        None
    }

    fn expand(
        &mut self,
        grid: &Grid,
        node: NodeId,
        state: usize,
        (at, way, cost): (usize, Way, u32),
        ahead: &dyn Fn(usize) -> u32,
    ) {
        let must = cost > 0 && grid.crosses(node, at, way);
        for next_way in WAYS {
            let turns = next_way != way;
            let back = next_way == way.opposite();
            if (cost > 0 && (back || (must && turns))) || (cost == 0 && turns) {
                continue;
            }
            let Some(next) = grid.next(at, next_way) else {
                continue;
            };
            if !grid.may_step(node, at, next, next_way) {
                continue;
            }
            let bend = if turns { BEND } else { 0 };
            let total = cost + STEP + bend + surroundings(grid, node, next, next_way);
            let state_next = next * 4 + next_way as usize;
            if total < self.cost(state_next) {
                self.reach(state_next, total, state as u32, ahead(next));
            }
        }
    }
}

/// What a cell costs beyond the step: crossing, text, what runs beside it.
fn surroundings(grid: &Grid, node: NodeId, at: usize, way: Way) -> u32 {
    let mut price = 0;
    if grid.crosses(node, at, way) {
        price += CROSSING;
    }
    if grid.cells[at].text {
        price += TEXT;
    }
    for side in [way.clockwise(), way.clockwise().opposite()] {
        let Some(beside) = grid.next(at, side) else {
            continue;
        };
        let cell = &grid.cells[beside];
        if cell.body {
            price += BESIDE_BODY;
        }
        if cell.along(way).is_some_and(|net| net != node) {
            price += BESIDE_WIRE;
        }
    }
    price
}

fn trace(grid: &Grid, came: &[u32], end: usize) -> Steps {
    let mut steps = Vec::new();
    let mut state = end;
    while came[state] != u32::MAX {
        let before = came[state] as usize;
        steps.push((before / 4, state / 4, WAYS[state % 4]));
        state = before;
    }
    debug_assert!(
        steps
            .iter()
            .all(|(a, b, way)| grid.next(*a, *way) == Some(*b))
    );
    steps
}

/// Straight lines, each as long as it goes on.
fn lines(grid: &Grid) -> Vec<Wire> {
    let mut wires = Vec::new();
    for way in [Way::Right, Way::Down] {
        for start in 0..grid.cells.len() {
            let cell = &grid.cells[start];
            if !cell.has(way) || cell.has(way.opposite()) {
                continue;
            }
            let Some(node) = cell.along(way) else {
                continue;
            };
            let mut at = start;
            while grid.cells[at].has(way) {
                let Some(next) = grid.next(at, way) else {
                    break;
                };
                at = next;
            }
            wires.push(Wire {
                node,
                points: vec![grid.point(start), grid.point(at)],
            });
        }
    }
    wires.sort_by_key(|wire| (wire.node, wire.points[0], wire.points[1]));
    wires
}

/// Where three or more ways of one node meet, leads of pins among them.
fn dots(grid: &Grid) -> Vec<(NodeId, Point)> {
    let mut dots = Vec::new();
    for (i, cell) in grid.cells.iter().enumerate() {
        let ways = (cell.arms | cell.leads).count_ones();
        if ways >= 3
            && let Some(node) = cell.owner()
        {
            dots.push((node, grid.point(i)));
        }
    }
    dots
}

/// A name at a pin, on the side where a wire would leave.
fn flag_at(placed: &[Placed], node: NodeId, at: Point) -> Option<Placed> {
    let pins = placed.iter().flat_map(|p| &p.pins);
    let mut here = pins.filter(|pin| pin.node == node && pin.at == at);
    let pin = here.next()?;
    let stand = Stand {
        at,
        turn: pin.leaves,
        mirrored: false,
        length: 2,
    };
    Some(place(Item::Flag(node), Symbol::Flag, stand, &[node]))
}
