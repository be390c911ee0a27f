//! `presolder sheet`: the job sheet as one HTML file, or its report as JSON.

use super::arguments::Sheet as Arguments;
use super::compare::{PHRASE, PHRASE_RATE, proposed};
use super::failure::Failure;
use super::file::{FileFault, read_text, write_text};
use super::load::{Bench, load};
use super::progress::Progress;
use super::report::{Report, show};
use crate::analysis::at_rest::{AtRest, Both, Side};
use crate::analysis::changes::changes_report;
use crate::analysis::job::{Evidence, Job, Origin, Proposed, Said, job};
use crate::analysis::phrase::phrase;
use crate::analysis::prices::Prices;
use crate::analysis::ratings::{
    Driven, RatingsReport, StressGauge, full_output_volts, ratings, sine_stress,
};
use crate::analysis::response::{Path as CurvePath, Response, response};
use crate::analysis::safety;
use crate::analysis::spread::{SpreadSettings, spread};
use crate::analysis::verdict::{SideFigures, Sound, judge, side_figures};
use crate::circuit::Proposal;
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
/// The faults found, nothing proposed, no solution, a file that cannot be read or written.
pub fn run(arguments: &Arguments) -> Result<(), Failure> {
    let bench = load(&arguments.circuit, &arguments.changes)?;
    let proposed = proposed(&bench)?;
    let prices = prices(arguments.prices.as_deref())?;
    let out = match (&arguments.out, arguments.json) {
        (Some(path), _) => Some(path.clone()),
        (None, false) => Some(PathBuf::from("sheet.html")),
        (None, true) => None,
    };
    if let Some(path) = &out {
        can_be_written(path)?;
    }
    let progress = Progress::new("working out the job");
    let amp = AtRest::new(&bench.as_found, Some(proposed))?;
    let (job, response) = work_out(arguments, &bench, &amp, &prices, &progress)?;
    drop(progress);
    if let Some(path) = &out {
        write_text(path, &page(&job, &response))?;
    }
    let made = Made {
        job,
        file: out.map(|path| path.display().to_string()),
    };
    show(&made, arguments.json)
}

/// Finds out before the long work what would fail after it.
fn can_be_written(path: &Path) -> Result<(), Failure> {
    let fault = |why: &str| {
        Err(Failure::File(FileFault {
            path: path.into(),
            tried: "written",
            why: std::io::Error::other(why),
        }))
    };
    if std::fs::metadata(path).is_ok_and(|there| !there.is_file()) {
        return fault("it is not a plain file");
    }
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() && !folder.is_dir() => {
            fault("its folder is not there")
        }
        _ => Ok(()),
    }
}

/// The owner's prices, or the invented ones.
fn prices(path: Option<&Path>) -> Result<Prices, Failure> {
    let Some(path) = path else {
        return Ok(Prices::built_in());
    };
    let text = read_text(path, crate::circuit::MOST_BYTES as u64)?;
    Prices::parse(&text).map_err(|faults| Failure::faults(&path.display().to_string(), faults))
}

/// Shares of the work, for the progress: each side, each change by itself, the spread.
const SIDE: f64 = 0.2;
const CHANGES: f64 = 0.3;

/// Lets all analyses work.
fn work_out(
    arguments: &Arguments,
    bench: &Bench,
    amp: &AtRest,
    prices: &Prices,
    progress: &Progress,
) -> Result<(Job, Response), Failure> {
    let network = &amp.network;
    let channels = [phrase(PHRASE_RATE)];
    let sound = Sound {
        name: PHRASE,
        rate: PHRASE_RATE,
        channels: &channels,
        input_volts: 1.0,
        output_volts: 1.0,
        may_exceed: true,
    };
    let told = |from: f64, span: f64| {
        move |share: f64| {
            progress.at(from + span * share);
            true
        }
    };
    const GOES_ON: &str = "nobody gives up";
    let side = |side: &Side, from: f64| -> Result<(SideFigures, RatingsReport), Failure> {
        let gauge = StressGauge::new(network, &side.circuit);
        let figures = side_figures(network, side, &sound, &gauge, &mut told(from, SIDE));
        let figures = figures.expect(GOES_ON)?;
        let volts = full_output_volts(&figures.drive);
        let sine = sine_stress(network, side, volts, &mut |_| true);
        let phrase = gauge.stress(&figures.performed.bins);
        let driven = Driven {
            phrase: Some(&phrase),
            sine: sine.as_ref(),
        };
        let ratings = ratings(network, side, &driven);
        Ok((figures, ratings))
    };
    let (found, found_ratings) = side(&amp.as_found, 0.0)?;
    let (changed, changed_ratings) = side(amp.asked_for(), SIDE)?;
    let both = Both {
        as_found: &found,
        proposed: &changed,
    };
    let verdict = judge(amp, &both, &bench.proposal, &sound);
    let changes = changes_report(
        &bench.as_found,
        &Proposal {
            name: bench.proposal.clone(),
            changes: bench.changes.clone(),
            ..Proposal::default()
        },
        &Catalogue::built_in(),
        prices,
        (&[&channels[0]], PHRASE_RATE),
        &mut told(2.0 * SIDE, CHANGES),
    );
    // What has no report by itself is judged by its response.
    let changes = changes.expect(GOES_ON).ok();
    let from = 2.0 * SIDE + CHANGES;
    let spread = spread(
        &bench.as_found,
        Some(&amp.asked_for().circuit),
        SpreadSettings::default(),
        &mut told(from, 1.0 - from),
    );
    let spread = spread.expect(GOES_ON)?;
    let job = job(
        amp,
        Proposed {
            name: bench.proposal.clone(),
            about: bench.about.clone(),
        },
        origin(arguments, bench),
        Said {
            verdict: verdict.sentences,
            warnings: verdict.warnings,
        },
        &Evidence {
            ratings: Both {
                as_found: &found_ratings,
                proposed: &changed_ratings,
            },
            spread: Some(&spread),
            changes: changes.as_ref(),
            prices: Some(prices),
        },
    );
    Ok((job, response(amp, CurvePath::default())))
}

fn origin(arguments: &Arguments, bench: &Bench) -> Origin {
    let proposal = arguments.changes.proposal.as_deref();
    Origin {
        circuit: match bench.built_in {
            true => format!("{} (comes with the program)", bench.source),
            false => file_name(&bench.source),
        },
        proposal: proposal.map_or(String::new(), file_name),
        program: concat!("Presolder ", env!("CARGO_PKG_VERSION")).into(),
        date: None,
        invented: bench.built_in,
    }
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
        for (when, lines) in [
            ("as found and as proposed", &job.over.still),
            ("as proposed", &job.over.brought),
            ("as found, mended", &job.over.mended),
        ] {
            for line in lines {
                text += &format!("  Over its rating {when}: {line}\n");
            }
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
