//! From values that fit to parts that exist.
//!
//! The nearest value for each part by itself is often not the best: parts trade against one
//! another. So combinations are searched in the order of how probable they are by the fit's own
//! covariance (a closest-point search in a lattice, depth first, with what is already lost as the
//! bound), and the best of them are put into the circuit and judged exactly.

use super::unknowns::{Unknown, UnknownKind};
use crate::circuit::Drawer;
use crate::numeric::cholesky::Cholesky;
use crate::units::Series;

/// Values about the nearest one that are tried, on each side.
const EACH_SIDE: usize = 2;
/// Combinations that are judged exactly.
pub const JUDGED: usize = 24;
/// Most branches that are looked at; deep in a search with many parts the rest is given up.
const MOST_BRANCHES: usize = 400_000;
/// Values closer than this share are one.
const SAME: f64 = 1e-6;

/// Where parts come from.
#[derive(Clone, Copy, Debug)]
pub enum Choice<'a> {
    /// A series of preferred values.
    Series(Series),
    /// What the owner has.
    Drawer(&'a Drawer),
}

/// One value that may be taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Candidate {
    /// SI units.
    pub value: f64,
    /// The unknown's number.
    pub x: f64,
    /// Which stock of the drawer it comes from; none from a shop, or what is there already.
    pub stock: Option<usize>,
}

/// The values that each part may take. A position may be anything and has none, but where it is
/// it `stays`. A part that stays has the value it has.
pub fn candidates(
    unknowns: &[Unknown],
    found: &[f64],
    stays: &[bool],
    choice: Choice<'_>,
) -> Vec<Vec<Candidate>> {
    let each = unknowns.iter().zip(found).zip(stays);
    each.map(|((unknown, &found), &stays)| of_one(unknown, found, stays, choice))
        .collect()
}

fn of_one(unknown: &Unknown, found: f64, stays: bool, choice: Choice<'_>) -> Vec<Candidate> {
    let at = |x: f64| Candidate {
        value: unknown.value(x),
        x,
        stock: None,
    };
    let UnknownKind::Value(quantity) = unknown.kind else {
        return match stays {
            true => vec![at(unknown.start)],
            false => Vec::new(),
        };
    };
    // What is in the amp need not be bought.
    let mut all = vec![at(unknown.start)];
    if stays {
        return all;
    }
    let candidate = |value: f64, stock| Candidate {
        value,
        x: unknown.number(value),
        stock,
    };
    match choice {
        Choice::Series(series) => {
            let nearest = series.nearest(unknown.value(found));
            all.push(candidate(nearest, None));
            let (mut up, mut down) = (nearest, nearest);
            for _ in 0..EACH_SIDE {
                up = series.next(up);
                down = series.previous(down);
                all.extend([up, down].map(|value| candidate(value, None)));
            }
        }
        Choice::Drawer(drawer) => {
            let stock = drawer.stock.iter().enumerate();
            let fitting = stock.filter(|(_, s)| s.quantity == quantity);
            all.extend(fitting.map(|(i, s)| candidate(s.value, Some(i))));
        }
    }
    let [low, high] = unknown.range;
    let edge = SAME * 10.0;
    let mut kept: Vec<Candidate> = Vec::new();
    for new in all {
        let known = kept
            .iter()
            .any(|old| (old.value / new.value - 1.0).abs() < SAME);
        if !known && (low - edge..=high + edge).contains(&new.x) {
            kept.push(new);
        }
    }
    kept
}

/// The likeliest combinations, likeliest first: a candidate's place for each part that has any.
///
/// `mean` and `covariance` are of all unknowns; those without candidates follow the others freely.
pub fn combinations(
    mean: &[f64],
    covariance: &[Vec<f64>],
    candidates: &[Vec<Candidate>],
    choice: Choice<'_>,
) -> Vec<Vec<usize>> {
    let parts: Vec<usize> = (0..mean.len())
        .filter(|&i| !candidates[i].is_empty())
        .collect();
    let block: Vec<Vec<f64>> = parts
        .iter()
        .map(|&i| parts.iter().map(|&j| covariance[i][j]).collect())
        .collect();
    let Some(factors) = Cholesky::new(&block) else {
        return Vec::new();
    };
    let pieces = match choice {
        Choice::Series(_) => Vec::new(),
        Choice::Drawer(drawer) => drawer.stock.iter().map(|s| s.pieces).collect(),
    };
    let mut search = Search {
        parts: &parts,
        mean,
        candidates,
        factors: &factors,
        left: pieces,
        offsets: Vec::new(),
        chosen: Vec::new(),
        best: Vec::new(),
        branches: 0,
    };
    search.deepen(0.0);
    search.best.into_iter().map(|(_, chosen)| chosen).collect()
}

struct Search<'a> {
    parts: &'a [usize],
    mean: &'a [f64],
    candidates: &'a [Vec<Candidate>],
    factors: &'a Cholesky,
    /// Pieces left in the drawer.
    left: Vec<usize>,
    /// How far the parts chosen so far are from the fit.
    offsets: Vec<f64>,
    chosen: Vec<usize>,
    /// Lost by each combination, least first.
    best: Vec<(f64, Vec<usize>)>,
    branches: usize,
}

impl Search<'_> {
    fn deepen(&mut self, lost: f64) {
        let depth = self.chosen.len();
        if depth == self.parts.len() {
            let place = self.best.partition_point(|(other, _)| *other <= lost);
            self.best.insert(place, (lost, self.chosen.clone()));
            self.best.truncate(JUDGED);
            return;
        }
        let part = self.parts[depth];
        let options = &self.candidates[part];
        // With the covariance L·Lᵀ the loss is a sum of squares, each entry of which depends on the
        // parts chosen so far alone.
        let mut ways: Vec<(f64, usize)> = Vec::with_capacity(options.len());
        for (place, option) in options.iter().enumerate() {
            self.offsets.push(option.x - self.mean[part]);
            let last = self.factors.white(&self.offsets).pop().unwrap_or(0.0);
            self.offsets.pop();
            ways.push((lost + last * last, place));
        }
        ways.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (lost, place) in ways {
            let full = self.best.len() == JUDGED;
            let hopeless = full && self.best.last().is_some_and(|(worst, _)| lost >= *worst);
            if hopeless || self.branches >= MOST_BRANCHES {
                return;
            }
            self.branches += 1;
            let option = options[place];
            if let Some(stock) = option.stock {
                if self.left[stock] == 0 {
                    continue;
                }
                self.left[stock] -= 1;
            }
            self.offsets.push(option.x - self.mean[part]);
            self.chosen.push(place);
            self.deepen(lost);
            self.chosen.pop();
            self.offsets.pop();
            if let Some(stock) = option.stock {
                self.left[stock] += 1;
            }
        }
    }
}

/// All unknowns with the parts at the candidates that were chosen: positions go where they are
/// likeliest with these parts.
pub fn completed(
    unknowns: &[Unknown],
    mean: &[f64],
    covariance: &[Vec<f64>],
    candidates: &[Vec<Candidate>],
    chosen: &[usize],
) -> Vec<f64> {
    let mut x = mean.to_vec();
    let parts: Vec<usize> = (0..mean.len())
        .filter(|&i| !candidates[i].is_empty())
        .collect();
    for (&part, &place) in parts.iter().zip(chosen) {
        x[part] = candidates[part][place].x;
    }
    let block: Vec<Vec<f64>> = parts
        .iter()
        .map(|&i| parts.iter().map(|&j| covariance[i][j]).collect())
        .collect();
    let offsets: Vec<f64> = parts.iter().map(|&i| x[i] - mean[i]).collect();
    if let Some(factors) = Cholesky::new(&block) {
        let pull = factors.solve(&offsets);
        for i in (0..mean.len()).filter(|i| candidates[*i].is_empty()) {
            let moved = parts.iter().zip(&pull).map(|(&j, p)| covariance[i][j] * p);
            let [low, high] = unknowns[i].range;
            x[i] = (mean[i] + moved.sum::<f64>()).clamp(low, high);
        }
    }
    x
}

/// Each part at the value nearest to its own, whatever the others do.
pub fn each_alone(mean: &[f64], candidates: &[Vec<Candidate>]) -> Vec<usize> {
    let parts = mean.iter().zip(candidates).filter(|(_, c)| !c.is_empty());
    let nearest = |(mean, options): (&f64, &Vec<Candidate>)| {
        let off = |i: &usize| (options[*i].x - mean).abs();
        (0..options.len())
            .min_by(|a, b| off(a).total_cmp(&off(b)))
            .unwrap_or(0)
    };
    parts.map(nearest).collect()
}
