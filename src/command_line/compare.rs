//! `presolder compare`: the whole verdict in one table, two loudness-matched recordings, the
//! curve as a picture and the voltage chart.

use super::arguments::Compare as Arguments;
use super::cabinet;
use super::curve::picture;
use super::failure::Failure;
use super::load::{LoadedAmp, load, prices};
use super::output::show;
use super::progress::Progress;
use super::render::{not_at_rate, not_finite, write};
use super::spread_text::spread_text;
use super::verdict_text::verdict_text;
use crate::advice::safety;
use crate::advice::spread::{SpreadReport, SpreadSettings, spread};
use crate::advice::verdict::{
    Cache, CalibratedSound, NoVerdict, Question, Recordings, Verdict, recordings, verdict,
};
use crate::advice::voltages::voltages;
use crate::analysis::cabinet_model::CabinetModel;
use crate::analysis::response::{Path, response};
use crate::circuit::Circuit;
use crate::files::{FileFault, write_text};
use crate::solve::solved::SolvedCircuit;
use crate::sound::Sound;
use crate::sound::file;
use crate::sound::phrase::built_in_phrase;
use crate::sound::wav::{Depth, WavFile};
use crate::text::report::Report;
use crate::units::peak_volts_from_dbu;
use serde::Serialize;

/// Share of the work that the verdict takes, for the progress; the recordings follow.
const VERDICT: f64 = 0.3;

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

/// The proposed side.
///
/// # Errors
/// When nothing is proposed.
pub fn proposed(bench: &LoadedAmp) -> Result<&Circuit, Failure> {
    bench.proposed.as_ref().ok_or_else(|| {
        let message = "Nothing is proposed: give --proposal FILE, or --set PART=VALUE.";
        Failure::Usage(message.into())
    })
}

/// Why there is no verdict, `name` being what was proposed.
pub fn no_verdict(name: &str, fault: NoVerdict) -> Failure {
    match fault {
        NoVerdict::Faults(faults) => Failure::faults(name, faults),
        NoVerdict::NoOperatingPoint(fault) => Failure::from(fault),
        NoVerdict::NotFinite(count) => not_finite(count),
    }
}

/// Draws amps if they were asked for.
fn drawn(arguments: &Arguments, bench: &LoadedAmp) -> Result<Option<SpreadReport>, Failure> {
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
    proposed(&bench)?;
    let prices = prices(arguments.prices.as_deref())?;
    let asked = arguments.cabinet.as_ref();
    let (cabinet, told) = cabinet::open(asked, CabinetModel::Loudspeaker, &bench.as_found, false)?;
    for warning in told {
        eprintln!("{warning}");
    }
    let full_scale_volts = peak_volts_from_dbu(arguments.levels.full_scale_dbu);
    let (input, depth, input_volts) = match &arguments.input {
        Some(path) => {
            let WavFile { mut sound, depth } = file::read(path)?;
            sound.name = path.display().to_string();
            (sound, depth, full_scale_volts)
        }
        // The phrase is in volts.
        None => (built_in_phrase(), Depth::Int24, 1.0),
    };
    let sound = CalibratedSound {
        sound: &input,
        input_volts,
        output_volts: peak_volts_from_dbu(arguments.levels.output_full_scale_dbu),
        may_exceed: depth == Depth::Float32,
    };
    let progress = Progress::new("comparing");
    let question = Question {
        as_found: &bench.as_found,
        proposal: &bench.changes,
        prices: &prices,
        sound,
        thorough: true,
        idle_percent: arguments.idle,
    };
    let answer = verdict(&question, &mut Cache::default(), &mut |share| {
        progress.at(VERDICT * share);
        true
    });
    let fault = |fault| no_verdict(&bench.proposal, fault);
    let answer = answer.expect("nobody gives up").map_err(fault)?;
    let mut deaf = None;
    let mut hear = |side: &SolvedCircuit, volts: &mut [Vec<f32>]| {
        let heard = cabinet.hear(&side.circuit, f64::from(input.rate), volts);
        let heard = heard.map_err(|fault| not_at_rate(&cabinet, &side.circuit, fault));
        deaf = heard.err().or(deaf.take());
        cabinet.words(&side.circuit)
    };
    let recorded = recordings(&answer.amp, &sound, &mut hear, &mut |share| {
        progress.at(VERDICT + (1.0 - VERDICT) * share);
    });
    let recorded = recorded.map_err(fault)?;
    if let Some(fault) = deaf {
        return Err(fault);
    }
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
        ("as-found.wav", &recorded.samples.as_found),
        ("proposed.wav", &recorded.samples.proposed),
    ] {
        let sound = Sound {
            name: name.into(),
            rate: input.rate,
            channels: channels.clone(),
        };
        write(&place(name), &sound, depth)?;
    }
    if arguments.input.is_none() {
        // The dry phrase too: to be played through the real amp, and to be matched against.
        let full_scale = full_scale_volts as f32;
        let mut dry = input.clone();
        let samples = dry.channels.iter_mut().flatten();
        samples.for_each(|volts| *volts /= full_scale);
        write(&place("guitar.wav"), &dry, depth)?;
    }
    write_text(
        &place("curve.svg"),
        &picture(&response(&answer.amp, Path::default()), &bench)?,
    )?;
    write_text(&place("voltages.txt"), &voltages(&answer.amp).text())?;
    let ratings = &answer.verdict.ratings;
    let sides = format!(
        "As found\n\n{}\nAs proposed\n\n{}",
        ratings.as_found.text(),
        ratings.proposed.text()
    );
    write_text(&place("ratings.txt"), &sides)?;
    let comparison = Comparison {
        verdict: answer.verdict,
        recordings: recorded,
        files,
        spread: drawn(arguments, &bench)?,
    };
    show(&comparison, arguments.json)
}
