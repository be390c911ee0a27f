//! `presolder match`: part values from a recording of a real amp.

use super::arguments::matching::{MatchWord, OthersWord, SeriesWord, TakenWord};
use super::cabinet;
use super::failure::Failure;
use super::load::load;
use super::matching_text::text;
use super::output::show;
use super::progress::Progress;
use crate::analysis::cabinet_model::CabinetModel;
use crate::circuit::{
    Circuit, ControlValue, Drawer, MOST_BYTES, Proposal, WrittenProposal, read_drawer,
    write_proposal,
};
use crate::files::{read_bytes, write_text};
use crate::recording::drive_hint::{DriveHint, NO_HINT, drive_hint};
use crate::recording::fit::colour::Taken;
use crate::recording::fit::{Behind, Choice, Dry, Match, Others, Request, matching, unknowns};
use crate::recording::{Target, target};
use crate::solve::solved::SolvedAmp;
use crate::sound::{Sound, file};
use crate::text::report::Report;
use crate::units::{Series, peak_volts_from_dbu};
use serde::Serialize;
use std::path::Path;

/// The report, what it was made from, and what was written.
#[derive(Serialize)]
struct Shown {
    #[serde(flatten)]
    report: Match,
    /// The curve that the recording shows.
    recording_curve: Target,
    /// What is to be soldered and turned: names and values.
    changes: Vec<[String; 2]>,
    /// How hard the recorded amp was driven, where that was asked for and can be told.
    #[serde(skip_serializing_if = "Option::is_none")]
    drive_hint: Option<DriveHint>,
    /// Whether it was asked for.
    #[serde(skip)]
    drive_asked: bool,
    /// The proposal that was written.
    #[serde(skip_serializing_if = "Option::is_none")]
    written: Option<String>,
}

/// Matches.
///
/// # Errors
/// The faults found, recordings that show no amp, no solution, files that cannot be read or written.
pub fn run(arguments: &MatchWord) -> Result<(), Failure> {
    let bench = load(&arguments.circuit, &arguments.changes)?;
    let circuit = bench.proposed.as_ref().unwrap_or(&bench.as_found);
    // What is wrong with any of these is told at once.
    let unknowns = unknowns(circuit, &arguments.vary);
    let unknowns = unknowns.map_err(|faults| Failure::faults("command line", faults));
    let drawer = arguments.drawer.as_deref().map(drawer).transpose();
    let through = through(arguments, circuit);
    let recording = sound(&arguments.recording);
    let dry = arguments.dry.as_deref().map(sound).transpose();
    let (unknowns, drawer, through, recording, dry) =
        match (unknowns, drawer, through, recording, dry) {
            (Ok(unknowns), Ok(drawer), Ok(through), Ok(recording), Ok(dry)) => {
                (unknowns, drawer, through, recording, dry)
            }
            (unknowns, drawer, through, recording, dry) => {
                let failures = unknowns.err().into_iter().chain(drawer.err());
                let failures = failures.chain(through.err()).chain(recording.err());
                return Failure::all(failures.chain(dry.err()).collect());
            }
        };
    let target = target(&recording, dry.as_ref()).map_err(|why| Failure::Input(why.0))?;
    let full_scale_volts = peak_volts_from_dbu(arguments.full_scale_dbu);
    let behind = behind(through.as_ref(), circuit, &target.hz)?;
    let request = Request {
        circuit,
        unknowns: &unknowns,
        target: &target,
        taken: match (arguments.taken, &behind) {
            (TakenWord::Line, _) => Taken::Line,
            (TakenWord::Microphone, None) => Taken::Microphone,
            (TakenWord::Microphone, Some(_)) => Taken::KnownLoudspeaker,
        },
        behind: behind.as_ref(),
        dry: dry.as_ref().map(|sound| Dry {
            sound,
            full_scale_volts,
        }),
        others: match arguments.others {
            OthersWord::Tolerance => Others::WithinTolerance,
            OthersWord::Exact => Others::AsStated,
        },
        choice: match &drawer {
            Some(drawer) => Choice::Drawer(drawer),
            None => Choice::Series(match arguments.series {
                SeriesWord::E6 => Series::E6,
                SeriesWord::E12 => Series::E12,
                SeriesWord::E24 => Series::E24,
            }),
        },
    };
    let progress = Progress::new("matching");
    let mut told = |share| {
        progress.at(share);
        true
    };
    let found = matching(request, &mut told);
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
            let whole = after(&bench.asked, &written_proposal);
            write_text(path, &write_proposal(&whole))?;
            Some(path.display().to_string())
        }
    };
    let drive_hint = match (&dry, arguments.drive_hint) {
        (Some(dry), true) => {
            let hint = hint(circuit, &report.proposal, &recording, dry, &target)?;
            if hint.is_none() {
                eprintln!(
                    "How hard the amp was driven cannot be told: there is too little playing, or no volume control."
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
        drive_asked: arguments.drive_hint,
        written,
    };
    show(&shown, arguments.json)
}

/// The owner's parts.
fn drawer(path: &Path) -> Result<Drawer, Failure> {
    let bytes = read_bytes(path, MOST_BYTES as u64)?;
    read_drawer(&bytes).map_err(|faults| Failure::faults(&path.display().to_string(), faults))
}

/// What the microphone heard, where that is known.
fn through(arguments: &MatchWord, circuit: &Circuit) -> Result<Option<CabinetModel>, Failure> {
    let Some(choice) = &arguments.cabinet else {
        return Ok(None);
    };
    if arguments.taken == TakenWord::Line {
        let message = "--cabinet and --taken line do not go together: a line recording holds no loudspeaker. Leave one of the two out.";
        return Err(Failure::Usage(message.into()));
    }
    let (through, warnings) = cabinet::open(Some(choice), CabinetModel::Line, circuit, false)?;
    for warning in warnings {
        eprintln!("{warning}");
    }
    Ok((through != CabinetModel::Line).then_some(through))
}

/// Its level at frequencies in hertz.
fn behind(
    through: Option<&CabinetModel>,
    circuit: &Circuit,
    hz: &[f64],
) -> Result<Option<Behind>, Failure> {
    let Some(through) = through else {
        return Ok(None);
    };
    let amp = SolvedAmp::new(circuit, None)?;
    Ok(Some(Behind {
        name: through.name(circuit).unwrap_or_default(),
        db: through.levels(&amp.as_found, hz),
    }))
}

/// How hard the recorded amp was driven, by the amp with what was found in it.
fn hint(
    circuit: &Circuit,
    found: &Proposal,
    recording: &Sound,
    dry: &Sound,
    target: &Target,
) -> Result<Option<DriveHint>, Failure> {
    let matched = found.apply(circuit);
    let matched = matched.map_err(|faults| Failure::faults("what was found", faults))?;
    let amp = SolvedAmp::new(&matched, None)?;
    let progress = Progress::new("comparing drive");
    let mut told = |share| {
        progress.at(share);
        true
    };
    let side = &amp.as_found;
    Ok(drive_hint(&amp.network, side, recording, dry, target, &mut told).flatten())
}

/// A WAV file as the analyses take it.
fn sound(path: &Path) -> Result<Sound, Failure> {
    Ok(file::read(path)?.sound)
}

/// What was put in first, then what was found; of one part or control the last word counts.
fn after(first: &WrittenProposal, found: &WrittenProposal) -> WrittenProposal {
    let mut whole = found.clone();
    let changes = first.changes.iter().filter(|old| {
        let mut new = found.changes.iter();
        !new.any(|new| same_name(&old.designator, &new.designator))
    });
    let settings = first.settings.iter().filter(|old| {
        let mut new = found.settings.iter();
        !new.any(|new| same_name(&old.control, &new.control))
    });
    whole.changes = changes.cloned().chain(whole.changes).collect();
    whole.settings = settings.cloned().chain(whole.settings).collect();
    whole
}

fn same_name(a: &str, b: &str) -> bool {
    a.eq_ignore_ascii_case(b)
}

impl Report for Shown {
    fn text(&self) -> String {
        let hint = match &self.drive_hint {
            Some(hint) => Some(hint.sentence.as_str()),
            None => self.drive_asked.then_some(NO_HINT),
        };
        text(&self.report, &self.changes, self.written.as_deref(), hint)
    }
}
