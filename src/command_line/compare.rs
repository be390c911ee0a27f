//! `presolder compare`: the whole verdict in one table, two loudness-matched recordings, the
//! curve as a picture and the voltage chart.

use super::arguments::Compare as Arguments;
use super::cabinet;
use super::curve::picture;
use super::failure::Failure;
use super::guitar;
use super::load::{LoadedAmp, load, prices};
use super::output::show;
use super::progress::Progress;
use super::render::{not_at_rate, not_finite, write};
use super::report::Report;
use super::spread_text::spread_text;
use super::verdict_text::verdict_text;
use crate::advice::safety;
use crate::advice::spread::SpreadReport;
use crate::advice::verdict::{
    Answer, Cache, CalibratedSound, NoVerdict, Recordings, Verdict, recordings,
};
use crate::advice::voltages::voltages;
use crate::analysis::cabinet_model::CabinetModel;
use crate::analysis::response::{Path as ResponsePath, response};
use crate::circuit::Circuit;
use crate::files::{FileFault, write_text};
use crate::requests::played::phrase_played;
use crate::requests::spread::SpreadRequest;
use crate::requests::verdict::VerdictRequest;
use crate::solve::solved::{SolvedAmp, SolvedCircuit};
use crate::sound::Sound;
use crate::sound::file;
use crate::sound::wav::{Depth, WavFile};
use crate::units::peak_volts_from_dbu;
use serde::Serialize;
use std::path::{Path, PathBuf};
use std::sync::Arc;

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
pub fn proposed(loaded: &LoadedAmp) -> Result<&Circuit, Failure> {
    loaded.proposed.as_ref().ok_or_else(|| {
        let message = "Nothing is proposed: give --proposal FILE, or --set PART=VALUE.";
        Failure::Usage(message.into())
    })
}

/// Why there is no verdict, `name` being what was proposed.
pub fn no_verdict(name: &str, fault: NoVerdict) -> Failure {
    match fault {
        NoVerdict::Faults(faults) => Failure::faults(name, faults),
        NoVerdict::NoOperatingPoint(fault) => Failure::from(fault),
        NoVerdict::Unfit(fault) => Failure::from(fault),
        NoVerdict::NotFinite(count) => not_finite(count),
    }
}

/// Draws amps if they were asked for.
fn drawn(arguments: &Arguments, amp: &SolvedAmp) -> Option<SpreadReport> {
    let amps = arguments.spread?;
    let request = SpreadRequest {
        amp,
        amps: Some(amps as usize),
        seed: Some(arguments.seed),
    };
    let progress = Progress::new("drawing amps");
    request.answer(&mut progress.go_on())
}

/// What is played, and how the file stored it: the recording that was named, or the phrase.
fn played(arguments: &Arguments) -> Result<(CalibratedSound, Depth), Failure> {
    let Some(path) = &arguments.input else {
        let phrase = phrase_played(arguments.levels.output_full_scale_dbu);
        let depth = Depth::Int24;
        let may_exceed = false;
        return Ok((
            CalibratedSound {
                may_exceed,
                ..phrase
            },
            depth,
        ));
    };
    let WavFile { mut sound, depth } = file::read(path)?;
    sound.name = path.display().to_string();
    let played = CalibratedSound {
        sound: Arc::new(sound),
        input_volts: peak_volts_from_dbu(arguments.levels.full_scale_dbu),
        output_volts: peak_volts_from_dbu(arguments.levels.output_full_scale_dbu),
        may_exceed: depth == Depth::Float32,
    };
    Ok((played, depth))
}

/// Compares as found with proposed.
///
/// # Errors
/// The faults found, nothing proposed, no solution, files that cannot be read or written.
pub fn run(arguments: &Arguments) -> Result<(), Failure> {
    let guitar = guitar::open_before(&arguments.guitar, arguments.boost)?;
    let loaded = load(&arguments.circuit, &arguments.changes)?.with_guitar(guitar);
    proposed(&loaded)?;
    let prices = prices(arguments.prices.as_deref())?;
    let asked = arguments.cabinet.as_ref();
    let (cabinet, told) = cabinet::open(asked, CabinetModel::Loudspeaker, &loaded.as_found, false)?;
    told.iter().for_each(super::output::tell);
    let (played, depth) = played(arguments)?;
    let progress = Progress::new("comparing");
    let amp = SolvedAmp::new(&loaded.as_found, None)
        .map_err(|fault| no_verdict(&loaded.proposal, fault.into()))?;
    // The verdict would find what is proposed to be so.
    if let Some(silent) = amp.silent() {
        return Err(silent.into());
    }
    let request = VerdictRequest {
        amp: &amp,
        proposal: &loaded.changes,
        prices: &prices,
        played: Some(&played),
        thorough: true,
        idle_percent: arguments.idle,
        boost_db: arguments.boost,
    };
    let answer = request.answer(&mut Cache::default(), &mut |share| {
        progress.at(VERDICT * share);
        true
    });
    let answer = answer.expect("nobody gives up");
    let answer = answer.map_err(|fault| no_verdict(&loaded.proposal, fault))?;
    let recorded = heard(&answer.amp, &played, &cabinet, &progress, &loaded.proposal)?;
    drop(progress);
    let mut folder = Folder::new(&arguments.into)?;
    folder.sounds(&recorded, &played, depth)?;
    if arguments.input.is_none() {
        folder.dry_phrase(&played, arguments.levels.full_scale_dbu, depth)?;
    }
    folder.reports(&answer, &loaded)?;
    let comparison = Comparison {
        verdict: answer.verdict,
        recordings: recorded,
        files: folder.files,
        spread: drawn(arguments, &answer.amp),
    };
    show(&comparison, arguments.json)
}

/// The two recordings, as heard through the cabinet.
fn heard(
    amp: &SolvedAmp,
    played: &CalibratedSound,
    cabinet: &CabinetModel,
    progress: &Progress,
    proposal: &str,
) -> Result<Recordings, Failure> {
    let rate = f64::from(played.sound.rate);
    let mut deaf = None;
    let mut hear = |side: &SolvedCircuit, volts: &mut [Vec<f32>]| {
        let heard = cabinet.hear(&side.circuit, rate, volts);
        let heard = heard.map_err(|fault| not_at_rate(cabinet, &side.circuit, fault));
        deaf = heard.err().or(deaf.take());
        cabinet.words(&side.circuit)
    };
    let recorded = recordings(amp, played, &mut hear, &mut |share| {
        progress.at(VERDICT + (1.0 - VERDICT) * share);
    });
    let recorded = recorded.map_err(|fault| no_verdict(proposal, fault))?;
    match deaf {
        Some(fault) => Err(fault),
        None => Ok(recorded),
    }
}

/// The folder that the files go to, and those that are written.
struct Folder<'a> {
    path: &'a Path,
    files: Vec<String>,
}

impl<'a> Folder<'a> {
    /// Makes it if it is not there.
    fn new(path: &'a Path) -> Result<Self, Failure> {
        std::fs::create_dir_all(path).map_err(|why| FileFault {
            path: path.to_path_buf(),
            tried: "made",
            why,
        })?;
        Ok(Folder {
            path,
            files: Vec::new(),
        })
    }

    /// The path of a file in it, which counts as written from now on.
    fn place(&mut self, name: &str) -> PathBuf {
        let path = self.path.join(name);
        self.files.push(path.display().to_string());
        path
    }

    fn sounds(
        &mut self,
        recorded: &Recordings,
        played: &CalibratedSound,
        depth: Depth,
    ) -> Result<(), Failure> {
        for (name, channels) in [
            ("as-found.wav", &recorded.samples.as_found),
            ("proposed.wav", &recorded.samples.proposed),
        ] {
            let sound = Sound {
                name: name.into(),
                rate: played.sound.rate,
                channels: channels.clone(),
            };
            write(&self.place(name), &sound, depth)?;
        }
        Ok(())
    }

    /// The dry phrase: to be played through the real amp, and to be fitted against.
    fn dry_phrase(
        &mut self,
        played: &CalibratedSound,
        full_scale_dbu: f64,
        depth: Depth,
    ) -> Result<(), Failure> {
        let full_scale = peak_volts_from_dbu(full_scale_dbu) as f32;
        let mut dry = Sound::clone(&played.sound);
        let samples = dry.channels.iter_mut().flatten();
        samples.for_each(|volts| *volts /= full_scale);
        write(&self.place("guitar.wav"), &dry, depth)
    }

    /// The curve as a picture, the voltage chart and the ratings.
    fn reports(&mut self, answer: &Answer, loaded: &LoadedAmp) -> Result<(), Failure> {
        let curve = picture(&response(&answer.amp, ResponsePath::default()), loaded)?;
        write_text(&self.place("curve.svg"), &curve)?;
        let chart = voltages(&answer.amp).text();
        write_text(&self.place("voltages.txt"), &chart)?;
        let ratings = &answer.verdict.ratings;
        let sides = format!(
            "As found\n\n{}\nAs proposed\n\n{}",
            ratings.as_found.text(),
            ratings.proposed.text()
        );
        Ok(write_text(&self.place("ratings.txt"), &sides)?)
    }
}
