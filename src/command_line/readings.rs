//! `presolder check CIRCUIT --measured FILE`: readings against what healthy amps give, and values
//! for the next round.

use super::arguments::Check;
use super::failure::Failure;
use super::load::LoadedAmp;
use super::output::show;
use super::progress::Progress;
use super::proposals::after;
use super::report::Report;
use crate::advice::readings::{Judgement, MeasuredReport, as_found, measured};
use crate::advice::safety;
use crate::circuit::{MOST_BYTES, read_readings, write_proposal};
use crate::device::Catalogue;
use crate::files::{read_bytes, write_text};
use crate::solve::solved::SolvedAmp;
use crate::text::table::{Edge, Table, volts};
use serde::Serialize;
use std::fmt::Write;
use std::path::Path;

/// The report and what was written.
#[derive(Serialize)]
struct Measured {
    #[serde(flatten)]
    report: MeasuredReport,
    /// The file for the next round.
    #[serde(skip_serializing_if = "Option::is_none")]
    written: Option<String>,
    /// What went into it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    written_notes: Vec<String>,
}

/// Compares the readings in a file with the amp.
///
/// # Errors
/// The faults found, no solution, files that cannot be read or written.
pub fn run(arguments: &Check, loaded: &LoadedAmp, file: &Path) -> Result<(), Failure> {
    let (circuit, compared_with) = match (&loaded.proposed, arguments.as_left) {
        (Some(proposed), true) => (proposed, "as left"),
        (None, true) => {
            let message = "Nothing was left: give what was done with --proposal FILE or --set PART=VALUE beside --as-left.";
            return Err(Failure::Usage(message.into()));
        }
        _ => (&loaded.as_found, "as found"),
    };
    let catalogue = Catalogue::built_in();
    let bytes = read_bytes(file, MOST_BYTES as u64)?;
    let name = file.display().to_string();
    let in_file = |faults| Failure::faults(&name, faults);
    let readings = read_readings(&bytes, circuit, &catalogue).map_err(in_file)?;
    if !readings.for_amp.is_empty() && !readings.for_amp.eq_ignore_ascii_case(circuit.name()) {
        super::output::tell(format!(
            "The readings are of {}; this is {}.",
            readings.for_amp,
            circuit.name()
        ));
    }
    let put_in = circuit.with_changes(&readings.parts).map_err(in_file)?;
    let progress = Progress::new("comparing readings");
    let mut go_on = progress.go_on();
    let amp = SolvedAmp::new(&put_in, None)?.fit_to_judge()?;
    let report = measured(circuit, &readings, compared_with, &amp, &mut go_on);
    drop(go_on);
    drop(progress);
    let report = match report {
        Some(Ok(report)) => report,
        Some(Err(fault)) => return Err(Failure::NoSolution(fault.to_string())),
        // Nobody says that it shall stop.
        None => return Ok(()),
    };
    let mut shown = Measured {
        report,
        written: None,
        written_notes: Vec::new(),
    };
    if let Some(path) = &arguments.write_as_found {
        let found = as_found(&amp, &readings);
        let mut before = vec![&loaded.before];
        if arguments.as_left {
            before.push(&loaded.asked);
        }
        let whole = after(&before, &found.proposal.written(&put_in));
        write_text(path, &write_proposal(&whole))?;
        shown.written = Some(path.display().to_string());
        shown.written_notes = found.notes;
    }
    show(&shown, arguments.json)
}

impl Report for Measured {
    fn text(&self) -> String {
        let report = &self.report;
        let mut text = format!(
            "{}: readings that you or a technician have, against the amp {}\n",
            report.amp, report.compared_with
        );
        if !report.about.is_empty() {
            let _ = writeln!(text, "{}", report.about);
        }
        text.push('\n');
        for caution in report.cautions {
            let _ = writeln!(text, "{caution}");
        }
        if !report.readings.is_empty() {
            let _ = write!(text, "\n{}", table(report));
        }
        text.push('\n');
        for sentence in &report.sentences {
            let _ = writeln!(text, "{sentence}");
        }
        if !report.parts.is_empty() {
            text.push_str("\nParts that were measured\n");
            for part in &report.parts {
                let _ = writeln!(text, "  {}", part.sentence);
            }
        }
        let beside = report.suspects.first().map_or("", |s| s.part.as_str());
        for (title, list) in [
            (
                "Once the amp is off, unplugged and discharged, look at these, the likeliest first"
                    .to_string(),
                &report.suspects,
            ),
            (
                format!(
                    "Should it be {beside}, something is left that it does not explain; look besides at"
                ),
                &report.besides,
            ),
        ] {
            if !list.is_empty() {
                let _ = writeln!(text, "\n{title}");
            }
            for (number, suspect) in list.iter().enumerate() {
                let _ = writeln!(text, "  {}. {}", number + 1, suspect.sentence);
                let _ = writeln!(text, "     {}", suspect.look);
            }
        }
        if let Some(path) = &self.written {
            let _ = writeln!(text, "\nValues for the next round: {path}");
            for note in &self.written_notes {
                let _ = writeln!(text, "  {note}");
            }
            text.push_str("  Give the file with --as-found to every other word.\n");
        }
        text.push('\n');
        for note in &report.notes {
            let _ = writeln!(text, "{note}");
        }
        let _ = write!(text, "\n{}", safety::LINES);
        text
    }
}

fn table(report: &MeasuredReport) -> Table {
    let mut table = Table::new(&[
        ("Point", Edge::Left),
        ("Node", Edge::Left),
        ("Read, V", Edge::Right),
        ("Expected, V", Edge::Right),
        ("98 of 100 amps, V", Edge::Right),
        ("", Edge::Left),
    ]);
    for row in &report.readings {
        let way = match row.judgement {
            Judgement::Outside if row.volts > row.band.p99 => ", above",
            Judgement::Outside => ", below",
            _ => "",
        };
        table.row([
            row.point.clone(),
            row.node.clone(),
            volts(row.volts),
            volts(row.expected),
            format!("{} to {}", volts(row.band.p1), volts(row.band.p99)),
            format!("{}{way}", row.judgement.in_words()),
        ]);
    }
    table
}
