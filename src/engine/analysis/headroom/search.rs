//! The level at which a valve begins to clip, between levels that were tried, and the levels to try
//! next.

use super::stage::How;
use super::watch::{LANES, Tried, WAYS, Watched};
use crate::analysis::level_search::{self, Closeness, crossing};
use crate::solve::solved::SolvedCircuit;

/// A bracket of so small a ratio is near enough.
const CLOSENESS: Closeness = Closeness {
    ratio: 1.02,
    margin: 1e-4,
};
/// Less near to clipping is as good as nothing.
const LEAST_NEAR: f64 = 1e-6;

/// Between which neighbouring levels a valve begins to clip: the upper one's place, and the way;
/// none if it never does, or at the lowest level already.
fn bracket(tried: &[Tried], valve: usize) -> Option<(usize, usize)> {
    let clips = |t: &Tried| t.near[valve].iter().position(|&near| near >= 1.0);
    let first = tried.iter().position(|t| clips(t).is_some())?;
    // Several may have come about between two levels: the one that came first, by interpolation.
    let low = first.checked_sub(1)?;
    let came = (0..WAYS.len()).filter(|&way| tried[first].near[valve][way] >= 1.0);
    let level = |way: usize| between(&tried[low], &tried[first], valve, way);
    let way = came.min_by(|&a, &b| level(a).total_cmp(&level(b)))?;
    Some((first, way))
}

/// The level at which a way of clipping is reached between two.
fn between(low: &Tried, high: &Tried, valve: usize, way: usize) -> f64 {
    let share = crossing([low, high].map(|t| t.near[valve][way]), LEAST_NEAR);
    level_search::between([low.volts, high.volts], share)
}

/// Where and how a valve clips, the lowest level standing for all below it; nothing if it never
/// does.
pub fn clip(tried: &[Tried], valve: usize) -> Option<(f64, How)> {
    let lowest = tried.first()?;
    let clips = |way: &usize| lowest.near[valve][*way] >= 1.0;
    if let Some(way) = (0..WAYS.len()).find(clips) {
        return Some((lowest.volts, WAYS[way]));
    }
    let (first, way) = bracket(tried, valve)?;
    let volts = between(&tried[first - 1], &tried[first], valve, way);
    Some((volts, WAYS[way]))
}

/// The valves that clip first in their stages.
pub fn leaders(side: &SolvedCircuit, tried: &[Tried], valves: &[Watched]) -> Vec<usize> {
    let stage = |valve: usize| side.circuit.part(valves[valve].part).particulars.stage();
    let volts = |valve: usize| clip(tried, valve).map_or(f64::INFINITY, |c| c.0);
    let mut leaders: Vec<usize> = Vec::new();
    for valve in 0..valves.len() {
        match leaders.iter_mut().find(|l| stage(**l) == stage(valve)) {
            Some(_) if stage(valve).is_empty() => leaders.push(valve),
            Some(leader) if volts(valve) < volts(*leader) => *leader = valve,
            Some(_) => {}
            None => leaders.push(valve),
        }
    }
    leaders
}

/// Eight levels within the brackets that are still too wide; none when all are near enough.
pub fn next_levels(tried: &[Tried], valves: &[usize]) -> Option<[f64; LANES]> {
    let brackets = valves.iter().filter_map(|&valve| {
        let (first, way) = bracket(tried, valve)?;
        let (low, high) = (&tried[first - 1], &tried[first]);
        Some([low.volts, between(low, high, valve, way), high.volts])
    });
    level_search::next_levels(brackets, CLOSENESS)
}
