//! `presolder sheet`: the job sheet as one HTML file, or its report as JSON.

use super::arguments::Sheet as Arguments;
use super::compare::{no_verdict, proposed};
use super::failure::Failure;
use super::guitar;
use super::load::{LoadedAmp, load, prices};
use super::output::show;
use super::progress::Progress;
use super::report::Report;
use crate::advice::job::{Job, Origin};
use crate::advice::safety;
use crate::advice::verdict::Cache;
use crate::files::{FileFault, file_name, write_text};
use crate::requests::sheet::{CircuitSource, SheetRequest, origin};
use crate::solve::solved::SolvedAmp;
use serde::Serialize;
use std::path::{Path, PathBuf};
use std::sync::Arc;

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
    let guitar = guitar::open(&arguments.guitar)?;
    let loaded = load(&arguments.circuit, &arguments.changes)?.with_guitar(guitar);
    proposed(&loaded)?;
    let prices = Arc::new(prices(arguments.prices.as_deref())?);
    let out = match (&arguments.out, arguments.json) {
        (Some(path), _) => Some(path.clone()),
        (None, false) => Some(PathBuf::from("sheet.html")),
        (None, true) => None,
    };
    if let Some(path) = &out {
        can_be_written(path)?;
    }
    let fault = |fault| no_verdict(&loaded.proposal, fault);
    let amp = SolvedAmp::new(&loaded.as_found, None).map_err(|why| fault(why.into()))?;
    let request = SheetRequest {
        proposal: loaded.changes.clone(),
        origin: origin_of(arguments, &loaded),
        prices,
        amp: Arc::new(amp),
    };
    let progress = Progress::new("working out the job");
    let sheet = request.answer(&mut Cache::default(), &mut progress.go_on());
    let sheet = sheet.expect("nobody gives up");
    let sheet = sheet.map_err(fault)?;
    drop(progress);
    if let Some(path) = &out {
        write_text(path, &sheet.page)?;
    }
    let made = Made {
        job: sheet.job,
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

fn origin_of(arguments: &Arguments, loaded: &LoadedAmp) -> Origin {
    let circuit = match loaded.built_in {
        true => CircuitSource::BuiltIn(&loaded.source),
        false => CircuitSource::File(Path::new(&loaded.source)),
    };
    let proposal = arguments.changes.proposal.as_deref();
    origin(
        circuit,
        proposal.map_or(String::new(), |path| file_name(Path::new(path))),
    )
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
