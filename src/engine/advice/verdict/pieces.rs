//! Pieces of a verdict that need more than one side: each change by itself, and what takes a second.

use super::cache::Cache;
use super::question::Question;
use super::side::{SideFigures, Thorough, thorough};
use crate::advice::changes::{ChangesReport, Plan, figures};
use crate::numeric::parallel::{GoOn, on_all_cores};
use crate::solve::solved::{Both, SolvedAmp, SolvedCircuit};
use std::sync::Arc;

/// Turns the volume control of both sides and gives each a burst, unless that was done before.
pub fn both_thorough(
    amp: &SolvedAmp,
    figures: &Both<Arc<SideFigures>>,
    cache: &mut Cache,
    go_on: GoOn<'_>,
) -> Option<Both<Arc<Thorough>>> {
    let sides = amp.both().expect("two circuits were given");
    let cases = [
        (sides.as_found, &figures.as_found),
        (sides.proposed, &figures.proposed),
    ];
    let known = cases.map(|(side, _)| cache.thorough(&side.circuit));
    let missing: Vec<usize> = (0..2).filter(|&i| known[i].is_none()).collect();
    let new = on_all_cores(missing.len(), go_on, &|i, go_on| {
        let (side, figures) = cases[missing[i]];
        thorough(&amp.network, side, &figures.clean, go_on).map(Arc::new)
    })?;
    let mut all = known;
    for (&place, new) in missing.iter().zip(new) {
        cache.put_thorough(&cases[place].0.circuit, Arc::clone(&new));
        all[place] = Some(new);
    }
    let [as_found, proposed] = all;
    Some(Both {
        as_found: as_found?,
        proposed: proposed?,
    })
}

/// What each change does: solves and plays the circuits that have not been met.
pub fn each_change(
    plan: &Plan,
    amp: &SolvedAmp,
    question: &Question<'_>,
    cache: &mut Cache,
    go_on: GoOn<'_>,
) -> Option<ChangesReport> {
    let mut all: Vec<_> = plan.circuits.iter().map(|c| cache.of_changes(c)).collect();
    let missing = (0..all.len()).filter(|&place| all[place].is_none());
    let (places, solved): (Vec<usize>, Vec<SolvedCircuit>) = missing
        .filter_map(|place| Some((place, plan.solved_circuit(amp, place)?)))
        .unzip();
    if !solved.is_empty() {
        let volts = question.played.in_volts();
        let channels: Vec<&[f32]> = volts.iter().map(Vec::as_slice).collect();
        let solved: Vec<&SolvedCircuit> = solved.iter().collect();
        let rate = question.played.sound.rate;
        let new = figures(&amp.network, &solved, &channels, rate, go_on)?;
        for (place, figures) in places.into_iter().zip(new) {
            let figures = Arc::new(figures);
            cache.put_of_changes(&plan.circuits[place], Arc::clone(&figures));
            all[place] = Some(figures);
        }
    }
    plan.report(&all, question.prices)
}
