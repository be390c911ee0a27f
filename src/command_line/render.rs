//! `presolder render`: a WAV file through the amp into another WAV file.

use super::arguments::{Levels, Render as Arguments};
use super::cabinet::{self, Through};
use super::curve::node;
use super::failure::Failure;
use super::load::load;
use super::output::show;
use super::progress::Progress;
use crate::analysis::playing::{Effort, Played, play};
use crate::circuit::GROUND;
use crate::solve::solved::{SolvedAmp, SolvedCircuit};
use crate::sound::loudness::integrated_lufs;
use crate::sound::wav::{self, Fitted, Recording};
use crate::text::report::Report;
use crate::text::table::{fixed, volts};
use crate::units::volts_from_dbu;
use serde::Serialize;
use std::f64::consts::SQRT_2;
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
    /// Peak at the jack, V.
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

/// Volts at a sample of 1, from the level of a full-scale sine.
pub fn peak_volts(dbu: f64) -> f64 {
    SQRT_2 * volts_from_dbu(dbu)
}

/// Reads a WAV file.
///
/// # Errors
/// What is wrong with it, with its path.
pub fn read(path: &Path) -> Result<Recording, Failure> {
    wav::read(path).map_err(|fault| Failure::Wav(path.to_path_buf(), fault))
}

/// Writes a WAV file whole.
///
/// # Errors
/// What is wrong, with its path.
pub fn write(path: &Path, recording: &Recording) -> Result<(), Failure> {
    wav::write(path, recording).map_err(|fault| Failure::Wav(path.to_path_buf(), fault))
}

/// The failure for a sound that is not made of numbers.
pub fn not_finite(count: u64) -> Failure {
    Failure::NoSolution(format!(
        "The equations failed on the way: {count} samples of the sound are no numbers. Nothing was written."
    ))
}

/// Renders a recording.
///
/// # Errors
/// The faults found, unknown nodes, no solution, files that cannot be read or written.
pub fn run(arguments: &Arguments) -> Result<(), Failure> {
    let bench = load(&arguments.circuit, &arguments.changes)?;
    let shown = match bench.proposed {
        Some(_) => "proposed",
        None => "as found",
    };
    let mut circuit = bench.proposed.unwrap_or(bench.as_found);
    if let Some(name) = &arguments.probe {
        let node = node(&circuit, name)?;
        circuit = circuit.heard_between(node, GROUND);
    }
    let probed = arguments.probe.is_some();
    let asked = arguments.cabinet.as_ref();
    let (through, told) = cabinet::open(asked, Through::Loudspeaker, &circuit, probed)?;
    let amp = SolvedAmp::new(&circuit, None)?;
    let input = read(&arguments.input)?;
    let Levels {
        full_scale_dbu,
        output_full_scale_dbu,
    } = arguments.levels;
    let (input_volts, output_volts) = (
        peak_volts(full_scale_dbu),
        peak_volts(output_full_scale_dbu),
    );

    let progress = Progress::new("playing");
    let mut played = play_channels(&amp, &input, input_volts, &mut |share| progress.at(share));
    drop(progress);
    if played.effort.not_finite > 0 {
        return Err(not_finite(played.effort.not_finite));
    }
    let peak = |channels: &[Vec<f32>]| {
        let samples = channels.iter().flatten();
        f64::from(samples.fold(0.0f32, |peak, s| peak.max(s.abs())))
    };
    let output_peak_volts = peak(&played.volts);
    through.hear(&circuit, f64::from(input.rate), &mut played.volts)?;
    let scale = (1.0 / output_volts) as f32;
    played.volts.iter_mut().flatten().for_each(|s| *s *= scale);
    let input_peak_volts = peak(&input.channels) * input_volts;
    let mut output = Recording {
        channels: played.volts,
        ..input
    };
    let level = wav::fit(&mut output);
    let mut warnings = told;
    warnings.extend(level.sentence());
    if let (Some(peak), 0.0) = (level.peak_db.filter(|&db| db > 0.0), level.lowered_db) {
        warnings.push(format!(
            "Float samples stand {} dB over full scale: lower them before they reach a converter.",
            fixed(peak, 1)
        ));
    }
    warnings.extend(played.effort.warning());
    write(&arguments.output, &output)?;
    let channels: Vec<&[f32]> = output.channels.iter().map(Vec::as_slice).collect();
    let [positive, negative] = amp.network.output();
    let rest = &amp.as_found.point.solution;
    let rendered = Rendered {
        amp: circuit.name().into(),
        shown,
        at: heard_at(&amp.as_found),
        through: through.words(&circuit),
        idle_volts: rest[positive] - rest[negative],
        file: arguments.output.display().to_string(),
        rate: output.rate,
        channels: channels.len(),
        frames: channels[0].len(),
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
    input: &Recording,
    volts: f64,
    progress: &mut dyn FnMut(f64),
) -> Played {
    let (network, side) = (&amp.network, &amp.as_found);
    match input.channels.as_slice() {
        [left, right] => {
            let inputs = [left.as_slice(), right];
            play(network, [side; 2], input.rate, inputs, volts, progress)
        }
        channels => {
            let inputs = [channels[0].as_slice()];
            play(network, [side], input.rate, inputs, volts, progress)
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
