//! The level at which a valve begins to clip, between levels that were tried, and the levels to try
//! next.

use super::stage::How;
use super::watch::{LANES, Tried, WAYS, Watched};
use crate::solve::solved::SolvedCircuit;

/// A bracket of so small a ratio is near enough.
const NEAR: f64 = 1.02;

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

/// The level at which a way of clipping is reached between two, straight in logarithms.
fn between(low: &Tried, high: &Tried, valve: usize, way: usize) -> f64 {
    let [a, b] = [low, high].map(|t| t.near[valve][way].max(1e-6).ln());
    let share = if b > a {
        (-a / (b - a)).clamp(0.0, 1.0)
    } else {
        1.0
    };
    low.volts * (high.volts / low.volts).powf(share)
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
    let stage = |valve: usize| &side.circuit.part(valves[valve].part).particulars.stage;
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
    let mut open: Vec<[f64; 3]> = valves
        .iter()
        .filter_map(|&valve| {
            let (first, way) = bracket(tried, valve)?;
            let (low, high) = (&tried[first - 1], &tried[first]);
            let guess = between(low, high, valve, way);
            (high.volts / low.volts > NEAR).then_some([low.volts, guess, high.volts])
        })
        .collect();
    open.dedup();
    if open.is_empty() {
        return None;
    }
    // Just below and above each estimate; then the middle of the brackets, should it have missed.
    let half = NEAR.sqrt() * 0.9999;
    let near = open.iter().flat_map(|&[low, guess, high]| {
        [guess / half, guess * half].map(|v| v.clamp(low * 1.0001, high / 1.0001))
    });
    let even = (1..=LANES).flat_map(|n| {
        let share = n as f64 / (LANES + 1) as f64;
        open.iter()
            .map(move |&[low, _, high]| low * (high / low).powf(share))
    });
    let list: Vec<f64> = near.chain(even).take(LANES).collect();
    list.try_into().ok()
}
