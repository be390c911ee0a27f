//! The report on whether a difference is heard, and the thresholds that its verdict rests on.

use serde::Serialize;

/// Below this in every band nothing is heard, dB: the lower end of the just-noticeable difference.
pub const NOT_HEARD_DB: f64 = 0.5;
/// Beyond this a band counts as changed, dB: its upper end.
pub const HEARD_DB: f64 = 1.0;
/// So many changed bands are clearly audible: what one band does alone may be masked by its
/// neighbours (own choice).
pub const CLEAR_BANDS: usize = 2;

/// What the verdict means, for the foot of a report.
pub const THRESHOLDS: &str = "\"Not audible\" is less than 0.5 dB in every band that the ear \
    separates, both sounds being made equally loud; \"clearly audible\" more than 1 dB in two bands \
    or more, or 2 dB in one; \"borderline\" lies between. A single second of the playing is clearly \
    audible beyond 1 dB r.m.s. over its bands. The ear just notices 0.5 to 1 dB of level \
    (published); bands after Glasberg and Moore, 1990; the thresholds are ours.";

/// What the verdict leaves out, for the foot of a report.
pub const LEFT_OUT: &str = "It compares levels at the loudspeaker's terminals, less of the treble \
    that a guitar loudspeaker does not give; where the loudspeaker itself is another, what each \
    radiates. What distortion adds counts where it changes the level \
    of a band; how the amp feels under the fingers, hum and noise do not count. It holds for this \
    playing and these control settings.";

/// The verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Heard {
    /// Not audible.
    NotAudible,
    /// Borderline: a trained ear may hear it side by side.
    Borderline,
    /// Clearly audible.
    ClearlyAudible,
}

impl Heard {
    /// "not audible", "borderline", "clearly audible".
    pub fn in_words(self) -> &'static str {
        match self {
            Heard::NotAudible => "not audible",
            Heard::Borderline => "borderline",
            Heard::ClearlyAudible => "clearly audible",
        }
    }
}

/// The difference in one band.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BandDifference {
    /// Middle of the band, Hz.
    pub hz: f64,
    /// Level of the second sound less that of the first, both equally loud, dB; none without
    /// energy on one side.
    pub difference_db: Option<f64>,
    /// Whether the band has energy worth hearing; the figures count only such bands.
    pub counts: bool,
}

/// Figures over the bands that count.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Summary {
    /// Largest difference with its sign, dB.
    pub largest_db: f64,
    /// Middle of its band, Hz.
    pub largest_hz: f64,
    /// Bands that differ by more than 1 dB.
    pub bands_beyond: usize,
    /// Root of the mean square over the bands, dB.
    pub rms_db: f64,
}

/// The passage that differs most.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Passage {
    /// Where it begins and ends, s.
    pub seconds: [f64; 2],
    /// Its figures.
    pub summary: Summary,
}

/// The report on two sounds or two responses.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Audibility {
    /// The verdict.
    pub verdict: Heard,
    /// One a band, rising.
    pub bands: Vec<BandDifference>,
    /// Figures of the whole.
    pub summary: Summary,
    /// The passage that differs most, when it differs more than the whole; none for responses.
    pub passage: Option<Passage>,
    /// How much louder the second is before both are made equally loud, LU; for responses dB.
    pub louder_db: f64,
    /// The verdict with its figures: "clearly audible: 5 bands beyond 1 dB, most −2.4 dB at 3.1 kHz".
    pub in_words: String,
}
