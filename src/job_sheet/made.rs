//! A job sheet from two circuits: plays, judges, draws the bands, prices the parts, and sets the
//! page. The command line and the window both make it here.

use super::page;
use crate::analysis::at_rest::{AtRest, NoRest};
use crate::analysis::job::{Job, Origin, Proposed, Said, costs, job};
use crate::analysis::performance::GoOn;
use crate::analysis::phrase::phrase;
use crate::analysis::prices::Prices;
use crate::analysis::response::{Path, response};
use crate::analysis::spread::{SpreadSettings, spread};
use crate::analysis::verdict::{Answer, Memory, NoVerdict, Question, Sound, verdict};
use crate::circuit::{Circuit, Proposal};
use crate::device::Catalogue;

/// Name and rate (Hz) of the phrase that the verdict is about.
const PHRASE: &str = "the built-in guitar phrase (invented)";
const PHRASE_RATE: u32 = 48_000;

/// Share of the work that the verdict takes, for the progress; the rest is the spread.
const VERDICT: f64 = 0.5;

/// What a sheet is made of.
#[derive(Clone, Debug)]
pub struct Order {
    /// The amp as found, its controls as they shall stand.
    pub as_found: Circuit,
    /// What is to be soldered, under its name.
    pub proposal: Proposal,
    /// What it is meant to do; may be empty.
    pub about: String,
    /// Where everything comes from.
    pub origin: Origin,
    /// What parts cost and work takes.
    pub prices: Prices,
    /// How many amps are drawn for the bands.
    pub spread: SpreadSettings,
}

/// The sheet.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Its report.
    pub job: Job,
    /// The page, XHTML.
    pub page: String,
}

/// The report without what takes seconds: no verdict, no bands.
///
/// # Errors
/// Faults of the proposal, or no operating point.
pub fn brief(order: &Order, catalogue: &Catalogue) -> Result<Job, NoVerdict> {
    let proposed = order.proposal.apply(&order.as_found, catalogue);
    let proposed = proposed.map_err(NoVerdict::Faults)?;
    let amp = AtRest::new(&order.as_found, Some(&proposed))?;
    Ok(of(order, &amp, Said::default()))
}

/// The report and the page. `go_on` is told the share that is done and answers whether to go on;
/// none when it says no.
///
/// # Errors
/// Faults of the proposal, no operating point, or a sound that is not made of numbers.
pub fn made(
    order: &Order,
    catalogue: &Catalogue,
    go_on: GoOn<'_>,
) -> Option<Result<Sheet, NoVerdict>> {
    let channels = [phrase(PHRASE_RATE)];
    let question = Question {
        as_found: &order.as_found,
        proposal: &order.proposal,
        catalogue,
        prices: &order.prices,
        sound: Sound {
            name: PHRASE,
            rate: PHRASE_RATE,
            channels: &channels,
            // The phrase is in volts; full scale only places the loudness, whose difference is told.
            input_volts: 1.0,
            output_volts: 1.0,
            may_exceed: true,
        },
    };
    let mut on = |share: f64| go_on(VERDICT * share);
    let answer = match verdict(&question, &mut Memory::default(), &mut on)? {
        Ok(answer) => answer,
        Err(fault) => return Some(Err(fault)),
    };
    let mut on = |share: f64| go_on(VERDICT + (1.0 - VERDICT) * share);
    Some(match banded(order, answer, &mut on)? {
        Ok(sheet) => Ok(sheet),
        Err(fault) => Err(fault.into()),
    })
}

fn banded(order: &Order, answer: Answer, go_on: GoOn<'_>) -> Option<Result<Sheet, NoRest>> {
    let (amp, verdict) = (answer.amp, answer.verdict);
    let as_found = &amp.as_found.circuit;
    let proposed = &amp.asked_for().circuit;
    let bands = match spread(as_found, Some(proposed), order.spread, go_on)? {
        Ok(bands) => bands,
        Err(fault) => return Some(Err(fault)),
    };
    let said = Said {
        verdict: verdict.sentences,
        warnings: verdict.warnings,
    };
    let mut job = of(order, &amp, said);
    job.put_bands(&bands);
    let page = page(&job, &response(&amp, Path::default()));
    Some(Ok(Sheet { job, page }))
}

fn of(order: &Order, amp: &AtRest, said: Said) -> Job {
    let named = Proposed {
        name: order.proposal.name.clone(),
        about: order.about.clone(),
    };
    let mut job = job(amp, named, order.origin.clone(), said);
    job.costs = Some(costs(&job.items, &job.openings, &order.prices));
    job
}
