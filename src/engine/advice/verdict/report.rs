//! The report of a verdict: what both sides are, and how they differ.

use super::in_front::Boost;
use crate::advice::changes::ChangesReport;
use crate::advice::ratings::{BiasAdvice, RatingsReport};
use crate::advice::voltages::LimitedChart;
use crate::analysis::headroom::CleanHeadroom;
use crate::analysis::headroom::recovery::Recovery;
use crate::analysis::headroom::volume::VolumeHeadroom;
use crate::analysis::parts_list::{ControlLine, PartLine};
use crate::circuit::Guitar;
use crate::solve::solved::Both;
use serde::Serialize;

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
    /// How much louder the proposed one is for the same volts, dB; none where a file does not say.
    pub louder_db: Option<f64>,
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
    /// Its peak at the jack, V; through a guitar, as it was recorded.
    pub input_peak_volts: f64,
    /// The guitar that is assumed; none for a pedal with a buffer.
    pub guitar: Option<Guitar>,
    /// Whether it stays clean with a boost, where that was asked.
    pub boost: Option<Boost>,
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
