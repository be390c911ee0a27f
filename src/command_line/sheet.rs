//! `presolder sheet`: the job sheet as one HTML file, or its report as JSON.

use super::arguments::Sheet as Arguments;
use super::compare::{PHRASE, PHRASE_RATE, no_verdict, proposed};
use super::failure::Failure;
use super::file::write_text;
use super::load::{load, prices};
use super::progress::Progress;
use super::report::{Report, show};
use crate::analysis::job::{Job, Origin, Proposed, Said, job};
use crate::analysis::phrase::phrase;
use crate::analysis::response::{Path as CurvePath, response};
use crate::analysis::safety;
use crate::analysis::verdict::{Memory, Question, Sound, verdict};
use crate::device::Catalogue;
use crate::job_sheet::page;
use serde::Serialize;
use std::path::{Path, PathBuf};

/// The report and the file that was made of it.
#[derive(Serialize)]
struct Made {
    #[serde(flatten)]
    job: Job,
    /// The page; none if none was asked for.
    file: Option<String>,
}

/// Writes the job sheet of a proposal.
///
/// # Errors
/// The faults found, nothing proposed, no solution, a file that cannot be written.
pub fn run(arguments: &Arguments) -> Result<(), Failure> {
    let bench = load(&arguments.circuit, &arguments.changes)?;
    proposed(&bench)?;
    let prices = prices(arguments.prices.as_deref())?;
    let channels = [phrase(PHRASE_RATE)];
    let question = Question {
        as_found: &bench.as_found,
        proposal: &bench.changes,
        catalogue: &Catalogue::built_in(),
        prices: &prices,
        sound: Sound {
            name: PHRASE,
            rate: PHRASE_RATE,
            channels: &channels,
            input_volts: 1.0,
            output_volts: 1.0,
            may_exceed: true,
        },
    };
    let progress = Progress::new("working out the job");
    let answer = verdict(&question, &mut Memory::default(), &mut |share| {
        progress.at(share);
        true
    });
    let answer = answer.expect("nobody gives up");
    let answer = answer.map_err(|fault| no_verdict(&bench.proposal, fault))?;
    let (amp, verdict) = (answer.amp, answer.verdict);
    drop(progress);
    let origin = Origin {
        circuit: match bench.built_in {
            true => format!("{} (comes with the program)", bench.source),
            false => file_name(&bench.source),
        },
        proposal: arguments
            .changes
            .proposal
            .as_deref()
            .map_or(String::new(), file_name),
        program: concat!("Presolder ", env!("CARGO_PKG_VERSION")).into(),
        date: None,
        invented: bench.built_in,
    };
    let job = job(
        &amp,
        Proposed {
            name: bench.proposal.clone(),
            about: bench.about.clone(),
        },
        origin,
        Said {
            verdict: verdict.sentences,
            warnings: verdict.warnings,
        },
    );
    let out = match (&arguments.out, arguments.json) {
        (Some(path), _) => Some(path.clone()),
        (None, false) => Some(PathBuf::from("sheet.html")),
        (None, true) => None,
    };
    if let Some(path) = &out {
        write_text(path, &page(&job, &response(&amp, CurvePath::default())))?;
    }
    let made = Made {
        job,
        file: out.map(|path| path.display().to_string()),
    };
    show(&made, arguments.json)
}

/// The name of a file without its folders: a sheet goes to other people.
fn file_name(path: &str) -> String {
    let name = Path::new(path).file_name();
    name.map_or_else(|| path.into(), |n| n.to_string_lossy().into_owned())
}

impl Report for Made {
    fn text(&self) -> String {
        let job = &self.job;
        let mut text = format!(
            "{}: job sheet for {}\n",
            job.amp,
            match job.proposed.name.as_str() {
                "" => "what is proposed".into(),
                name => format!("\"{name}\""),
            }
        );
        for over in &job.over {
            text += &format!("  Over: {}\n", over.sentence);
        }
        for item in &job.items {
            text += &format!(
                "  {}: {} → {}\n",
                item.designator, item.as_found, item.proposed
            );
        }
        if let Some(file) = &self.file {
            text += &format!("\nWritten: {file}. Open it in a browser and print it.\n");
        }
        text + "\n" + safety::LINES
    }
}
