//! The faults that would explain the readings best.

use super::fault::{Fault, faults};
use super::healthy::Healthy;
use super::model::Model;
use crate::network::Values;
use crate::numeric::parallel::{GoOn, on_all_cores};
use crate::solve::OperatingPointSolver;

/// Steps of the golden section that closes in on a fault's number.
const GOLDEN_STEPS: usize = 14;
/// A fault is told that takes away this share of the distance at least, and that many units.
const LEAST_SHARE: f64 = 0.3;
const LEAST_GAIN: f64 = 6.0;
/// Faults told at most.
const MOST: usize = 6;

/// A fault that would explain something.
#[derive(Clone, Debug, PartialEq)]
pub struct Suspicion {
    /// The fault.
    pub fault: Fault,
    /// How wrong.
    pub number: f64,
    /// What the points would then read, V.
    pub read: Vec<f64>,
    /// Squared distance that is left, with the fault's burden.
    pub left: f64,
}

/// What came of the search.
pub struct Search {
    /// The best first.
    pub suspicions: Vec<Suspicion>,
    /// Squared distance without any fault.
    pub distance: f64,
    /// Lowest and highest reading that any single fault tried would give, V.
    pub reach: Vec<[f64; 2]>,
}

/// Where a search starts: values, and what the points read with them, V.
pub struct Start<'a> {
    /// Values of the circuit.
    pub values: &'a Values,
    /// Readings.
    pub read: &'a [f64],
    /// How the readings move with a fault that is in these values already, whose size is not
    /// certain; none where there is none.
    pub direction: Option<&'a [f64]>,
}

/// Tries every fault in the circuit of `start`. `readings` are volts; those marked false in
/// `trusted` count as read as expected.
pub fn search(
    model: &Model,
    healthy: &Healthy,
    start: &Start,
    readings: &[f64],
    trusted: &[bool],
    go_on: GoOn<'_>,
) -> Option<Search> {
    let circuit = &model.side.circuit;
    let all = faults(model.network, circuit);
    let taken = |read: &[f64]| -> Vec<f64> {
        let pairs = readings.iter().zip(read).zip(trusted);
        pairs.map(|((r, e), &t)| if t { *r } else { *e }).collect()
    };
    let distance = |read: &[f64]| healthy.distance(&taken(read), read);
    let tried = on_all_cores(all.len(), go_on, &|index, go_on| {
        let fault = all[index];
        let mut solver = OperatingPointSolver::new(model.network);
        let mut values = start.values.clone();
        let mut read = |number: f64| {
            fault.put(model.network, circuit, start.values, number, &mut values);
            let read = model.read(&values, &mut solver)?;
            Some(match start.direction {
                Some(direction) => healthy.moved_along(&taken(&read), read, direction),
                None => read,
            })
        };
        let numbers = fault.numbers();
        let grid: Vec<Option<Vec<f64>>> = numbers.iter().map(|&n| read(n)).collect();
        let of = |number: f64, read: &Option<Vec<f64>>| {
            let left = read.as_deref().map_or(f64::INFINITY, &distance);
            left + fault.burden(number)
        };
        let costs: Vec<f64> = numbers.iter().zip(&grid).map(|(&n, r)| of(n, r)).collect();
        let best = (0..numbers.len()).min_by(|&a, &b| costs[a].total_cmp(&costs[b]))?;
        let mut suspicion = grid[best].clone().map(|read| Suspicion {
            fault,
            number: numbers[best],
            read,
            left: costs[best],
        });
        // Between its neighbours, straight in logarithms.
        if numbers.len() > 1 && costs[best].is_finite() {
            let low = numbers[best.saturating_sub(1)].ln();
            let high = numbers[(best + 1).min(numbers.len() - 1)].ln();
            let mut cost = |x: f64| {
                let read = read(x.exp());
                (of(x.exp(), &read), read)
            };
            let (x, (left, found)) = golden(low, high, &mut cost);
            if let (Some(found), Some(best)) = (found, &mut suspicion)
                && left < best.left
            {
                *best = Suspicion {
                    fault,
                    number: x.exp(),
                    read: found,
                    left,
                };
            }
        }
        go_on(1.0).then_some((suspicion, grid))
    })?;
    let nothing = distance(start.read);
    let mut reach: Vec<[f64; 2]> = healthy.bands.iter().map(|b| [b.p1, b.p99]).collect();
    for read in tried.iter().flat_map(|(_, grid)| grid).flatten() {
        for ([low, high], &volts) in reach.iter_mut().zip(read) {
            *low = low.min(volts);
            *high = high.max(volts);
        }
    }
    let mut suspicions: Vec<Suspicion> = tried
        .into_iter()
        .filter_map(|(suspicion, _)| suspicion)
        .filter(|s| nothing - s.left > LEAST_GAIN.max(LEAST_SHARE * nothing))
        .collect();
    suspicions.sort_by(|a, b| a.left.total_cmp(&b.left));
    suspicions.truncate(MOST);
    Some(Search {
        suspicions,
        distance: nothing,
        reach,
    })
}

/// The least of a function with one valley between two places, and what it gave there.
fn golden<T>(low: f64, high: f64, cost: &mut impl FnMut(f64) -> (f64, T)) -> (f64, (f64, T)) {
    const RATIO: f64 = 0.618_033_988_749_894_9;
    let (mut low, mut high) = (low, high);
    let mut left = high - RATIO * (high - low);
    let mut right = low + RATIO * (high - low);
    let (mut at_left, mut at_right) = (cost(left), cost(right));
    for _ in 0..GOLDEN_STEPS {
        if at_left.0 <= at_right.0 {
            high = right;
            (right, at_right) = (left, at_left);
            left = high - RATIO * (high - low);
            at_left = cost(left);
        } else {
            low = left;
            (left, at_left) = (right, at_right);
            right = low + RATIO * (high - low);
            at_right = cost(right);
        }
    }
    if at_left.0 <= at_right.0 {
        (left, at_left)
    } else {
        (right, at_right)
    }
}
