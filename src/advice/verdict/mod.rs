//! The whole verdict: as found against proposed in every respect that is computed.
//!
//! [`verdict`] takes a [`Question`] and keeps in a [`Cache`] what it works out, so that a window
//! pays only for the circuits that an edit makes; [`recordings`] are for listening.

mod cache;
mod calibrated;
mod over;
mod pieces;
mod recordings;
mod side;

use super::changes::{ChangesReport, Plan};
use super::prices::Prices;
use super::ratings::{BiasAdvice, RatingsReport, bias_for};
use super::sentences;
use crate::advice::voltages::LimitedChart;
use crate::analysis::headroom::CleanHeadroom;
use crate::analysis::headroom::recovery::Recovery;
use crate::analysis::headroom::volume::VolumeHeadroom;
use crate::analysis::parts_list::{ControlLine, PartLine, parts_list};
use crate::analysis::third_octave::Band;
use crate::analysis::valves_playing::Playing;
use crate::analysis::voltages::NOTES;
use crate::circuit::{Circuit, Diagnostic, Proposal};
use crate::device::Catalogue;
use crate::numeric::parallel::GoOn;
use crate::solve::solved::{Both, NoOperatingPoint, SolvedAmp, SolvedCircuit};
pub use cache::Cache;
pub use calibrated::CalibratedSound;
pub use over::over_first;
use pieces::{both_thorough, each_change};
pub use recordings::{Hear, Recordings, recordings};
use serde::Serialize;
pub use side::{SideFigures, Thorough, side_figures, thorough};
use std::sync::Arc;

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

/// What different loudspeakers radiate.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Radiated {
    /// Names of the loudspeakers.
    pub loudspeakers: Both<String>,
    /// Response by third octaves.
    pub third_octaves: Vec<BandDifference>,
}

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Verdict {
    /// Name of the amp.
    pub amp: String,
    /// Name of the proposal; empty if it has none.
    pub proposal: String,
    /// What is over a limit, as proposed or as found, a sentence each; what must be known first.
    pub over_rated: Vec<String>,
    /// The parts that change.
    pub changes: Vec<PartLine>,
    /// How the controls stand.
    pub controls: Vec<ControlLine>,
    /// Voltages, currents and dissipation.
    pub voltages: Both<LimitedChart>,
    /// Gain at 1 kHz for a small signal, dB.
    pub gain_db: Both<f64>,
    /// A sine at 1 kHz: limits, harmonics, where each stage clips.
    pub clean: Both<CleanHeadroom>,
    /// The clean limits as the volume control is turned; none where it was not asked for, or there
    /// is no such control.
    pub volume: Option<Both<VolumeHeadroom>>,
    /// How long a burst is felt; none where it was not asked for, or nothing clips.
    pub recovery: Option<Both<Recovery>>,
    /// Valves and parts against their limits.
    pub ratings: Both<RatingsReport>,
    /// What each change does, and whether it is worth it.
    pub each_change: ChangesReport,
    /// Which part of the amp as found sets the idle, and which value brings it where it is wished.
    pub bias: Option<BiasAdvice>,
    /// The same in words, or why it cannot be told.
    pub bias_in_words: Vec<String>,
    /// What was played.
    pub sound: String,
    /// Its peak at the jack, V.
    pub input_peak_volts: f64,
    /// How loud it comes out.
    pub loudness: Loudness,
    /// Response by third octaves.
    pub third_octaves: Vec<BandDifference>,
    /// Where the two are heard from different loudspeakers: their names, and the response to what
    /// they radiate, each loudspeaker being 0 dB at 1 kHz.
    pub radiated: Option<Radiated>,
    /// The verdict, an item a sentence.
    pub sentences: Vec<String>,
    /// What went wrong on the way, a sentence each.
    pub warnings: Vec<String>,
    /// How the readings are meant.
    pub notes: Vec<&'static str>,
}

/// What is asked.
#[derive(Clone, Copy, Debug)]
pub struct Question<'a> {
    /// The amp as it is, its controls as they shall stand.
    pub as_found: &'a Circuit,
    /// What is to be soldered.
    pub proposal: &'a Proposal,
    /// What may be named.
    pub catalogue: &'a Catalogue,
    /// What parts cost and work takes.
    pub prices: &'a Prices,
    /// What is played.
    pub sound: CalibratedSound<'a>,
    /// Whether the volume control is turned and a burst given too, which takes a second.
    pub thorough: bool,
    /// Idle of the output valves that is wished for, per cent of their limit; common practice if
    /// none.
    pub idle_percent: Option<f64>,
}

/// The answer.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The report.
    pub verdict: Verdict,
    /// The amp at rest, both sides.
    pub amp: SolvedAmp,
    /// All figures of each side.
    pub figures: Both<Arc<SideFigures>>,
}

impl Answer {
    /// Valves and supplies while the sound is played.
    pub fn playing(&self) -> Playing {
        let Both { as_found, proposed } = &self.figures;
        Playing {
            as_found: as_found.playing.clone(),
            proposed: Some(proposed.playing.clone()),
            unsolved: as_found.unsolved + proposed.unsolved,
        }
    }
}

/// Why there is no verdict.
#[derive(Clone, Debug, PartialEq)]
pub enum NoVerdict {
    /// Faults of the proposal.
    Faults(Vec<Diagnostic>),
    /// No operating point.
    NoOperatingPoint(NoOperatingPoint),
    /// The sound that came out is not made of numbers.
    NotFinite(u64),
}

impl From<NoOperatingPoint> for NoVerdict {
    fn from(fault: NoOperatingPoint) -> Self {
        NoVerdict::NoOperatingPoint(fault)
    }
}

/// Shares of the work, for the progress: each side, then the changes one by one.
const SIDE: f64 = 0.35;

/// Answers. `go_on` is told the share that is done and answers whether to go on; none when it says
/// no.
///
/// # Errors
/// [`NoVerdict`] when the proposal does not fit or a circuit has no solution.
pub fn verdict(
    question: &Question<'_>,
    cache: &mut Cache,
    go_on: GoOn<'_>,
) -> Option<Result<Answer, NoVerdict>> {
    let as_found = question.as_found;
    let plan = match Plan::new(as_found, question.proposal, question.catalogue) {
        Ok(plan) => plan,
        Err(faults) => return Some(Err(NoVerdict::Faults(faults))),
    };
    let amp = match SolvedAmp::new(as_found, Some(&plan.circuits[plan.proposed])) {
        Ok(amp) => amp,
        Err(fault) => return Some(Err(fault.into())),
    };
    cache.of_sound(&question.sound);
    let mut before = 0.0;
    let mut figures_of = |side: &SolvedCircuit, go_on: GoOn<'_>| {
        let known = cache.side(&side.circuit);
        let found = match known {
            Some(figures) => Ok(figures),
            None => {
                let mut on = |share: f64| go_on(before + SIDE * share);
                side_figures(&amp.network, side, &question.sound, &mut on)?.map(Arc::new)
            }
        };
        before += SIDE;
        if let Ok(figures) = &found {
            cache.put_side(&side.circuit, Arc::clone(figures));
        }
        Some(found)
    };
    let sides = amp.both().expect("two circuits were given");
    let found = match figures_of(sides.as_found, go_on)? {
        Ok(figures) => figures,
        Err(fault) => return Some(Err(fault)),
    };
    let changed = match figures_of(sides.proposed, go_on)? {
        Ok(figures) => figures,
        Err(fault) => return Some(Err(fault)),
    };
    let each_change = match each_change(&plan, &amp.network, question, cache, &mut |share| {
        go_on(2.0 * SIDE + (1.0 - 2.0 * SIDE) * share)
    })? {
        Ok(report) => report,
        Err(fault) => return Some(Err(fault)),
    };
    let figures = Both {
        as_found: found,
        proposed: changed,
    };
    let slow = match question.thorough {
        false => None,
        true => Some(both_thorough(&amp, &figures, cache, &mut |_| go_on(1.0))?),
    };
    Some(Ok(Answer {
        verdict: judge(&amp, &figures, each_change, slow, question),
        amp,
        figures,
    }))
}

/// Puts two sides together. `amp` has both.
fn judge(
    amp: &SolvedAmp,
    figures: &Both<Arc<SideFigures>>,
    each_change: ChangesReport,
    slow: Option<Both<Arc<Thorough>>>,
    question: &Question<'_>,
) -> Verdict {
    let as_found = &amp.as_found.circuit;
    let list = parts_list(as_found, amp.proposed.as_ref().map(|side| &side.circuit));
    let parts = list.stages.into_iter().flat_map(|stage| stage.parts);
    let played = &question.sound;
    let ratings = figures.map(|f| f.ratings.clone());
    let bias = bias_for(&amp.network, &amp.as_found, question.idle_percent);
    let mut verdict = Verdict {
        amp: as_found.name().into(),
        proposal: question.proposal.name.clone(),
        over_rated: over_first(&ratings),
        changes: parts.filter(|part| part.proposed.is_some()).collect(),
        controls: list.controls,
        voltages: figures.map(|f| f.voltages.clone()),
        gain_db: figures.map(|f| f.gain_db),
        clean: figures.map(|f| f.clean.clone()),
        volume: slow.as_ref().and_then(|both| {
            Some(Both {
                as_found: both.as_found.volume.clone()?,
                proposed: both.proposed.volume.clone()?,
            })
        }),
        recovery: slow.as_ref().and_then(|both| {
            Some(Both {
                as_found: both.as_found.recovery.clone()?,
                proposed: both.proposed.recovery.clone()?,
            })
        }),
        ratings,
        each_change,
        bias_in_words: match &bias {
            Ok(advice) => advice.sentences.clone(),
            Err(why) => vec![why.to_string()],
        },
        bias: bias.ok(),
        sound: played.sound.name.clone(),
        input_peak_volts: f64::from(played.sound.peak()) * played.input_volts,
        loudness: Loudness {
            lufs: figures.map(|f| f.lufs),
            peak_db: figures.map(|f| f.peak_db),
        },
        third_octaves: third_octaves(figures, |side| &side.bands),
        radiated: radiated(figures),
        sentences: Vec::new(),
        warnings: warnings(figures),
        notes: NOTES.to_vec(),
    };
    verdict.sentences = sentences::all(&verdict);
    verdict
}

fn warnings(figures: &Both<Arc<SideFigures>>) -> Vec<String> {
    let sum = |of: fn(&SideFigures) -> u64| of(&figures.as_found) + of(&figures.proposed);
    let sound = sum(|f| f.unsolved);
    let sweep = sum(|f| f.clean.drive.unsolved);
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

fn radiated(figures: &Both<Arc<SideFigures>>) -> Option<Radiated> {
    let heard = figures.map(|side| side.of_changes.loudspeaker.as_ref());
    if heard.as_found == heard.proposed {
        return None;
    }
    Some(Radiated {
        loudspeakers: Both {
            as_found: heard.as_found?.name.clone(),
            proposed: heard.proposed?.name.clone(),
        },
        third_octaves: third_octaves(figures, |side| &side.radiated_bands),
    })
}

fn third_octaves(
    figures: &Both<Arc<SideFigures>>,
    of: fn(&SideFigures) -> &Vec<Band>,
) -> Vec<BandDifference> {
    let pairs = of(&figures.as_found).iter().zip(of(&figures.proposed));
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
