//! `presolder sheet`: the job sheet as one HTML file, or its report as JSON.

use super::arguments::Sheet as Arguments;
use super::compare::{no_verdict, proposed};
use super::failure::Failure;
use super::file::write_text;
use super::load::{load, prices};
use super::progress::Progress;
use super::report::{Report, show};
use crate::analysis::job::{Job, Origin};
use crate::analysis::safety;
use crate::analysis::spread::SpreadSettings;
use crate::device::Catalogue;
use crate::job_sheet::{Order, made};
use serde::Serialize;
use std::path::{Path, PathBuf};

/// The program and its version, as it stands on a sheet.
pub const PROGRAM: &str = concat!("Presolder ", env!("CARGO_PKG_VERSION"));

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
    proposed(&bench)?;
    let order = Order {
        origin: Origin {
            circuit: match bench.built_in {
                true => format!("{} (comes with the program)", bench.source),
                false => file_name(&bench.source),
            },
            proposal: arguments
                .changes
                .proposal
                .as_deref()
                .map_or(String::new(), file_name),
            program: PROGRAM.into(),
            date: None,
            invented: bench.built_in,
        },
        prices: prices(arguments.prices.as_deref())?,
        spread: SpreadSettings::default(),
        as_found: bench.as_found,
        proposal: bench.changes,
        about: bench.about,
    };
    let progress = Progress::new("working out the job");
    let sheet = made(&order, &Catalogue::built_in(), &mut |share| {
        progress.at(share);
        true
    });
    let sheet = sheet.expect("nobody gives up");
    let sheet = sheet.map_err(|fault| no_verdict(&bench.proposal, fault))?;
    drop(progress);
    let out = match (&arguments.out, arguments.json) {
        (Some(path), _) => Some(path.clone()),
        (None, false) => Some(PathBuf::from("sheet.html")),
        (None, true) => None,
    };
    if let Some(path) = &out {
        write_text(path, &sheet.page)?;
    }
    let made = Made {
        job: sheet.job,
        file: out.map(|path| path.display().to_string()),
    };
    show(&made, arguments.json)
}

/// The name of a file without its folders: a sheet goes to other people.
pub fn file_name(path: &str) -> String {
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
        let costs = self.job.costs.iter().flat_map(|costs| &costs.in_words);
        for sentence in costs {
            text += &format!("  {sentence}\n");
        }
        if let Some(file) = &self.file {
            text += &format!("\nWritten: {file}. Open it in a browser and print it.\n");
        }
        text + "\n" + safety::LINES
    }
}
