//! The response that a recording shows: its frequencies, levels and doubts, and why there is none.

use serde::Serialize;
use std::fmt;

/// How a target was made.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// Averaged cross spectra against the dry track.
    WithDryTrack,
    /// Long-term spectrum against another playing's: the weaker method.
    WithoutDryTrack,
}

/// The passages that the curve was taken from, when they are not the whole track. A fit that plays
/// an amp in the model should look at the same ones.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Quiet {
    /// A window counts as quiet when the dry track's r.m.s. level in it is at most this, dB of full
    /// scale (a full-scale square wave being 0).
    pub below_dbfs: f64,
    /// Power mean of the dry track over the quiet windows, dB of full scale.
    pub level_dbfs: f64,
    /// Share of the playing that is quiet, from 0 to 1; rests count neither way.
    pub share: f64,
}

/// How far the amp's response depended on how hard it was played.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LevelDependence {
    /// Gain in the loud third of the playing less that in the quiet third, mean over the trusted
    /// frequencies, dB. Negative: the amp compresses.
    pub gain_db: f64,
    /// What is left of that difference when its mean is taken away, r.m.s. over the frequencies, dB.
    pub shape_db: f64,
    /// Level of the loud third above the quiet one on the dry track, dB.
    pub apart_db: f64,
    /// The same for the owner.
    pub sentence: String,
}

/// The response that a recording shows. All vectors are as long as [`grid`].
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Target {
    /// The recording's name.
    pub name: String,
    /// The dry track's name.
    pub dry_name: Option<String>,
    /// How it was made.
    pub method: Method,
    /// Frequencies, Hz, rising: [`grid`].
    pub hz: Vec<f64>,
    /// Level, dB; the mean over the trusted points is taken away, since the gain of a recording is
    /// anybody's choice. 0 where no level could be told.
    pub db: Vec<f64>,
    /// One standard deviation of `db`, dB: what chance alone leaves open. At most
    /// [`MOST_DEVIATION_DB`], which stands where nothing is known.
    pub deviation_db: Vec<f64>,
    /// Coherence from 0 to 1: the share of the recording's power at each frequency that follows
    /// from the dry track by a linear response. None without a dry track.
    pub coherence: Option<Vec<f64>>,
    /// Whether a point may be given weight. False: grey in a picture, no weight in a fit.
    pub trusted: Vec<bool>,
    /// What was taken away to bring `db` to a mean of 0, dB: the recording's full scale over the
    /// dry track's full scale.
    pub gain_db: f64,
    /// How much later the recording is than the dry track, s; negative when earlier.
    pub delay_seconds: Option<f64>,
    /// By how much the recorder's clock ran faster than the dry track's, parts per million; 0 when both
    /// came from one clock, or nearly.
    pub drift_ppm: Option<f64>,
    /// Whether the recording is upside down against the dry track.
    pub inverted: Option<bool>,
    /// The part of the track that was used, s from the dry track's start (from the recording's
    /// start without one).
    pub span_seconds: [f64; 2],
    /// The quiet passages that the curve was taken from; none when the whole span was.
    pub quiet: Option<Quiet>,
    /// How the response changed with level; none where it could not be told.
    pub level_dependence: Option<LevelDependence>,
    /// Sentences for the owner.
    pub notes: Vec<String>,
}

impl Target {
    /// How many points are trusted.
    pub fn trusted_count(&self) -> usize {
        self.trusted.iter().filter(|t| **t).count()
    }
}

/// The largest standard deviation that is stated, dB.
pub const MOST_DEVIATION_DB: f64 = 40.0;

/// Coherence below which a frequency is given no weight.
pub const LEAST_COHERENCE: f64 = 0.6;

/// Share of the band below half the sample rate that is looked at; converters' filters have the rest.
pub const USABLE_SHARE: f64 = 0.9;

/// Most that is looked at, s: the part of a longer track with the most playing in it. A minute is some
/// seven hundred windows; more would sharpen figures that the microphone's place blurs anyway.
pub const MOST_SECONDS: f64 = 60.0;

/// How far apart a recording and its dry track may begin, s.
pub const SEARCH_SECONDS: f64 = 15.0;

/// Points of the grid an octave.
pub const POINTS_AN_OCTAVE: i32 = 12;

/// The frequencies of a target, Hz: 12 an octave about 1 kHz, from 40 Hz to 12 kHz. A guitar's
/// lowest note is 82 Hz, and its loudspeaker gives little above 6 kHz.
pub fn grid() -> Vec<f64> {
    let at = |k: i32| 1000.0 * 2f64.powf(f64::from(k) / f64::from(POINTS_AN_OCTAVE));
    // 1 kHz · 2^(-55/12) is 41.7 Hz, 1 kHz · 2^(43/12) is 11.99 kHz.
    (-55..=43).map(at).collect()
}

/// Why no curve can be made: each reason a sentence with its remedy.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unfit(pub Vec<String>);

impl fmt::Display for Unfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.0.join("\n"))
    }
}

impl std::error::Error for Unfit {}
