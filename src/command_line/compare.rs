//! `presolder compare`: the whole verdict in one table, two loudness-matched recordings, the
//! curve as a picture and the voltage chart.

use super::arguments::Compare as Arguments;
use super::curve::picture;
use super::failure::Failure;
use super::file::{FileFault, write_text};
use super::load::{Bench, load};
use super::progress::Progress;
use super::render::{not_finite, peak_volts, read, write};
use super::report::{Report, show};
use super::spread_text::spread_text;
use super::verdict_text::verdict_text;
use super::wav::{Depth, Recording};
use crate::analysis::phrase::phrase;
use crate::analysis::safety;
use crate::analysis::spread::{SpreadReport, SpreadSettings, spread};
use crate::analysis::verdict::{NoVerdict, Recordings, Sound, Verdict, compare};
use crate::analysis::voltages::voltages;
use serde::Serialize;

/// Rate at which the built-in phrase is played, Hz.
const PHRASE_RATE: u32 = 48_000;

/// Name of the built-in phrase in the report.
const PHRASE: &str = "the built-in guitar phrase (invented)";

/// The verdict and the files that go with it.
#[derive(Serialize)]
struct Comparison {
    #[serde(flatten)]
    verdict: Verdict,
    /// How the two recordings were made equally loud.
    recordings: Recordings,
    /// The files written.
    files: Vec<String>,
    /// What other amps of the model do; only when asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    spread: Option<SpreadReport>,
}

impl Report for Comparison {
    fn text(&self) -> String {
        let text = verdict_text(&self.verdict, &self.recordings, &self.files);
        let Some(spread) = &self.spread else {
            return text;
        };
        // The cautions stay last.
        let verdict = text.strip_suffix(safety::LINES).unwrap_or(&text);
        format!("{verdict}{}\n{}", spread_text(spread), safety::LINES)
    }
}

/// Draws amps if they were asked for.
fn drawn(arguments: &Arguments, bench: &Bench) -> Result<Option<SpreadReport>, Failure> {
    let Some(amps) = arguments.spread else {
        return Ok(None);
    };
    let settings = SpreadSettings {
        amps: amps as usize,
        seed: arguments.seed,
        ..SpreadSettings::default()
    };
    let progress = Progress::new("drawing amps");
    let mut told = |share| {
        progress.at(share);
        true
    };
    let report = spread(
        &bench.as_found,
        bench.proposed.as_ref(),
        settings,
        &mut told,
    );
    Ok(report.transpose()?)
}

/// Compares as found with proposed.
///
/// # Errors
/// The faults found, nothing proposed, no solution, files that cannot be read or written.
pub fn run(arguments: &Arguments) -> Result<(), Failure> {
    let bench = load(&arguments.circuit, &arguments.changes)?;
    let Some(proposed) = &bench.proposed else {
        let message = "Nothing is proposed: give --proposal FILE, or --set PART=VALUE.";
        return Err(Failure::Usage(message.into()));
    };
    let input = match &arguments.input {
        Some(path) => read(path)?,
        None => Recording {
            rate: PHRASE_RATE,
            depth: Depth::Int24,
            channels: vec![phrase(PHRASE_RATE)],
        },
    };
    let (name, input_volts) = match &arguments.input {
        Some(path) => (
            path.display().to_string(),
            peak_volts(arguments.levels.full_scale_dbu),
        ),
        // The phrase is in volts.
        None => (PHRASE.to_string(), 1.0),
    };
    let sound = Sound {
        name: &name,
        rate: input.rate,
        channels: &input.channels,
        input_volts,
        output_volts: peak_volts(arguments.levels.output_full_scale_dbu),
        may_exceed: input.depth == Depth::Float32,
    };
    let progress = Progress::new("comparing");
    let compared = compare(
        &bench.as_found,
        proposed,
        &bench.proposal,
        &sound,
        &mut |share| {
            progress.at(share);
        },
    )
    .map_err(|fault| match fault {
        NoVerdict::NoRest(fault) => Failure::from(fault),
        NoVerdict::NotFinite(count) => not_finite(count),
    })?;
    drop(progress);

    let folder = &arguments.into;
    std::fs::create_dir_all(folder).map_err(|why| FileFault {
        path: folder.clone(),
        tried: "made",
        why,
    })?;
    let mut files = Vec::new();
    let mut place = |name: &str| {
        let path = folder.join(name);
        files.push(path.display().to_string());
        path
    };
    for (name, channels) in [
        ("as-found.wav", &compared.recordings.samples.as_found),
        ("proposed.wav", &compared.recordings.samples.proposed),
    ] {
        let recording = Recording {
            rate: input.rate,
            depth: input.depth,
            channels: channels.clone(),
        };
        write(&place(name), &recording)?;
    }
    write_text(&place("curve.svg"), &picture(&compared.response, &bench)?)?;
    write_text(&place("voltages.txt"), &voltages(&compared.amp).text())?;
    let comparison = Comparison {
        verdict: compared.verdict,
        recordings: compared.recordings,
        files,
        spread: drawn(arguments, &bench)?,
    };
    show(&comparison, arguments.json)
}
