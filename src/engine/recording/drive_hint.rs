//! How hard the recorded amp was driven: a volume setting and an input level at which the amp in the
//! model bends the dry track as much as the recording shows. A hint, with its doubt.
//!
//! Three things are compared, all of the same few seconds: how much less loud passages gain than quiet
//! ones, which no loudspeaker or microphone changes; in each octave the share of the sound that does not
//! follow linearly from the dry track (harmonics and everything else that bending makes), which they do
//! not change either; and the crest factor, which they do change a little.

use super::ready::ready;
use super::response::Target;
use super::spectra::{Class, Spectra, Windows, total};
use crate::analysis::headroom::volume::{turned, volume_control};
use crate::analysis::performance::{NoGauge, perform};
use crate::network::Network;
use crate::numeric::parallel::GoOn;
use crate::solve::solved::SolvedCircuit;
use crate::sound::Sound;
use crate::sound::resample::resampled;
use crate::text::digits::{fixed, significant};
use crate::units::{dbu_from_volts, decibels_from_ratio, rms_from_peak};
use serde::Serialize;
use std::ops::Range;

/// Volume positions that are tried.
const POSITIONS: [f64; 6] = [0.15, 0.3, 0.45, 0.6, 0.8, 1.0];
/// Highest peaks of the dry track at the jack that are tried, V: weak single coils played softly to
/// strong pickups hit hard (common practice, no source).
const PEAKS: [f64; 4] = [0.12, 0.25, 0.5, 1.0];
/// Length of what is played, s.
const SECONDS: f64 = 5.0;
/// Octaves in which the share that is not linear is looked at, by their lower edges, Hz.
const OCTAVES: [f64; 5] = [150.0, 300.0, 600.0, 1200.0, 2400.0];
/// Shares below this count as none, dB: noise of a quiet recording.
const LEAST_SHARE_DB: f64 = -25.0;
/// What each comparison is good for, dB (own choice): the loudness of passages, the octaves' shares all
/// together, the crest factor.
const GAIN_DOUBT_DB: f64 = 1.0;
const SHARE_DOUBT_DB: f64 = 1.5;
const CREST_DOUBT_DB: f64 = 2.0;
/// Settings this much further away than the best are nearly as good: one standard deviation.
const NEARLY: f64 = 1.0;
/// A best setting as far away as this is no match: each comparison two doubts off.
const NO_MATCH: f64 = 12.0;
/// Share of samples that may stand above what counts as the peak.
const PEAK_SHARE: f64 = 1e-3;

/// Said when there is nothing to go by.
pub const NO_HINT: &str = "The recording does not tell how hard the amp was driven: that needs the \
                           dry track, a volume control, and some seconds of playing that drive the \
                           amp; played clean, it sounds the same at many settings.";

/// The hint.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct DriveHint {
    /// The control that was turned.
    pub control: String,
    /// Its position, 0 to 1, at which the recording is met best.
    pub position: f64,
    /// Level of a full-scale sine of the dry track at the jack, dBu, likewise.
    pub full_scale_dbu: f64,
    /// Lowest and highest position that are nearly as good, at one input level or another.
    pub positions: [f64; 2],
    /// Lowest and highest input level that are nearly as good, dBu.
    pub full_scales_dbu: [f64; 2],
    /// How far the best setting is from the recording: squares of doubts, added.
    pub distance: f64,
    /// The same for the owner.
    pub sentence: String,
}

/// What a sound shows of being driven.
#[derive(Clone, Copy, Debug)]
struct Traits {
    /// Gain of the loud half of the windows less that of the quiet half, dB.
    gain_db: f64,
    /// Share that is not linear in each octave, dB.
    shares_db: [f64; OCTAVES.len()],
    /// Crest factor, dB.
    crest_db: f64,
}

impl Traits {
    fn distance(&self, other: &Traits) -> f64 {
        let shares = self.shares_db.iter().zip(&other.shares_db);
        let apart: f64 = shares.map(|(a, b)| (a - b).powi(2)).sum();
        ((self.gain_db - other.gain_db) / GAIN_DOUBT_DB).powi(2)
            + apart / OCTAVES.len() as f64 / SHARE_DOUBT_DB.powi(2)
            + ((self.crest_db - other.crest_db) / CREST_DOUBT_DB).powi(2)
    }
}

/// Plays a piece of the dry track through the amp at several volume settings and input levels, and
/// tells which of them bends it as the recording does. `target` is that of the two sounds. `go_on` is told
/// the share that is done and answers whether to go on; none when it says no. None within when there
/// is nothing to go by: no dry track, no volume control, too little playing, an amp that was played
/// clean.
pub fn drive_hint(
    network: &Network,
    side: &SolvedCircuit,
    recording: &Sound,
    dry: &Sound,
    target: &Target,
    go_on: GoOn<'_>,
) -> Option<Option<DriveHint>> {
    let dependence = target.level_dependence.as_ref();
    if dependence.is_some_and(|dependence| !dependence.is_one()) {
        return Some(None);
    }
    let Some((pieces, rate)) = pieces(recording, dry, target) else {
        return Some(None);
    };
    let [input, heard] = &pieces;
    let windows = Windows::new(input, rate).unsorted();
    let Some((control, _)) = volume_control(network, side) else {
        return Some(None);
    };
    let (Some(recorded), Some(peak)) = (traits(input, heard, rate, &windows), peak_of(dry)) else {
        return Some(None);
    };
    let at = |position: f64| Some((position, turned(network, side, &control, position)?));
    let turned: Vec<(f64, SolvedCircuit)> = POSITIONS.into_iter().filter_map(at).collect();
    let sides: Vec<&SolvedCircuit> = turned.iter().map(|(_, side)| side).collect();
    let volts = |peak_volts: f64| -> Vec<f32> {
        let scale = (peak_volts / peak) as f32;
        input.iter().map(|s| s * scale).collect()
    };
    let channels = PEAKS.map(volts);
    let channels = channels.each_ref().map(Vec::as_slice);
    let performed = perform(network, &sides, &channels, rate, &NoGauge, go_on)?;
    let mut tried = Vec::new();
    for ((position, _), performed) in turned.iter().zip(&performed) {
        for (peak_volts, volts) in PEAKS.into_iter().zip(&performed.volts) {
            // Full scale at the jack, as the level of a sine that reaches it.
            let dbu = dbu_from_volts(rms_from_peak(peak_volts / peak));
            if let Some(traits) = traits(input, volts, rate, &windows) {
                tried.push((recorded.distance(&traits), *position, dbu));
            }
        }
    }
    Some(best(control, &tried))
}

/// The best of what was tried, as (distance, position, dBu).
fn best(control: String, tried: &[(f64, f64, f64)]) -> Option<DriveHint> {
    let &(distance, position, full_scale_dbu) = tried.iter().min_by(|a, b| a.0.total_cmp(&b.0))?;
    let near = tried.iter().filter(|t| t.0 <= distance + NEARLY);
    let range = |value: &dyn Fn(&(f64, f64, f64)) -> f64| {
        let values = near.clone().map(value);
        values.fold([f64::INFINITY, f64::NEG_INFINITY], |[low, high], v| {
            [low.min(v), high.max(v)]
        })
    };
    let (positions, full_scales_dbu) = (range(&|t| t.1), range(&|t| t.2));
    let sentence = sentence(
        &control,
        distance,
        [position, full_scale_dbu],
        positions,
        full_scales_dbu,
    );
    Some(DriveHint {
        control,
        position,
        full_scale_dbu,
        positions,
        full_scales_dbu,
        distance,
        sentence,
    })
}

fn sentence(
    control: &str,
    distance: f64,
    [position, dbu]: [f64; 2],
    positions: [f64; 2],
    dbus: [f64; 2],
) -> String {
    let place = |p: f64| significant(p, 2);
    if distance > NO_MATCH {
        return format!(
            "At no setting of {control} does this amp bend the dry track as the recording shows; the \
             nearest is {} with a full scale of {} dBu. Other controls may stand differently, an effect \
             may be on the recording, or its noise is taken for drive.",
            place(position),
            fixed(dbu, 0)
        );
    }
    format!(
        "A hint: {control} at about {} with the dry track's full scale at {} dBu bends the sound as the \
         recording shows. Nearly as good: {control} from {} to {} and full scales from {} to {} dBu, the \
         higher one the lower the other. Noise on the recording counts as drive.",
        place(position),
        fixed(dbu, 0),
        place(positions[0]),
        place(positions[1]),
        fixed(dbus[0], 0),
        fixed(dbus[1], 0)
    )
}

/// The samples above which the highest thousandth of a sound stands; none of silence.
fn peak_level(samples: &[f32]) -> f64 {
    let mut sizes: Vec<f32> = samples.iter().map(|s| s.abs()).collect();
    let at = ((1.0 - PEAK_SHARE) * sizes.len() as f64) as usize;
    match sizes.is_empty() {
        true => 0.0,
        false => f64::from(*sizes.select_nth_unstable_by(at, f32::total_cmp).1),
    }
}

fn peak_of(dry: &Sound) -> Option<f64> {
    let peak = peak_level(dry.channels.first()?);
    (peak > 0.0).then_some(peak)
}

fn traits(input: &[f32], heard: &[f32], rate: u32, windows: &Windows) -> Option<Traits> {
    let output = Windows::new(heard, rate);
    let mut played: Vec<(f64, f64)> = windows
        .classes
        .iter()
        .zip(windows.powers.iter().zip(&output.powers))
        .filter(|(class, (_, out))| **class != Class::Rest && **out > 0.0)
        .map(|(_, (power, out))| (*power, 10.0 * (out / power).log10()))
        .collect();
    played.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (quiet, loud) = played.split_at(played.len() / 2);
    let mean = |half: &[(f64, f64)]| half.iter().map(|p| p.1).sum::<f64>() / half.len() as f64;
    let spectra = Spectra::new(input, heard, rate, windows, |_| (0, 0.0));
    let sums = total(&spectra.all());
    let spacing = f64::from(rate) / windows.length as f64;
    let share = |low: f64| {
        let lines = (low / spacing) as usize..(2.0 * low / spacing) as usize;
        let (mut all, mut linear) = (0.0, 0.0);
        for k in lines.filter(|&k| sums.input[k] > 0.0) {
            all += sums.output[k];
            linear += sums.cross[k].norm_sqr() / sums.input[k];
        }
        10.0 * (1.0 - linear / all).max(1e-9).log10()
    };
    let power = heard.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>() / heard.len() as f64;
    (!quiet.is_empty() && power > 0.0).then(|| Traits {
        gain_db: mean(loud) - mean(quiet),
        shares_db: OCTAVES.map(|low| share(low).max(LEAST_SHARE_DB)),
        crest_db: decibels_from_ratio(peak_level(heard) / power.sqrt()),
    })
}

/// The same few seconds of dry track and recording, in time with one another, at the dry track's rate.
fn pieces(recording: &Sound, dry: &Sound, target: &Target) -> Option<([Vec<f32>; 2], u32)> {
    let later = target.delay_seconds?;
    let (recording, dry) = (ready(recording).ok()?, ready(dry).ok()?);
    let rate = f64::from(dry.rate);
    let frames = (SECONDS * rate) as usize;
    let range = widest(
        &dry.samples,
        &target.span_seconds.map(|s| (s * rate) as usize),
        frames,
    )?;
    let start = range.start as f64 / rate;
    let later = later + 1e-6 * target.drift_ppm.unwrap_or(0.0) * start;
    let theirs = f64::from(recording.rate);
    let from = ((start + later) * theirs).round();
    let count = (SECONDS * theirs).ceil() as usize + 1;
    let from = (from >= 0.0).then_some(from as usize)?;
    let piece = recording.samples.get(from..from + count)?;
    let mut heard = resampled(&[piece.to_vec()], recording.rate, dry.rate)
        .ok()?
        .swap_remove(0);
    heard.truncate(frames);
    let input = dry.samples[range.start..range.start + heard.len()].to_vec();
    Some(([input, heard], dry.rate))
}

/// The piece of a span whose tenths of a second differ most in level, rests apart: it shows most of
/// what level does.
fn widest(samples: &[f32], span: &[usize; 2], frames: usize) -> Option<Range<usize>> {
    let piece = frames / 50;
    let power = |p: &[f32]| p.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>();
    let levels: Vec<f64> = samples
        .get(span[0]..span[1].min(samples.len()))?
        .chunks_exact(piece)
        .map(|p| 10.0 * power(p).max(1e-30).log10())
        .collect();
    let loudest = levels.iter().fold(f64::NEG_INFINITY, |m, &l| m.max(l));
    let spread = |levels: &[f64]| {
        let mut playing: Vec<f64> = levels
            .iter()
            .copied()
            .filter(|l| *l > loudest - 40.0)
            .collect();
        playing.sort_by(f64::total_cmp);
        let at = |share: f64| {
            playing
                .get((share * playing.len() as f64) as usize)
                .copied()
        };
        // Pauses are no quiet playing.
        let full = playing.len() as f64 / levels.len() as f64;
        full * (at(0.9).unwrap_or(0.0) - at(0.1).unwrap_or(0.0))
    };
    let places = levels.windows(50).enumerate().step_by(5);
    let (at, _) = places.max_by(|a, b| spread(a.1).total_cmp(&spread(b.1)))?;
    let start = span[0] + at * piece;
    Some(start..start + frames)
}
