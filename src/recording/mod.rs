//! What a recording of a real amp says about its response, with the doubt of every figure: the
//! curve that part values are fitted to.
//!
//! Takes the samples of a recording and, if there is one, of the dry guitar track that was played
//! into the amp while it was recorded. Gives a [`Target`], or [`Unfit`] with every reason at once.
//! With the dry track it is a measurement: delay and polarity, transfer function by averaged cross
//! spectra, coherence ([`with_dry_track`]). Without, it is the weaker method of comparing two
//! long-term spectra ([`without_dry_track`]). Reading files is done on the floors above.

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
