//! A job sheet from two circuits: plays, judges, draws the bands, prices the parts, and sets the
//! page. The command line and the window both make it here.

use super::page;
use crate::analysis::at_rest::{AtRest, Both, NoRest, Side};
use crate::analysis::job::{Job, Origin, Proposed, Said, costs, job};
use crate::analysis::performance::{GoOn, NoGauge};
use crate::analysis::phrase::phrase;
use crate::analysis::prices::Prices;
use crate::analysis::response::{Path, response};
use crate::analysis::spread::{SpreadSettings, spread};
use crate::analysis::verdict::{NoVerdict, Sound, judge, side_figures};
use crate::circuit::Circuit;
use std::fmt;

/// Name and rate (Hz) of the phrase that the verdict is about.
const PHRASE: &str = "the built-in guitar phrase (invented)";
const PHRASE_RATE: u32 = 48_000;

/// Shares of the work, for the progress: playing one side; the rest is the spread.
const PLAYED: f64 = 0.25;

/// What a sheet is made of.
#[derive(Clone, Debug)]
pub struct Order {
    /// The amp as found.
    pub as_found: Circuit,
    /// As proposed; of the same topology.
    pub proposed: Circuit,
    /// What is proposed, in words.
    pub named: Proposed,
    /// Where everything comes from.
    pub origin: Origin,
    /// What parts cost.
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

/// Why there is no sheet.
#[derive(Clone, Debug, PartialEq)]
pub enum NoSheet {
    /// No operating point.
    NoRest(NoRest),
    /// What is played does not come out as numbers.
    NoVerdict(NoVerdict),
}

impl fmt::Display for NoSheet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoSheet::NoRest(fault) | NoSheet::NoVerdict(NoVerdict::NoRest(fault)) => {
                write!(f, "{fault}")
            }
            NoSheet::NoVerdict(NoVerdict::NotFinite(_)) => {
                write!(f, "What comes out is not made of numbers.")
            }
        }
    }
}

/// The report without what takes seconds: no verdict, no bands.
///
/// # Errors
/// [`NoRest`] when one of the circuits has no operating point.
pub fn brief(order: &Order) -> Result<Job, NoRest> {
    let amp = AtRest::new(&order.as_found, Some(&order.proposed))?;
    Ok(of(order, &amp, Said::default()))
}

/// The report and the page. `go_on` is told the share that is done and answers whether to go on;
/// none when it says no.
///
/// # Errors
/// When one of the circuits has no operating point or plays no numbers.
pub fn made(order: &Order, go_on: GoOn<'_>) -> Option<Result<Sheet, NoSheet>> {
    let amp = match AtRest::new(&order.as_found, Some(&order.proposed)) {
        Ok(amp) => amp,
        Err(fault) => return Some(Err(NoSheet::NoRest(fault))),
    };
    let said = match said(order, &amp, go_on)? {
        Ok(said) => said,
        Err(fault) => return Some(Err(NoSheet::NoVerdict(fault))),
    };
    let (as_found, proposed) = (&order.as_found, Some(&order.proposed));
    let before = 2.0 * PLAYED;
    let mut on = |share: f64| go_on(before + (1.0 - before) * share);
    let bands = match spread(as_found, proposed, order.spread, &mut on)? {
        Ok(bands) => bands,
        Err(fault) => return Some(Err(NoSheet::NoRest(fault))),
    };
    let mut job = of(order, &amp, said);
    job.put_bands(&bands);
    let page = page(&job, &response(&amp, Path::default()));
    Some(Ok(Sheet { job, page }))
}

fn of(order: &Order, amp: &AtRest, said: Said) -> Job {
    let mut job = job(amp, order.named.clone(), order.origin.clone(), said);
    job.costs = Some(costs(&job.items, &job.openings, &order.prices));
    job
}

/// Plays the phrase through both sides and judges.
fn said(order: &Order, amp: &AtRest, go_on: GoOn<'_>) -> Option<Result<Said, NoVerdict>> {
    let channels = [phrase(PHRASE_RATE)];
    let sound = Sound {
        name: PHRASE,
        rate: PHRASE_RATE,
        channels: &channels,
        // The phrase is in volts; full scale only places the loudness, whose difference is told.
        input_volts: 1.0,
        output_volts: 1.0,
        may_exceed: true,
    };
    let mut figures = |side: &Side, before: f64| {
        let mut on = |share: f64| go_on(before + PLAYED * share);
        side_figures(&amp.network, side, &sound, &NoGauge, &mut on)
    };
    let found = match figures(&amp.as_found, 0.0)? {
        Ok(figures) => figures,
        Err(fault) => return Some(Err(fault)),
    };
    let changed = match figures(amp.asked_for(), PLAYED)? {
        Ok(figures) => figures,
        Err(fault) => return Some(Err(fault)),
    };
    let both = Both {
        as_found: &found,
        proposed: &changed,
    };
    let verdict = judge(amp, &both, &order.named.name, &sound);
    Some(Ok(Said {
        verdict: verdict.sentences,
        warnings: verdict.warnings,
    }))
}
