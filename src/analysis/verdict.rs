//! The whole verdict: as found against proposed in every respect that is computed.

use super::at_rest::{AtRest, Both, NoRest, Side};
use super::drive::{Drive, HZ, drive};
use super::loudness::integrated_lufs;
use super::parts_list::{ControlLine, PartLine, parts_list};
use super::playing::{Effort, play};
use super::response::{Path, Response, curve_of, gains, response};
use super::third_octave::{Band, bands_of_curve};
use super::voltages::{NOTES, VoltageChart, chart};
use super::{sentences, third_octave};
use crate::circuit::Circuit;
use serde::Serialize;

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

/// How loud the sound comes out, and what was done so that both can be compared by ear.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Loudness {
    /// Integrated loudness before matching, LUFS, the output's full scale being 0 dBFS; none for
    /// silence.
    pub lufs: Both<Option<f64>>,
    /// Integrated loudness of the two files.
    pub matched_lufs: Both<Option<f64>>,
    /// Gain of the two files against what was heard, dB.
    pub gain_db: Both<f64>,
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
    /// Loudness-matched recordings, a channel each, 1.0 being full scale.
    pub recordings: Both<Vec<Vec<f32>>>,
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

/// Shares of the work, for the progress: the sines, then the sound.
const SINES: f64 = 0.4;

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
    let network = &amp.network;
    let sides = amp.both().expect("two circuits were given");
    let gain = |side: &Side| {
        20.0 * gains(network, side, Path::default(), &[HZ])[0]
            .norm()
            .log10()
    };
    // The two sweeps do not depend on each other.
    let driven = std::thread::scope(|scope| {
        let other = scope.spawn(|| drive(network, sides.as_found, &mut |_| {}));
        let proposed = drive(network, sides.proposed, &mut |share| {
            progress(SINES * share)
        });
        let as_found = other.join();
        Both {
            as_found: as_found.unwrap_or_else(|fault| std::panic::resume_unwind(fault)),
            proposed,
        }
    });
    let (recordings, loudness, effort) = sounds(&amp, sound, &mut |share| {
        progress(SINES + (1.0 - SINES) * share);
    })?;
    let list = parts_list(as_found, Some(proposed));
    let parts = list.stages.into_iter().flat_map(|stage| stage.parts);
    let warnings = [effort.warning(), sweep_warning(&driven)];
    let mut verdict = Verdict {
        amp: as_found.name().into(),
        proposal: proposal.into(),
        changes: parts.filter(|part| part.proposed.is_some()).collect(),
        controls: list.controls,
        voltages: sides.map(|side| chart(network, side)),
        gain_db: sides.map(|side| gain(side)),
        drive: driven,
        sound: sound.name.into(),
        input_peak_volts: peak(sound.channels) * sound.input_volts,
        loudness,
        third_octaves: third_octaves(&amp, &sides),
        sentences: Vec::new(),
        warnings: warnings.into_iter().flatten().collect(),
        notes: NOTES.to_vec(),
    };
    verdict.sentences = sentences::all(&verdict);
    Ok(Compared {
        response: response(&amp, Path::default()),
        verdict,
        amp,
        recordings,
    })
}

fn sweep_warning(driven: &Both<Drive>) -> Option<String> {
    let held = driven.as_found.held + driven.proposed.held;
    (held > 0).then(|| {
        format!(
            "In the sine sweep the equations had no solution in {held} steps; the limits at high \
             drive may be off."
        )
    })
}

fn third_octaves(amp: &AtRest, sides: &Both<&Side>) -> Vec<BandDifference> {
    let hz = super::response::axis();
    let bands = sides.map(|side| {
        let curve = curve_of(&amp.network, side, Path::default());
        bands_of_curve(&hz, &curve.db)
    });
    debug_assert_eq!(bands.as_found.len(), third_octave::NOMINAL_HZ.len());
    let pairs = bands.as_found.iter().zip(&bands.proposed);
    pairs
        .map(|(a, p): (&Band, &Band)| BandDifference {
            hz: a.hz,
            as_found_db: a.db,
            proposed_db: p.db,
            difference_db: p.db - a.db,
        })
        .collect()
}

type Recordings = Both<Vec<Vec<f32>>>;

/// Plays the sound through both sides at once and matches them in loudness.
fn sounds(
    amp: &AtRest,
    sound: &Sound<'_>,
    progress: &mut dyn FnMut(f64),
) -> Result<(Recordings, Loudness, Effort), NoVerdict> {
    let sides = amp.both().expect("two circuits were given");
    let (a, p) = (sides.as_found, sides.proposed);
    let (network, rate, volts) = (&amp.network, sound.rate, sound.input_volts);
    let played = match sound.channels {
        [one] => play(network, [a, p], rate, [one; 2], volts, progress),
        [left, right] => {
            let inputs = [left, right, left, right].map(Vec::as_slice);
            play(network, [a, a, p, p], rate, inputs, volts, progress)
        }
        _ => unreachable!("a sound has one or two channels"),
    };
    if played.effort.not_finite > 0 {
        return Err(NoVerdict::NotFinite(played.effort.not_finite));
    }
    let scale = (1.0 / sound.output_volts) as f32;
    let mut as_found = played.volts;
    as_found.iter_mut().flatten().for_each(|s| *s *= scale);
    let proposed = as_found.split_off(sound.channels.len());
    let mut recordings = Both { as_found, proposed };
    let lufs = |r: &Vec<Vec<f32>>| {
        let channels: Vec<&[f32]> = r.iter().map(Vec::as_slice).collect();
        integrated_lufs(&channels, rate)
    };
    let before = recordings.map(lufs);
    let peaks = recordings.map(|r| peak(r));
    let mut gain_db = Both {
        as_found: 0.0,
        proposed: 0.0,
    };
    if let (Some(a), Some(p)) = (before.as_found, before.proposed) {
        gain_db.proposed = a - p;
    }
    if !sound.may_exceed {
        // Both are lowered alike, with a tenth of a decibel to spare.
        let highest = |peak: f64, gain: f64| 20.0 * peak.log10() + gain;
        let over = highest(peaks.as_found, gain_db.as_found)
            .max(highest(peaks.proposed, gain_db.proposed));
        if over > 0.0 {
            gain_db = gain_db.map(|gain| gain - over - 0.1);
        }
    }
    for (recording, gain) in [
        (&mut recordings.as_found, gain_db.as_found),
        (&mut recordings.proposed, gain_db.proposed),
    ] {
        let factor = 10f64.powf(gain / 20.0) as f32;
        recording.iter_mut().flatten().for_each(|s| *s *= factor);
    }
    let loudness = Loudness {
        lufs: before,
        matched_lufs: recordings.map(lufs),
        gain_db,
        peak_db: peaks.map(|&p| (p > 0.0).then(|| 20.0 * p.log10())),
    };
    Ok((recordings, loudness, played.effort))
}

fn peak(recording: &[Vec<f32>]) -> f64 {
    let samples = recording.iter().flatten();
    f64::from(samples.fold(0.0f32, |peak, s| peak.max(s.abs())))
}
