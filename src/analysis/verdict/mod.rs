//! The whole verdict: as found against proposed in every respect that is computed.
//!
//! [`side_figures`] works out each side by itself, so that a window needs to work out only the side
//! that was edited; [`judge`] puts two sides together. [`compare`] does both, and makes the
//! recordings.

mod recordings;
mod side;

use super::at_rest::{AtRest, Both, NoRest};
use super::drive::Drive;
use super::parts_list::{ControlLine, PartLine, parts_list};
use super::performance::NoGauge;
use super::response::{Path, Response, response};
use super::sentences;
use super::voltages::{NOTES, VoltageChart};
use crate::circuit::Circuit;
pub use recordings::{Recordings, recordings};
use serde::Serialize;
pub use side::{SideFigures, side_figures};

/// What is played.
#[derive(Clone, Copy, Debug)]
pub struct Sound<'a> {
    /// What it is, in words.
    pub name: &'a str,
    /// Sample rate, Hz.
    pub rate: u32,
    /// One or two channels of equal length.
    pub channels: &'a [Vec<f32>],
    /// Volts at the jack of a sample of 1.
    pub input_volts: f64,
    /// Volts heard that make a sample of 1.
    pub output_volts: f64,
    /// Whether samples may stand above full scale, as floats may.
    pub may_exceed: bool,
}

impl Sound<'_> {
    /// The channels in volts at the jack.
    pub fn in_volts(&self) -> Vec<Vec<f32>> {
        let volts = self.input_volts as f32;
        let channel = |samples: &Vec<f32>| samples.iter().map(|s| s * volts).collect();
        self.channels.iter().map(channel).collect()
    }
}

/// How loud the sound comes out.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Loudness {
    /// Integrated loudness, LUFS, the output's full scale being 0 dBFS; none for silence.
    pub lufs: Both<Option<f64>>,
    /// Highest peak that was heard, decibels of full scale; none for silence.
    pub peak_db: Both<Option<f64>>,
}

/// How the response differs in a third octave.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BandDifference {
    /// Nominal mid-band frequency, Hz.
    pub hz: f64,
    /// Mean gain over the band, dB.
    pub as_found_db: f64,
    /// Likewise.
    pub proposed_db: f64,
    /// The second less the first.
    pub difference_db: f64,
}

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Verdict {
    /// Name of the amp.
    pub amp: String,
    /// Name of the proposal; empty if it has none.
    pub proposal: String,
    /// The parts that change.
    pub changes: Vec<PartLine>,
    /// How the controls stand.
    pub controls: Vec<ControlLine>,
    /// Voltages, currents and dissipation.
    pub voltages: Both<VoltageChart>,
    /// Gain at 1 kHz for a small signal, dB.
    pub gain_db: Both<f64>,
    /// A sine at 1 kHz.
    pub drive: Both<Drive>,
    /// What was played.
    pub sound: String,
    /// Its peak at the jack, V.
    pub input_peak_volts: f64,
    /// How loud it comes out.
    pub loudness: Loudness,
    /// Response by third octaves.
    pub third_octaves: Vec<BandDifference>,
    /// The verdict, an item a sentence.
    pub sentences: Vec<String>,
    /// What went wrong on the way, a sentence each.
    pub warnings: Vec<String>,
    /// How the readings are meant.
    pub notes: Vec<&'static str>,
}

/// The verdict with the picture's data and the two recordings.
#[derive(Clone, Debug)]
pub struct Compared {
    /// The report.
    pub verdict: Verdict,
    /// The amp at rest.
    pub amp: AtRest,
    /// Frequency response.
    pub response: Response,
    /// Loudness-matched recordings.
    pub recordings: Recordings,
}

/// Why there is no verdict.
#[derive(Clone, Debug, PartialEq)]
pub enum NoVerdict {
    /// No operating point.
    NoRest(NoRest),
    /// The sound that came out is not made of numbers.
    NotFinite(u64),
}

impl From<NoRest> for NoVerdict {
    fn from(fault: NoRest) -> Self {
        NoVerdict::NoRest(fault)
    }
}

/// Shares of the work, for the progress: each side, then the recordings.
const SIDE: f64 = 0.25;

/// Compares. `progress` is told the share that is done.
///
/// # Errors
/// [`NoVerdict`] when a circuit has no solution.
pub fn compare(
    as_found: &Circuit,
    proposed: &Circuit,
    proposal: &str,
    sound: &Sound<'_>,
    progress: &mut dyn FnMut(f64),
) -> Result<Compared, NoVerdict> {
    let amp = AtRest::new(as_found, Some(proposed))?;
    let sides = amp.both().expect("two circuits were given");
    let mut before = 0.0;
    let mut figures = |side| {
        let mut on = |share: f64| {
            progress(before + SIDE * share);
            true
        };
        let figures = side_figures(&amp.network, side, sound, &NoGauge, &mut on);
        before += SIDE;
        figures.expect("nobody gives up")
    };
    let (found, changed) = (figures(sides.as_found)?, figures(sides.proposed)?);
    let both = Both {
        as_found: &found,
        proposed: &changed,
    };
    let verdict = judge(&amp, &both, proposal, sound);
    let recordings = recordings(&amp, sound, &mut |share| {
        progress(2.0 * SIDE + (1.0 - 2.0 * SIDE) * share);
    })?;
    Ok(Compared {
        response: response(&amp, Path::default()),
        verdict,
        amp,
        recordings,
    })
}

/// Puts two sides together. `amp` has both.
pub fn judge(
    amp: &AtRest,
    figures: &Both<&SideFigures>,
    proposal: &str,
    sound: &Sound<'_>,
) -> Verdict {
    let as_found = &amp.as_found.circuit;
    let list = parts_list(as_found, amp.proposed.as_ref().map(|side| &side.circuit));
    let parts = list.stages.into_iter().flat_map(|stage| stage.parts);
    let jack: Vec<&[f32]> = sound.channels.iter().map(Vec::as_slice).collect();
    let mut verdict = Verdict {
        amp: as_found.name().into(),
        proposal: proposal.into(),
        changes: parts.filter(|part| part.proposed.is_some()).collect(),
        controls: list.controls,
        voltages: figures.map(|f| f.voltages.clone()),
        gain_db: figures.map(|f| f.gain_db),
        drive: figures.map(|f| f.drive.clone()),
        sound: sound.name.into(),
        input_peak_volts: peak(&jack) * sound.input_volts,
        loudness: Loudness {
            lufs: figures.map(|f| f.lufs),
            peak_db: figures.map(|f| f.peak_db),
        },
        third_octaves: third_octaves(figures),
        sentences: Vec::new(),
        warnings: warnings(figures),
        notes: NOTES.to_vec(),
    };
    verdict.sentences = sentences::all(&verdict);
    verdict
}

fn warnings(figures: &Both<&SideFigures>) -> Vec<String> {
    let sum = |of: fn(&SideFigures) -> u64| of(figures.as_found) + of(figures.proposed);
    let sound = sum(|f| f.performed.held);
    let sweep = sum(|f| f.drive.held);
    let sound = (sound > 0).then(|| {
        format!(
            "While the sound was played the equations had no solution at {sound} moments; figures \
             of loud passages may be off."
        )
    });
    let sweep = (sweep > 0).then(|| {
        format!(
            "In the sine sweep the equations had no solution in {sweep} steps; the limits at high \
             drive may be off."
        )
    });
    sound.into_iter().chain(sweep).collect()
}

fn third_octaves(figures: &Both<&SideFigures>) -> Vec<BandDifference> {
    let pairs = figures.as_found.bands.iter().zip(&figures.proposed.bands);
    pairs
        .map(|(a, p)| BandDifference {
            hz: a.hz,
            as_found_db: a.db,
            proposed_db: p.db,
            difference_db: p.db - a.db,
        })
        .collect()
}

fn peak(recording: &[&[f32]]) -> f64 {
    let samples = recording.iter().copied().flatten();
    f64::from(samples.fold(0.0f32, |peak, s| peak.max(s.abs())))
}
