//! `presolder match`: part values from a recording of a real amp.

use super::arguments::fit::{MatchWord, OthersWord, SeriesWord, TakenWord};
use super::cabinet;
use super::failure::Failure;
use super::fit_text::text;
use super::guitar;
use super::load::load;
use super::output::show;
use super::progress::Progress;
use super::proposals::after;
use super::report::Report;
use crate::analysis::cabinet_model::CabinetModel;
use crate::circuit::{Circuit, ControlValue, Drawer, Proposal, write_proposal};
use crate::files::write_text;
use crate::recording::drive_hint::{DriveHint, NO_HINT};
use crate::recording::fit::colour::Taken;
use crate::recording::fit::{Choice, FitReport, Others, Unknown, unknowns};
use crate::recording::{Target, target};
use crate::requests::drawer::{NoDrawer, drawer};
use crate::requests::drive::DriveRequest;
use crate::requests::fit::FitRequest;
use crate::solve::solved::SolvedAmp;
use crate::sound::{Sound, file};
use crate::units::{Series, peak_volts_from_dbu};
use serde::Serialize;
use std::path::Path;

/// The report, what it was made from, and what was written.
#[derive(Serialize)]
struct Shown {
    #[serde(flatten)]
    report: FitReport,
    /// The curve that the recording shows.
    recording_curve: Target,
    /// What is to be soldered and turned: names and values.
    changes: Vec<[String; 2]>,
    /// How hard the recorded amp was driven, where that was asked for and can be told.
    #[serde(skip_serializing_if = "Option::is_none")]
    drive_hint: Option<DriveHint>,
    /// Whether it was asked for.
    #[serde(skip)]
    drive_with: bool,
    /// The proposal that was written.
    #[serde(skip_serializing_if = "Option::is_none")]
    written: Option<String>,
}

/// Fits.
///
/// # Errors
/// The faults found, recordings that show no amp, no solution, files that cannot be read or written.
pub fn run(arguments: &MatchWord) -> Result<(), Failure> {
    let guitar = guitar::open(&arguments.guitar)?;
    let loaded = load(&arguments.circuit, &arguments.changes)?.with_guitar(guitar);
    let circuit = loaded.proposed.as_ref().unwrap_or(&loaded.as_found);
    let inputs = Inputs::read(arguments, circuit)?;
    let (recording, dry) = (&inputs.recording, inputs.dry.as_ref());
    let target = target(recording, dry).map_err(|why| Failure::Input(why.0))?;
    let request = inputs.request(arguments, circuit, &target);
    let progress = Progress::new("matching");
    let found = request.answer(&mut progress.go_on());
    drop(progress);
    let report = match found {
        Some(found) => found.map_err(|fault| Failure::NoSolution(fault.to_string()))?,
        // Nobody says that it shall stop.
        None => return Ok(()),
    };
    let written_proposal = report.proposal.written(circuit);
    let written = match &arguments.out {
        None => None,
        Some(path) => {
            let whole = after(&[&loaded.asked], &written_proposal);
            write_text(path, &write_proposal(&whole))?;
            Some(path.display().to_string())
        }
    };
    let drive_hint = match (dry, arguments.drive_hint) {
        (Some(dry), true) => {
            let hint = hint(circuit, &report.proposal, recording, dry, &target)?;
            if hint.is_none() {
                super::output::tell(
                    "How hard the amp was driven cannot be told: there is too little playing, or no volume control.",
                );
            }
            hint
        }
        _ => None,
    };
    let changes = written_proposal.changes.iter();
    let changes = changes.map(|c| [c.designator.clone(), c.value.clone()]);
    let settings = report.proposal.settings.iter();
    let settings = settings.map(|s| {
        let written = s.written(circuit);
        let position = match s.value {
            ControlValue::Rotation(rotation) => format!("{rotation:.2}"),
            ControlValue::Closed(_) => written.value,
        };
        [written.control, position]
    });
    let shown = Shown {
        changes: changes.chain(settings).collect(),
        report,
        recording_curve: target,
        drive_hint,
        drive_with: arguments.drive_hint,
        written,
    };
    show(&shown, arguments.json)
}

/// What the arguments name, read.
struct Inputs {
    unknowns: Vec<Unknown>,
    drawer: Option<Drawer>,
    /// What the microphone heard, where that is known.
    cabinet: Option<CabinetModel>,
    recording: Sound,
    dry: Option<Sound>,
}

impl Inputs {
    /// Reads all of them.
    ///
    /// # Errors
    /// What is wrong with any of them, all at once.
    fn read(arguments: &MatchWord, circuit: &Circuit) -> Result<Inputs, Failure> {
        let unknowns = unknowns(circuit, &arguments.vary);
        let unknowns = unknowns.map_err(|faults| Failure::faults("command line", faults));
        let drawer = arguments.drawer.as_deref().map(drawer_at).transpose();
        let cabinet = cabinet(arguments, circuit);
        let recording = sound(&arguments.recording);
        let dry = arguments.dry.as_deref().map(sound).transpose();
        match (unknowns, drawer, cabinet, recording, dry) {
            (Ok(unknowns), Ok(drawer), Ok(cabinet), Ok(recording), Ok(dry)) => Ok(Inputs {
                unknowns,
                drawer,
                cabinet,
                recording,
                dry,
            }),
            (unknowns, drawer, cabinet, recording, dry) => {
                let failures = unknowns.err().into_iter().chain(drawer.err());
                let failures = failures.chain(cabinet.err()).chain(recording.err());
                Err(Failure::of_all(failures.chain(dry.err()).collect()))
            }
        }
    }

    fn request<'a>(
        &'a self,
        arguments: &MatchWord,
        circuit: &'a Circuit,
        target: &'a Target,
    ) -> FitRequest<'a> {
        FitRequest {
            circuit,
            unknowns: &self.unknowns,
            target,
            dry: self.dry.as_ref(),
            full_scale_volts: peak_volts_from_dbu(arguments.full_scale_dbu),
            taken: match (arguments.taken, &self.cabinet) {
                (TakenWord::Line, _) => Taken::Line,
                (TakenWord::Microphone, None) => Taken::Microphone,
                (TakenWord::Microphone, Some(_)) => Taken::KnownLoudspeaker,
            },
            cabinet: self.cabinet.as_ref().unwrap_or(&CabinetModel::Line),
            others: match arguments.others {
                OthersWord::Tolerance => Others::WithinTolerance,
                OthersWord::Exact => Others::AsStated,
            },
            choice: match &self.drawer {
                Some(drawer) => Choice::Drawer(drawer),
                None => Choice::Series(match arguments.series {
                    SeriesWord::E6 => Series::E6,
                    SeriesWord::E12 => Series::E12,
                    SeriesWord::E24 => Series::E24,
                }),
            },
        }
    }
}

/// The owner's parts.
fn drawer_at(path: &Path) -> Result<Drawer, Failure> {
    drawer(path).map_err(|fault| match fault {
        NoDrawer::File(fault) => fault.into(),
        NoDrawer::Faults(faults) => Failure::faults(&path.display().to_string(), faults),
    })
}

/// What the microphone heard, where that is known.
fn cabinet(arguments: &MatchWord, circuit: &Circuit) -> Result<Option<CabinetModel>, Failure> {
    let Some(choice) = &arguments.cabinet else {
        return Ok(None);
    };
    if arguments.taken == TakenWord::Line {
        let message = "--cabinet and --taken line do not go together: a line recording holds no loudspeaker. Leave one of the two out.";
        return Err(Failure::Usage(message.into()));
    }
    let (cabinet, warnings) = cabinet::open(Some(choice), CabinetModel::Line, circuit, false)?;
    for warning in warnings {
        super::output::tell(warning);
    }
    Ok((cabinet != CabinetModel::Line).then_some(cabinet))
}

/// How hard the recorded amp was driven, by the amp with what was found in it.
fn hint(
    circuit: &Circuit,
    found: &Proposal,
    recording: &Sound,
    dry: &Sound,
    target: &Target,
) -> Result<Option<DriveHint>, Failure> {
    let fitted = found.apply(circuit);
    let fitted = fitted.map_err(|faults| Failure::faults("what was found", faults))?;
    let amp = SolvedAmp::new(&fitted, None)?;
    let request = DriveRequest {
        amp: &amp,
        recording,
        dry,
        target,
    };
    let progress = Progress::new("comparing drive");
    let hint = request.answer(&mut progress.go_on());
    Ok(hint.flatten())
}

/// A WAV file as the analyses take it.
fn sound(path: &Path) -> Result<Sound, Failure> {
    Ok(file::read(path)?.sound)
}

impl Report for Shown {
    fn text(&self) -> String {
        let hint = match &self.drive_hint {
            Some(hint) => Some(hint.sentence.as_str()),
            None => self.drive_with.then_some(NO_HINT),
        };
        text(&self.report, &self.changes, self.written.as_deref(), hint)
    }
}
