//! The cheapest way from a piece of a net to another: A* over cell and direction.

use super::grid::{Grid, WAYS};
use crate::circuit::NodeId;
use crate::drawing::sheet::{Area, Point, Way};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

const STEP: u32 = 10;
const BEND: u32 = 40;
const CROSSING: u32 = 140;
const TEXT: u32 = 30;
const BESIDE_WIRE: u32 = 8;
const BESIDE_BODY: u32 = 6;

/// Steps from cell to cell.
pub(super) type Steps = Vec<(usize, usize, Way)>;

/// Room for searches, so that none clears what another wrote: a number counts only in its round.
pub(super) struct Search {
    pub round: u32,
    best: Vec<(u32, u32)>,
    came: Vec<u32>,
    /// Cells that are targets, or seen, in a round.
    pub marked: Vec<u32>,
    heap: BinaryHeap<Reverse<(u32, usize)>>,
}

impl Search {
    pub fn new(cells: usize) -> Search {
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
    pub fn run(
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
