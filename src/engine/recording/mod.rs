//! What a recording of a real amp says about its response, with the doubt of every figure: the
//! curve that part values are fitted to.
//!
//! Takes the samples of a recording and, if there is one, of the dry guitar track that was played
//! into the amp while it was recorded. Gives a [`Target`], or [`Unfit`] with every reason at once.
//! With the dry track it is a measurement: delay and polarity, transfer function by averaged cross
//! spectra, coherence ([`with_dry_track`]). Without, it is the weaker method of comparing two
//! long-term spectra ([`without_dry_track`]). Reading files is done on the floors above.
//!
//! # How it is measured
//!
//! A `Target` has 12 points an octave, each with its standard deviation, its coherence, and
//! whether it is trusted. `played_like` puts the same windows to what a model makes of the dry
//! track, so that a fit compares like with like: leakage, gating and bending are then in both.
//! `in_step` moves a recording for listening, `drive_hint` plays the dry track at 24 settings and
//! says which of them bend it alike.
//!
//! - H1 by Hann windows of 0.17 s that overlap by half; windows are added as vectors, the lines
//!   of a band as powers (the phase of a microphone's distance would cancel them). The bias of
//!   the coherence is taken off; what is stated is the larger of the textbook's deviation and a
//!   jackknife over twelve groups. `tests/recording/textbook.rs` has both,
//!   `tests/recording/against_scipy.rs` the same figures by `scipy.signal`: 1e-6 dB apart.
//! - The quiet third of the windows is used when loud and quiet differ by more than half a
//!   decibel.
//! - Delay: whitened correlation at 8 kHz, then the peak of the averaged cross spectra between
//!   samples, then the drift of two clocks from the phase between groups of windows. A mere delay
//!   comes out within its noise, a thousandth of a sample at 20 dB.
//! - Ten minutes, of which the busiest one is used: 1.3 s of one core in the test build.
//! - Without a dry track 6 dB are added to every deviation: so far apart are the spectra of
//!   different playing on the same guitar (`tests/recording/without_dry_track.rs`).

mod delay;
pub mod drive_hint;
pub mod fit;
mod in_step;
mod noise;
mod ready;
mod response;
mod spectra;
mod transfer;
mod with_dry;
mod without_dry;
mod words;

pub use in_step::in_step;
pub use ready::one_side;
pub use response::{
    LEAST_COHERENCE, LevelDependence, MOST_DEVIATION_DB, Method, POINTS_AN_OCTAVE, Quiet, Target,
    Unfit, grid,
};

pub use with_dry::{played_like, with_dry_track};
pub use without_dry::without_dry_track;

use crate::sound::Sound;
use crate::sound::phrase::phrase;

/// What a recording shows: by its dry track, or, without one, with the built-in phrase for what was
/// played.
///
/// # Errors
/// Every reason why the recording shows no amp's response.
pub fn target(recording: &Sound, dry: Option<&Sound>) -> Result<Target, Unfit> {
    let Some(dry) = dry else {
        let stand_in = Sound {
            name: "the built-in phrase".into(),
            rate: recording.rate,
            channels: vec![phrase(recording.rate)],
        };
        return without_dry_track(recording, &stand_in);
    };
    with_dry_track(recording, dry)
}
