//! `presolder render`: a WAV file through the amp into another WAV file.

use super::arguments::{Levels, Render as Arguments};
use super::cabinet;
use super::curve::node;
use super::failure::Failure;
use super::guitar;
use super::load::load;
use super::output::show;
use super::progress::Progress;
use super::report::Report;
use crate::analysis::cabinet_model::CabinetModel;
use crate::analysis::playing::{Effort, Played, play};
use crate::circuit::{Circuit, GROUND};
use crate::solve::solved::{SolvedAmp, SolvedCircuit};
use crate::sound::Sound;
use crate::sound::file::{self, SoundFileFault};
use crate::sound::impulse::ImpulseFault;
use crate::sound::loudness::integrated_lufs;
use crate::sound::wav::{self, Depth, Fitted, WavFile};
use crate::text::table::{fixed, volts};
use crate::units::peak_volts_from_dbu;
use serde::Serialize;
use std::fmt::Write;
use std::path::Path;

/// What was rendered.
#[derive(Debug, Serialize)]
struct Rendered {
    /// Name of the amp.
    amp: String,
    /// "as found" or "proposed".
    shown: &'static str,
    /// Loudspeaker or node listened to.
    at: String,
    /// What it is heard through; none for the voltage itself.
    through: Option<String>,
    /// Volts at rest there, which the file leaves out.
    idle_volts: f64,
    /// The file written.
    file: String,
    /// Sample rate, Hz.
    rate: u32,
    /// Number of channels.
    channels: usize,
    /// Frames, as many as in the input.
    frames: usize,
    /// The guitar in the jack; none for a pedal with a buffer.
    guitar: Option<String>,
    /// Peak at the jack, V; through a guitar, as it was recorded.
    input_peak_volts: f64,
    /// Peak of the voltage listened to, V.
    output_peak_volts: f64,
    /// Integrated loudness of the file, LUFS; none for silence.
    lufs: Option<f64>,
    /// Peak against full scale, and by how much the file was lowered.
    level: Fitted,
    /// What the work took.
    effort: Effort,
    /// What deserves a look.
    warnings: Vec<String>,
}

/// Writes a WAV file whole.
///
/// # Errors
/// What is wrong, with its path.
pub fn write(path: &Path, sound: &Sound, depth: Depth) -> Result<(), Failure> {
    Ok(wav::write(path, sound, depth).map_err(|fault| SoundFileFault::wav(path, fault))?)
}

/// The failure for a sound that is not made of numbers.
pub fn not_finite(count: u64) -> Failure {
    Failure::NoSolution(format!(
        "The equations failed on the way: {count} samples of the sound are no numbers. Nothing was written."
    ))
}

/// The failure for an impulse response that cannot be brought to the rate of a sound.
pub fn not_at_rate(cabinet: &CabinetModel, circuit: &Circuit, fault: ImpulseFault) -> Failure {
    let name = cabinet.name(circuit).unwrap_or_default();
    SoundFileFault::impulse(Path::new(&name), fault).into()
}

/// Renders a recording.
///
/// # Errors
/// The faults found, unknown nodes, no solution, files that cannot be read or written.
pub fn run(arguments: &Arguments) -> Result<(), Failure> {
    let guitar = guitar::open(&arguments.guitar)?;
    let loaded = load(&arguments.circuit, &arguments.changes)?.with_guitar(guitar);
    let shown = match loaded.proposed {
        Some(_) => "proposed",
        None => "as found",
    };
    let mut circuit = loaded.proposed.unwrap_or(loaded.as_found);
    if let Some(name) = &arguments.probe {
        let node = node(&circuit, name)?;
        circuit = circuit.heard_between(node, GROUND);
    }
    let probed = arguments.probe.is_some();
    let asked = arguments.cabinet.as_ref();
    let (cabinet, told) = cabinet::open(asked, CabinetModel::Loudspeaker, &circuit, probed)?;
    let amp = SolvedAmp::new(&circuit, None)?.fit_to_judge()?;
    if let Some(silent) = amp.silent() {
        super::output::tell(silent);
    }
    let WavFile {
        sound: input,
        depth,
    } = file::read(&arguments.input)?;
    let Levels {
        full_scale_dbu,
        output_full_scale_dbu,
    } = arguments.levels;
    let (input_volts, output_volts) = (
        peak_volts_from_dbu(full_scale_dbu),
        peak_volts_from_dbu(output_full_scale_dbu),
    );

    let progress = Progress::new("playing");
    let played = play_channels(&amp, &input, input_volts, &mut |share| progress.at(share));
    drop(progress);
    if played.effort.not_finite > 0 {
        return Err(not_finite(played.effort.not_finite));
    }
    let input_peak_volts = f64::from(input.peak()) * input_volts;
    let mut output = Sound {
        channels: played.volts,
        ..input
    };
    let output_peak_volts = f64::from(output.peak());
    let rate = f64::from(output.rate);
    let heard = cabinet.hear(&circuit, rate, &mut output.channels);
    heard.map_err(|fault| not_at_rate(&cabinet, &circuit, fault))?;
    let scale = (1.0 / output_volts) as f32;
    let samples = output.channels.iter_mut().flatten();
    samples.for_each(|s| *s *= scale);
    let level = wav::fit(&mut output, depth);
    let mut warnings = told;
    warnings.extend(level.sentence());
    if let (Some(peak), 0.0) = (level.peak_db.filter(|&db| db > 0.0), level.lowered_db) {
        warnings.push(format!(
            "Float samples stand {} dB over full scale: lower them before they reach a converter.",
            fixed(peak, 1)
        ));
    }
    warnings.extend(played.effort.warning());
    write(&arguments.output, &output, depth)?;
    let channels: Vec<&[f32]> = output.channels.iter().map(Vec::as_slice).collect();
    let [positive, negative] = amp.network.output();
    let rest = &amp.as_found.point.solution;
    let rendered = Rendered {
        amp: circuit.name().into(),
        shown,
        at: heard_at(&amp.as_found),
        through: cabinet.words(&circuit),
        idle_volts: rest[positive] - rest[negative],
        file: arguments.output.display().to_string(),
        rate: output.rate,
        channels: channels.len(),
        frames: channels[0].len(),
        guitar: circuit.guitar().map(|guitar| guitar.name.clone()),
        input_peak_volts,
        output_peak_volts,
        lufs: integrated_lufs(&channels, output.rate),
        level,
        effort: played.effort,
        warnings,
    };
    show(&rendered, arguments.json)
}

fn play_channels(
    amp: &SolvedAmp,
    input: &Sound,
    volts: f64,
    progress: &mut dyn FnMut(f64),
) -> Played {
    let (network, side) = (&amp.network, &amp.as_found);
    match input.channels.as_slice() {
        [left, right] => {
            let inputs = [left.as_slice(), right];
            play(network, &[side; 2], input.rate, &inputs, volts, progress)
        }
        channels => {
            let inputs = [channels[0].as_slice()];
            play(network, &[side], input.rate, &inputs, volts, progress)
        }
    }
}

/// Loudspeaker or node that is heard.
fn heard_at(side: &SolvedCircuit) -> String {
    let output = side.circuit.output();
    match output.loudspeaker {
        Some(id) => side.circuit.part(id).designator.clone(),
        None => side.circuit.nodes()[output.positive.0 as usize].clone(),
    }
}

impl Report for Rendered {
    fn text(&self) -> String {
        let mut text = format!("{} {}, heard at {}", self.amp, self.shown, self.at);
        if let Some(through) = &self.through {
            let _ = write!(text, " through {through}");
        }
        text.push('\n');
        let channels = if self.channels == 2 { "stereo" } else { "mono" };
        let seconds = self.frames as f64 / f64::from(self.rate);
        let _ = writeln!(
            text,
            "{}: {} s {channels} at {} Hz",
            self.file,
            fixed(seconds, 1),
            self.rate
        );
        if let Some(guitar) = &self.guitar {
            let _ = writeln!(text, "Guitar: {guitar}");
        }
        let millivolts = 1e3 * self.input_peak_volts;
        let _ = writeln!(
            text,
            "Peak at the jack {} mV, heard {} V",
            fixed(millivolts, 0),
            volts(self.output_peak_volts)
        );
        if self.idle_volts.abs() >= 0.01 {
            let _ = writeln!(
                text,
                "The {} V that stand there without signal are left out",
                volts(self.idle_volts)
            );
        }
        if let Some(lufs) = self.lufs {
            let _ = writeln!(text, "Loudness of the file {} LUFS", fixed(lufs, 1));
        }
        for warning in &self.warnings {
            let _ = writeln!(text, "{warning}");
        }
        text
    }
}
