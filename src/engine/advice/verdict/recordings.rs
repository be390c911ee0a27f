//! Two recordings of one sound, as found and proposed, equally loud.

use super::calibrated::CalibratedSound;
use super::question::NoVerdict;
use crate::analysis::playing::play;
use crate::solve::solved::{Both, SolvedAmp, SolvedCircuit};
use crate::sound::loudness::{integrated_lufs, peak};
use crate::units::{decibels_from_ratio, ratio_from_decibels};
use serde::Serialize;

/// Two recordings and what was done so that both can be compared by ear.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Recordings {
    /// Integrated loudness of the recordings, LUFS; none for silence.
    pub matched_lufs: Both<Option<f64>>,
    /// Gain of the recordings against what was heard, dB.
    pub gain_db: Both<f64>,
    /// What each was heard through; none for the voltage itself.
    pub through: Both<Option<String>>,
    /// A warning, when the equations had no solution somewhere.
    pub warning: Option<String>,
    /// The samples, a channel each, 1.0 being full scale.
    #[serde(skip)]
    pub samples: Both<Vec<Vec<f32>>>,
}

/// Makes of the voltage of one side, a channel each, what is heard of it, and says through what
/// that was; none for the voltage itself.
pub type Hear<'a> = dyn FnMut(&SolvedCircuit, &mut [Vec<f32>]) -> Option<String> + 'a;

/// Plays the sound through both sides at once, without a seam, and matches them in loudness.
///
/// # Errors
/// When what comes out is not made of numbers.
pub fn recordings(
    amp: &SolvedAmp,
    calibrated: &CalibratedSound,
    hear: &mut Hear<'_>,
    progress: &mut dyn FnMut(f64),
) -> Result<Recordings, NoVerdict> {
    let sides = amp.both().expect("two circuits were given");
    let (a, p) = (sides.as_found, sides.proposed);
    let sound = &calibrated.sound;
    let (network, rate, volts) = (&amp.network, sound.rate, calibrated.input_volts);
    let played = match sound.channels.as_slice() {
        [one] => play(
            network,
            &[a, p],
            rate,
            &[one.as_slice(); 2],
            volts,
            progress,
        ),
        [left, right] => {
            let inputs = [left, right, left, right].map(Vec::as_slice);
            play(network, &[a, a, p, p], rate, &inputs, volts, progress)
        }
        _ => unreachable!("a sound has one or two channels"),
    };
    if played.effort.not_finite > 0 {
        return Err(NoVerdict::NotFinite(played.effort.not_finite));
    }
    let scale = (1.0 / calibrated.output_volts) as f32;
    let mut as_found = played.volts;
    let mut proposed = as_found.split_off(sound.channels.len());
    let through = Both {
        as_found: hear(a, &mut as_found),
        proposed: hear(p, &mut proposed),
    };
    let all = as_found.iter_mut().chain(&mut proposed).flatten();
    all.for_each(|s| *s *= scale);
    let mut samples = Both { as_found, proposed };
    let before = samples.map(|r| integrated_lufs(&slices(r), rate));
    let peaks = samples.map(|r| peak(&slices(r)));
    let mut gain_db = Both {
        as_found: 0.0,
        proposed: 0.0,
    };
    if let (Some(a), Some(p)) = (before.as_found, before.proposed) {
        gain_db.proposed = a - p;
    }
    if !calibrated.may_exceed {
        // Both are lowered alike, with a tenth of a decibel to spare.
        let highest = |peak: f64, gain: f64| decibels_from_ratio(peak) + gain;
        let over = highest(peaks.as_found, gain_db.as_found)
            .max(highest(peaks.proposed, gain_db.proposed));
        if over > 0.0 {
            gain_db = gain_db.map(|gain| gain - over - 0.1);
        }
    }
    for (recording, gain) in [
        (&mut samples.as_found, gain_db.as_found),
        (&mut samples.proposed, gain_db.proposed),
    ] {
        let factor = ratio_from_decibels(gain) as f32;
        recording.iter_mut().flatten().for_each(|s| *s *= factor);
    }
    Ok(Recordings {
        matched_lufs: samples.map(|r| integrated_lufs(&slices(r), rate)),
        gain_db,
        through,
        warning: played.effort.warning(),
        samples,
    })
}

fn slices(channels: &[Vec<f32>]) -> Vec<&[f32]> {
    channels.iter().map(Vec::as_slice).collect()
}
