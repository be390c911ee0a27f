//! A job sheet from a circuit and what is to be soldered into it: plays, judges, draws the bands,
//! and sets the page.

use super::drawing::Drawing;
use super::spread::SpreadRequest;
use super::verdict::VerdictRequest;
use crate::advice::job::{Evidence, Job, Origin, Proposed, Said, job};
use crate::advice::prices::Prices;
use crate::advice::ratings::{Driven, ratings};
use crate::advice::verdict::{Cache, NoVerdict};
use crate::analysis::response::{Path as ResponsePath, response};
use crate::circuit::Proposal;
use crate::files::file_name;
use crate::job_sheet::page;
use crate::numeric::parallel::GoOn;
use crate::solve::solved::{Both, SolvedAmp};
use std::path::Path;
use std::sync::Arc;

/// Share of the work that the verdict takes, for the progress; the rest is the spread.
const VERDICT: f64 = 0.4;

/// What a sheet is made of.
#[derive(Clone, Debug)]
pub struct SheetRequest {
    /// The amp as found, its controls as they shall stand, at its operating point.
    pub amp: Arc<SolvedAmp>,
    /// What is to be soldered, with its name and what it is meant to do.
    pub proposal: Proposal,
    /// Where everything comes from.
    pub origin: Origin,
    /// What parts cost.
    pub prices: Arc<Prices>,
}

/// The sheet.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Its report.
    pub job: Job,
    /// The page, XHTML.
    pub page: String,
}

/// Where a circuit comes from.
#[derive(Clone, Copy, Debug)]
pub enum CircuitSource<'a> {
    /// It comes with the program, under this name.
    BuiltIn(&'a str),
    /// A file.
    File(&'a Path),
    /// No file that is known; its own name.
    Unnamed(&'a str),
}

/// What a sheet says of where everything comes from; `proposal` is the name of its file, or what it
/// is.
pub fn origin(circuit: CircuitSource<'_>, proposal: String) -> Origin {
    Origin {
        circuit: match circuit {
            CircuitSource::BuiltIn(name) => format!("{name} (comes with the program)"),
            CircuitSource::File(path) => file_name(path),
            CircuitSource::Unnamed(name) => name.into(),
        },
        proposal,
        program: concat!("Presolder ", env!("CARGO_PKG_VERSION")).into(),
        date: None,
        invented: matches!(circuit, CircuitSource::BuiltIn(_)),
    }
}

impl SheetRequest {
    fn named(&self) -> Proposed {
        Proposed {
            name: self.proposal.name.clone(),
            about: self.proposal.about.clone(),
        }
    }

    /// The report without what takes seconds: no verdict, no bands.
    ///
    /// # Errors
    /// [`NoVerdict`] when the proposal does not fit or a circuit has no operating point.
    pub fn brief(&self) -> Result<Job, NoVerdict> {
        let proposed = self.proposal.apply(&self.amp.as_found.circuit);
        let proposed = proposed.map_err(NoVerdict::Faults)?;
        let amp = self.amp.proposing(&proposed)?;
        let sides = amp.both().expect("two circuits were given");
        let idle = sides.map(|side| ratings(&amp.network, side, &Driven::default()));
        let evidence = Evidence {
            ratings: idle.map(|ratings| ratings),
            spread: None,
            changes: None,
            prices: Some(&self.prices),
        };
        let said = Said::default();
        Ok(job(
            &amp,
            self.named(),
            self.origin.clone(),
            said,
            &evidence,
        ))
    }

    /// The report and the page. `cache` keeps what is worked out; `go_on` is told the share that is
    /// done and answers whether to go on; none when it says no.
    ///
    /// # Errors
    /// [`NoVerdict`].
    pub fn answer(&self, cache: &mut Cache, go_on: GoOn<'_>) -> Option<Result<Sheet, NoVerdict>> {
        let request = VerdictRequest {
            amp: &self.amp,
            proposal: &self.proposal,
            prices: &self.prices,
            played: None,
            thorough: false,
            idle_percent: None,
            boost_db: None,
        };
        let answer = match request.answer(cache, &mut |share| go_on(VERDICT * share))? {
            Ok(answer) => answer,
            Err(fault) => return Some(Err(fault)),
        };
        let amp = &answer.amp;
        let request = SpreadRequest {
            amp,
            amps: None,
            seed: None,
        };
        let mut on = |share| go_on(VERDICT + (1.0 - VERDICT) * share);
        let drawn = request.answer(&mut on)?;
        let verdict = &answer.verdict;
        let job = job(
            amp,
            self.named(),
            self.origin.clone(),
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
                prices: Some(&self.prices),
            },
        );
        let schematic = Drawing::of(amp).on_job_sheet();
        let page = page(&job, &response(amp, ResponsePath::default()), &schematic);
        Some(Ok(Sheet { job, page }))
    }
}
