//! What each change of a proposal does, whether it can be heard, and whether it is worth it.
//!
//! Takes an amp as found and a proposal; gives each change alone from as found and taken back from
//! as proposed: heard or not, gain, headroom, idle dissipation, cost, minutes, reversible or not;
//! ranked, with what changes do together beyond their sum.
//!
//! [`changes_report`] does all of it. A caller that keeps what it has computed makes the [`Plan`],
//! asks for the [`figures`] of the circuits that it has not met, and gives all of them to
//! [`Plan::report`].

mod cells;
mod effect;
mod figures;
mod interactions;
mod items;
mod plan;
mod rank;
mod report;
mod words;

pub use effect::{Dissipation, Effect, HeadroomEffect, NOTICEABLE_DB, NOTICEABLE_WATTS};
pub use figures::{Figures, IdleWatts, PartLimit, figures, figures_of, figures_with};
pub use interactions::Interaction;
pub use items::{Caveat, ChangedPart, Doing, Item};
pub use plan::Plan;
pub use rank::{RULE, Safety, Standing};
pub use report::{ChangeRow, ChangesReport};

use super::prices::{Prices, Purchase, Ware};
use crate::analysis::audibility::{LEFT_OUT, THRESHOLDS};
use crate::circuit::{Circuit, Diagnostic, Proposal};
use crate::numeric::parallel::GoOn;
use crate::solve::solved::{NoOperatingPoint, SolvedAmp, SolvedCircuit};
use effect::effect;
use std::sync::Arc;

/// Why there is no report.
#[derive(Clone, Debug, PartialEq)]
pub enum NoReport {
    /// Faults of the proposal.
    Faults(Vec<Diagnostic>),
    /// As found or as proposed the amp has no operating point.
    NoOperatingPoint(NoOperatingPoint),
}

/// The whole report. `channels`: one or two of samples at the jack, V; `rate` in hertz. `go_on` is
/// told the share that is done and answers whether to go on; none when it says no.
pub fn changes_report(
    as_found: &Circuit,
    proposal: &Proposal,
    prices: &Prices,
    (channels, rate): (&[&[f32]], u32),
    go_on: GoOn<'_>,
) -> Option<Result<ChangesReport, NoReport>> {
    let plan = match Plan::new(as_found, proposal) {
        Ok(plan) => plan,
        Err(faults) => return Some(Err(NoReport::Faults(faults))),
    };
    let amp = match plan.solved() {
        Ok(amp) => amp,
        Err(fault) => return Some(Err(NoReport::NoOperatingPoint(fault))),
    };
    let places = 0..plan.circuits.len();
    let sides: Vec<Option<SolvedCircuit>> = places
        .map(|place| plan.solved_circuit(&amp, place))
        .collect();
    let solved: Vec<&SolvedCircuit> = sides.iter().flatten().collect();
    let mut found = figures(&amp.network, &solved, channels, rate, go_on)?.into_iter();
    let all: Vec<Option<Arc<Figures>>> = sides
        .iter()
        .map(|side| side.as_ref().and_then(|_| found.next()).map(Arc::new))
        .collect();
    plan.report(&all, prices).map(Ok)
}

impl Plan {
    /// The amp as found and with everything done.
    ///
    /// # Errors
    /// [`NoOperatingPoint`] when it has none as found or as proposed.
    pub fn solved(&self) -> Result<SolvedAmp, NoOperatingPoint> {
        SolvedAmp::new(&self.circuits[0], Some(&self.circuits[self.proposed]))
    }

    /// One circuit of the plan at its operating point, `amp` being those two; none for a change
    /// alone or taken back that has none.
    pub fn solved_circuit(&self, amp: &SolvedAmp, place: usize) -> Option<SolvedCircuit> {
        match place {
            0 => Some(amp.as_found.clone()),
            _ if place == self.proposed => Some(amp.asked_for().clone()),
            _ => SolvedCircuit::new(&amp.network, self.circuits[place].clone()).ok(),
        }
    }

    /// The report from the figures of every circuit, in the order of the plan; none where those of
    /// as found or as proposed are missing.
    pub fn report(
        &self,
        figures: &[Option<Arc<Figures>>],
        prices: &Prices,
    ) -> Option<ChangesReport> {
        let at = |place: Option<usize>| figures.get(place?)?.as_deref();
        let (found, proposed) = (at(Some(0))?, at(Some(self.proposed))?);
        let mut rows: Vec<ChangeRow> = (0..self.items.len())
            .map(|i| {
                let judged = |effect: Effect| match self.wants_guitar(i) {
                    true => effect.without_guitar(),
                    false => effect,
                };
                let alone = at(self.alone[i]).map(|f| judged(effect(found, f, found)));
                let beside = at(self.without[i])
                    .filter(|_| self.items.len() > 1)
                    .map(|f| judged(effect(f, proposed, found)));
                self.row(i, alone, beside, prices)
            })
            .collect();
        // The one most worth doing first; equals keep their order.
        rows.sort_by(|a, b| rank::order(&a.standing, &b.standing));
        let mut together = effect(found, proposed, found);
        if (0..self.items.len()).any(|i| self.wants_guitar(i)) {
            together = together.without_guitar();
        }
        let cost = sum(rows.iter().map(|row| row.cost));
        let work = sum(self.items.iter().map(|item| minutes(item, prices)));
        let opened = self.items.iter().any(|item| item.doing == Doing::Solder);
        let chassis = if opened {
            prices.chassis_minutes()
        } else {
            0.0
        };
        let mut notes = vec![THRESHOLDS.to_string(), LEFT_OUT.to_string()];
        notes.push(words::about_prices(prices));
        Some(ChangesReport {
            amp: self.circuits[0].name().into(),
            proposal: self.proposal.clone(),
            warnings: words::warnings(&together),
            rule: RULE,
            together_in_words: words::together(&rows, &together),
            together,
            cost,
            minutes: work.map(|work| work + chassis),
            currency: prices.currency().into(),
            interactions: interactions::interactions(self, figures),
            notes,
            rows,
        })
    }

    /// Whether a change moves a part that works with the guitar, and none is known.
    fn wants_guitar(&self, item: usize) -> bool {
        let found = &self.circuits[0];
        let parts = self.items[item].moved();
        found.guitar().is_none() && found.front_parts().iter().any(|id| parts.contains(id))
    }

    fn row(
        &self,
        place: usize,
        alone: Option<Effect>,
        beside_others: Option<Effect>,
        prices: &Prices,
    ) -> ChangeRow {
        let item = &self.items[place];
        let chassis = match item.doing {
            Doing::Solder => prices.chassis_minutes(),
            _ => 0.0,
        };
        let costs = item.bought.iter().map(|part| match item.doing {
            Doing::Turn => Some(0.0),
            _ => Some(prices.cost(&Purchase::of(part)?)?.total),
        });
        let minutes = minutes(item, prices).map(|minutes| minutes + chassis);
        let effects = || alone.iter().chain(&beside_others);
        let mut row = ChangeRow {
            name: item.name(),
            what: words::what(item),
            parts: item.parts.clone(),
            doing: item.doing,
            reversible: item.reversible,
            caveat: item.caveat,
            cost: sum(costs),
            minutes,
            standing: rank::standing(alone.as_ref().or(beside_others.as_ref()), minutes),
            worth_it: effects().any(|e| e.depends_on_guitar || e.is_something()),
            depends_on_guitar: effects().any(|e| e.depends_on_guitar),
            alone,
            beside_others,
            sentence: String::new(),
        };
        row.sentence = words::row(&row);
        row
    }
}

/// Minutes at the open amp.
fn minutes(item: &Item, prices: &Prices) -> Option<f64> {
    let each = item.worked_on.iter().map(|&kind| match item.doing {
        Doing::Turn => Some(0.0),
        _ => Ware::of(kind).map(|ware| prices.minutes(ware)),
    });
    sum(each)
}

/// A sum; none where one is missing.
fn sum(each: impl Iterator<Item = Option<f64>>) -> Option<f64> {
    each.sum()
}
