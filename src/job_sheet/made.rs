//! A job sheet from a circuit and what is to be soldered into it: plays, judges, draws the bands,
//! and sets the page. The command line and the window both make it here.

use super::page;
use crate::advice::job::{Evidence, Job, Origin, Proposed, Said, job};
use crate::advice::prices::Prices;
use crate::advice::ratings::{Driven, ratings};
use crate::advice::spread::{SpreadSettings, spread};
use crate::advice::verdict::{Cache, CalibratedSound, NoVerdict, Question, verdict};
use crate::analysis::response::{Path, response};
use crate::circuit::{Circuit, Proposal};
use crate::numeric::parallel::GoOn;
use crate::solve::solved::{Both, SolvedAmp};
use crate::sound::phrase::built_in_phrase;

/// Share of the work that the verdict takes, for the progress; the rest is the spread.
const VERDICT: f64 = 0.4;

/// What a sheet is made of.
#[derive(Clone, Debug)]
pub struct Order {
    /// The amp as found, its controls as they shall stand.
    pub as_found: Circuit,
    /// What is to be soldered, with its name and what it is meant to do.
    pub proposal: Proposal,
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

impl Order {
    fn named(&self) -> Proposed {
        Proposed {
            name: self.proposal.name.clone(),
            about: self.proposal.about.clone(),
        }
    }
}

/// The report without what takes seconds: no verdict, no bands.
///
/// # Errors
/// [`NoVerdict`] when the proposal does not fit or a circuit has no operating point.
pub fn brief(order: &Order) -> Result<Job, NoVerdict> {
    let proposed = order.proposal.apply(&order.as_found);
    let proposed = proposed.map_err(NoVerdict::Faults)?;
    let amp = SolvedAmp::new(&order.as_found, Some(&proposed))?;
    let sides = amp.both().expect("two circuits were given");
    let idle = sides.map(|side| ratings(&amp.network, side, &Driven::default()));
    let evidence = Evidence {
        ratings: idle.map(|ratings| ratings),
        spread: None,
        changes: None,
        prices: Some(&order.prices),
    };
    let said = Said::default();
    Ok(job(
        &amp,
        order.named(),
        order.origin.clone(),
        said,
        &evidence,
    ))
}

/// The report and the page. `cache` keeps what is worked out; `go_on` is told the share that is
/// done and answers whether to go on; none when it says no.
///
/// # Errors
/// [`NoVerdict`].
pub fn made(order: &Order, cache: &mut Cache, go_on: GoOn<'_>) -> Option<Result<Sheet, NoVerdict>> {
    let played = built_in_phrase();
    let question = Question {
        as_found: &order.as_found,
        proposal: &order.proposal,
        prices: &order.prices,
        sound: CalibratedSound {
            sound: &played,
            // The phrase is in volts.
            input_volts: 1.0,
            output_volts: 1.0,
            may_exceed: true,
        },
        thorough: false,
        idle_percent: None,
    };
    let answer = verdict(&question, cache, &mut |share| go_on(VERDICT * share))?;
    let answer = match answer {
        Ok(answer) => answer,
        Err(fault) => return Some(Err(fault)),
    };
    let amp = &answer.amp;
    let drawn = spread(
        &order.as_found,
        Some(&amp.asked_for().circuit),
        order.spread,
        &mut |share| go_on(VERDICT + (1.0 - VERDICT) * share),
    )?;
    let drawn = match drawn {
        Ok(drawn) => drawn,
        Err(fault) => return Some(Err(fault.into())),
    };
    let verdict = &answer.verdict;
    let job = job(
        amp,
        order.named(),
        order.origin.clone(),
        Said {
            verdict: verdict.sentences.clone(),
            warnings: verdict.warnings.clone(),
        },
        &Evidence {
            ratings: Both {
                as_found: &verdict.ratings.as_found,
                proposed: &verdict.ratings.proposed,
            },
            spread: Some(&drawn),
            changes: Some(&verdict.each_change),
            prices: Some(&order.prices),
        },
    );
    let page = page(&job, &response(amp, Path::default()));
    Some(Ok(Sheet { job, page }))
}
