//! What no part of the amp explains: the colour of loudspeaker, microphone, room and interface, as a
//! smooth curve of unknown size and smoothness.
//!
//! The curve is a Gaussian process over the logarithm of frequency (C. E. Rasmussen,
//! C. K. I. Williams, "Gaussian Processes for Machine Learning", 2006, eq. 4.17, from memory: the
//! Matérn class with ν = 3/2, whose curves have a slope everywhere but may bend sharply). How large
//! and how smooth it is is not known; a fit that picked one would believe it. So there are several
//! [`Colour`]s, and the fit is averaged over them by how well each explains the recording.

use serde::{Deserialize, Serialize};

/// How the recording was taken, which decides how much colour is believed possible.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Taken {
    /// The voltage at the loudspeaker, by a line output or a dummy load that is like one.
    Line,
    /// With a microphone before a loudspeaker that is not known.
    #[default]
    Microphone,
    /// With a microphone before a loudspeaker, or through a cabinet, whose response is in the model.
    KnownLoudspeaker,
}

/// One size and smoothness of the colour.
#[derive(Clone, Debug)]
pub struct Colour {
    /// One standard deviation in the middle of the band, dB.
    pub size_db: f64,
    /// Over so many octaves it keeps its level, by and large.
    pub octaves: f64,
    /// Logarithm of the belief in it before the recording is heard.
    pub log_prior: f64,
    /// Covariance of the curve by frequencies, dB².
    pub covariance: Vec<Vec<f64>>,
}

/// An interface is flat within a tenth of a decibel (common practice, no source): the colour of a
/// line recording, dB and octaves.
const LINE: [f64; 2] = [0.1, 1.0];
/// Sizes of the colour of an unknown loudspeaker and microphone, dB. Published curves of guitar
/// loudspeakers lie within ±2 to ±8 dB about their middle (common practice, no source).
const UNKNOWN_DB: [f64; 3] = [1.5, 4.0, 8.0];
/// The same about a response that is in the model: microphone, room, and one loudspeaker against
/// another of its type.
const KNOWN_DB: [f64; 3] = [0.5, 1.5, 3.0];
/// Over so many octaves a colour may change: peaks of a paper cone to the shelves of a room.
const OCTAVES: [f64; 3] = [1.0 / 3.0, 2.0 / 3.0, 1.5];

/// Below and above this a loudspeaker and a microphone roll off, and cones break up, Hz.
const MIDDLE_HZ: [f64; 2] = [150.0, 2500.0];
/// The colour grows by this share of its size an octave outside the middle: peaks and dips of a
/// breaking cone are higher than its ripple below (own choice).
const GROWTH: f64 = 0.5;
/// Where a roll-off may begin or steepen, Hz, and one standard deviation of the slope that begins
/// there, dB an octave: both hinges together reach the 6 to 24 dB that loudspeakers in open and
/// closed cabinets have.
const LOW_HINGES_HZ: [f64; 2] = [150.0, 75.0];
const HIGH_HINGES_HZ: [f64; 2] = [2500.0, 5000.0];
const HINGE_DB: f64 = 9.0;
/// What is left of that where the loudspeaker is in the model.
const KNOWN_HINGE_DB: f64 = 3.0;

/// The colours that are thought possible. `hz`: the frequencies of the recording.
pub fn colours(taken: Taken, hz: &[f64]) -> Vec<Colour> {
    let (sizes, hinge) = match taken {
        Taken::Line => return vec![colour(hz, LINE[0], LINE[1], 0.0, 0.0, 0.0)],
        Taken::Microphone => (UNKNOWN_DB, HINGE_DB),
        Taken::KnownLoudspeaker => (KNOWN_DB, KNOWN_HINGE_DB),
    };
    let count = (sizes.len() * OCTAVES.len()) as f64;
    let pairs = sizes.iter().flat_map(|&size| OCTAVES.map(|o| (size, o)));
    pairs
        .map(|(size, octaves)| colour(hz, size, octaves, GROWTH, hinge, -count.ln()))
        .collect()
}

fn colour(
    hz: &[f64],
    size_db: f64,
    octaves: f64,
    growth: f64,
    hinge_db: f64,
    log_prior: f64,
) -> Colour {
    let place: Vec<f64> = hz.iter().map(|f| f.log2()).collect();
    let outside = |hz: f64| {
        let [low, high] = MIDDLE_HZ;
        (low / hz).log2().max((hz / high).log2()).max(0.0)
    };
    let sizes: Vec<f64> = hz
        .iter()
        .map(|&f| size_db * (1.0 + growth * outside(f)))
        .collect();
    let low = LOW_HINGES_HZ.map(|from| hinge(hz, |f| (from / f).log2()));
    let high = HIGH_HINGES_HZ.map(|from| hinge(hz, |f| (f / from).log2()));
    let hinges: Vec<Vec<f64>> = low.into_iter().chain(high).collect();
    let entry = |i: usize, j: usize| {
        let apart = 3f64.sqrt() * (place[i] - place[j]).abs() / octaves;
        let smooth = sizes[i] * sizes[j] * (1.0 + apart) * (-apart).exp();
        let slopes: f64 = hinges.iter().map(|h| h[i] * h[j]).sum();
        smooth + hinge_db * hinge_db * slopes
    };
    let row = |i: usize| (0..hz.len()).map(|j| entry(i, j)).collect();
    Colour {
        size_db,
        octaves,
        log_prior,
        covariance: (0..hz.len()).map(row).collect(),
    }
}

/// Octaves beyond a hinge; 0 before it.
fn hinge(hz: &[f64], beyond: impl Fn(f64) -> f64) -> Vec<f64> {
    hz.iter().map(|&f| beyond(f).max(0.0)).collect()
}
