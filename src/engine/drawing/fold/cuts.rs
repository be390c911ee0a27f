//! Where a sheet may be cut, and which cuts are worth trying.
//!
//! A column may be cut where nothing stands and no wire ends: only level wires pass. For each number of
//! bands and several widths the cuts with the least height are found, step by step from the left.

use super::paper::{GAP, Paper};
use super::squeeze::things;
use crate::drawing::sheet::{Point, Sheet, Wire};

/// More bands than this are not tried.
const MOST: usize = 6;
/// Widths that are tried, from the narrowest that may be read to the whole.
const WIDTHS: usize = 24;
/// A band takes at least this part of the width.
const LEAST: i32 = 3;
/// What a cut wire costs, in rows.
const CUT: i32 = 1;

/// A column that may be cut, and how many wires it cuts.
struct Column {
    x: i32,
    wires: i32,
}

/// Lists of columns to cut at, each in order.
pub(super) fn choices(sheet: &Sheet, paper: Paper) -> Vec<Vec<i32>> {
    let columns = columns(sheet);
    if columns.is_empty() {
        return Vec::new();
    }
    let bands = Bands::new(sheet, &columns);
    let whole = sheet.to.x - sheet.from.x;
    let mut choices: Vec<Vec<i32>> = Vec::new();
    for i in 1..=WIDTHS {
        let width = whole * i as i32 / WIDTHS as i32;
        for cuts in bands.lowest(width) {
            if !choices.contains(&cuts) {
                choices.push(cuts);
            }
        }
    }
    // The likeliest first, by what the paper allows; few need to be stacked in full.
    choices.sort_by_key(|cuts| {
        let [wide, tall] = bands.size(cuts);
        let unit = (paper.wide / wide as f32).min(paper.tall / tall as f32);
        (-1000.0 * unit) as i32
    });
    choices.truncate(TRIED);
    choices
}

/// Lists that are stacked in full.
const TRIED: usize = 16;

/// The columns that may be cut.
fn columns(sheet: &Sheet) -> Vec<Column> {
    let things = things(sheet);
    let points = |wire: &Wire| wire.points.clone();
    let ends: Vec<Point> = sheet.wires.iter().flat_map(points).collect();
    let clear = |x: &i32| {
        !things
            .iter()
            .any(|[(from, to), _]| (*from..=*to).contains(x))
            && !sheet.dots.iter().any(|(_, at)| at.x == *x)
            && !ends.iter().any(|at| at.x == *x)
    };
    let crossing = |x: i32| {
        let pairs = sheet.wires.iter().flat_map(|wire| wire.points.windows(2));
        let passing = pairs.filter(|pair| (pair[0].x < x) != (pair[1].x < x));
        passing.count() as i32
    };
    (sheet.from.x + 1..sheet.to.x)
        .filter(clear)
        .map(|x| Column {
            x,
            wires: crossing(x),
        })
        .collect()
}

/// Pieces between columns, and the rows that each takes.
struct Bands {
    /// The sheet's edges and the columns between them.
    edges: Vec<i32>,
    wires: Vec<i32>,
    /// Rows by piece, a bit each.
    rows: Vec<Vec<u64>>,
}

impl Bands {
    fn new(sheet: &Sheet, columns: &[Column]) -> Bands {
        let mut edges = vec![sheet.from.x];
        edges.extend(columns.iter().map(|column| column.x));
        edges.push(sheet.to.x);
        let mut wires = vec![0];
        wires.extend(columns.iter().map(|column| column.wires));
        wires.push(0);
        let words = ((sheet.to.y - sheet.from.y + 1) as usize).div_ceil(64);
        let mut rows = vec![vec![0u64; words]; edges.len() - 1];
        let mut take = |x: (i32, i32), y: (i32, i32)| {
            for (i, piece) in rows.iter_mut().enumerate() {
                if x.0 > edges[i + 1] || x.1 < edges[i] {
                    continue;
                }
                for row in y.0.max(sheet.from.y)..=y.1.min(sheet.to.y) {
                    let row = (row - sheet.from.y) as usize;
                    piece[row / 64] |= 1 << (row % 64);
                }
            }
        };
        for [x, y] in things(sheet) {
            take(x, y);
        }
        for wire in &sheet.wires {
            for pair in wire.points.windows(2) {
                let (a, b) = (pair[0].min(pair[1]), pair[0].max(pair[1]));
                if a.y == b.y {
                    take((a.x, b.x), (a.y, a.y));
                }
            }
        }
        Bands { edges, wires, rows }
    }

    /// Height of a band from an edge to another once its empty rows are out.
    fn height(&self, from: usize, to: usize) -> i32 {
        let mut rows = vec![0u64; self.rows[0].len()];
        for piece in &self.rows[from..to] {
            for (row, own) in rows.iter_mut().zip(piece) {
                *row |= own;
            }
        }
        let taken: i32 = rows.iter().map(|word| word.count_ones() as i32).sum();
        let mut runs = 0;
        let mut carry = 0;
        for word in &rows {
            runs += (word & !(word << 1 | carry)).count_ones() as i32;
            carry = word >> 63;
        }
        taken + (runs - 1).max(0)
    }

    /// For each number of bands no wider than this the cuts that come out lowest.
    fn lowest(&self, width: i32) -> Vec<Vec<i32>> {
        let last = self.edges.len() - 1;
        // By edge: height so far, and the edge before.
        let mut so_far: Vec<Option<i32>> = vec![None; last + 1];
        so_far[0] = Some(0);
        let mut before: Vec<Vec<usize>> = Vec::new();
        let mut found = Vec::new();
        for _ in 0..MOST {
            let mut next: Vec<Option<i32>> = vec![None; last + 1];
            let mut came = vec![0; last + 1];
            for to in 1..=last {
                for from in (0..to).rev() {
                    if self.edges[to] - self.edges[from] > width {
                        break;
                    }
                    let narrow = self.edges[to] - self.edges[from] < width / LEAST;
                    let Some(above) = so_far[from].filter(|_| !narrow) else {
                        continue;
                    };
                    let height = above + self.height(from, to) + GAP + CUT * self.wires[to];
                    if next[to].is_none_or(|known| height < known) {
                        next[to] = Some(height);
                        came[to] = from;
                    }
                }
            }
            before.push(came);
            if next[last].is_some() {
                let mut cuts = Vec::new();
                let mut edge = last;
                for came in before.iter().rev() {
                    edge = came[edge];
                    cuts.push(self.edges[edge]);
                }
                cuts.pop();
                cuts.reverse();
                found.push(cuts);
            }
            so_far = next;
        }
        found
    }

    /// Width and height of the bands that cuts make.
    fn size(&self, cuts: &[i32]) -> [i32; 2] {
        let last = self.edges.len() - 1;
        let place = |x: &i32| self.edges.iter().position(|edge| edge == x).unwrap_or(last);
        let mut edges = vec![0];
        edges.extend(cuts.iter().map(place));
        edges.push(last);
        let (mut wide, mut tall) = (1, 1);
        for pair in edges.windows(2) {
            wide = wide.max(self.edges[pair[1]] - self.edges[pair[0]]);
            tall += self.height(pair[0], pair[1]) + GAP;
        }
        [wide, tall]
    }
}
