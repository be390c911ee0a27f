//! Wires between symbols in their places.
//!
//! Takes symbols, lines that are wanted as they are, and areas where texts are likely; gives straight
//! lines by node, dots, and flags where there is no way. Nets go by their span, the shortest first; each
//! is joined from its smallest piece by the cheapest way over cell and direction (A*: P. E. Hart,
//! N. J. Nilsson, B. Raphael, IEEE Trans. SSC 4(2), 1968, from memory).

mod grid;
mod search;

use super::sheet::{Area, Item, Placed, Point, Symbol, Way, Wire};
use super::symbols::{Stand, place};
use crate::circuit::{GROUND, NodeId};
use grid::{Grid, WAYS};
use search::Search;
use std::collections::BTreeMap;

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
