//! The model played as hard as the amp was.
//!
//! An amp that is played compresses and bends; the fit's model is for small signals. So the dry
//! track is played through the circuits that may be it and looked at in the very way that the recording
//! was, and each one's fit adds what that differs from its small-signal curve by. Whatever the way of
//! looking does to a curve, it then does to both.

use super::Dry;
use super::model::{Model, Seen};
use crate::analysis::at_rest::Side;
use crate::analysis::performance::{GoOn, NoGauge, perform};
use crate::analysis::recording::{Sound, Target, one_side, played_like};

/// Longest piece of the dry track that is played, s; a longer one tells little more.
const LONGEST_SECONDS: f64 = 20.0;
/// Said when there is nothing to look at.
const NOT_PLAYED: &str =
    "The model could not be played as hard as the amp was, so the fit is for quiet playing.";
/// The piece is sought by tenths of a second.
const BLOCK_SECONDS: f64 = 0.1;

/// What playing changes against the small-signal level at the trusted frequencies, dB, up to a
/// constant, for each of some circuits. None when `go_on` says no.
///
/// # Errors
/// A sentence when the sound of the model cannot be looked at.
pub fn played_db(
    model: &Model<'_>,
    all: &[&Seen],
    dry: Dry<'_>,
    target: &Target,
    trusted: &[usize],
    go_on: GoOn<'_>,
) -> Option<Result<Vec<Vec<f64>>, String>> {
    let samples = one_side(dry.sound).0;
    let [start, end] = piece(&samples, dry.sound.rate, target);
    let sound = Sound {
        name: dry.sound.name.clone(),
        rate: dry.sound.rate,
        channels: vec![samples[start..end].to_vec()],
    };
    let volts = dry.full_scale_volts as f32;
    let at_jack: Vec<f32> = sound.channels[0].iter().map(|s| s * volts).collect();
    let performed = perform(
        model.network,
        &all.iter().map(|seen| &seen.side).collect::<Vec<&Side>>(),
        &[at_jack.as_slice()],
        sound.rate,
        &NoGauge,
        go_on,
    )?;
    // The piece stands for the span.
    let narrowed = Target {
        span_seconds: [0.0, (end - start) as f64 / f64::from(sound.rate)],
        ..target.clone()
    };
    let each = all.iter().zip(performed).map(|(seen, performed)| {
        let heard = performed.volts.first().ok_or(NOT_PLAYED)?;
        let heard = played_like(&narrowed, &sound, heard).ok_or(NOT_PLAYED)?;
        let small_signal = seen.db.iter().zip(&model.behind_db);
        let small_signal = small_signal.map(|(level, behind)| level - behind);
        let change: Vec<f64> = trusted
            .iter()
            .zip(small_signal)
            .map(|(&i, level)| heard[i] - level)
            .collect();
        let mean = change.iter().sum::<f64>() / change.len().max(1) as f64;
        let change: Vec<f64> = change.into_iter().map(|db| db - mean).collect();
        match change.iter().all(|db| db.is_finite()) {
            true => Ok(change),
            false => Err("The model's own sound is no measure; the fit is for quiet playing."),
        }
    });
    Some(each.collect::<Result<_, &str>>().map_err(str::to_owned))
}

/// First and last frame of what is played: the span that the recording was looked at in; of a long
/// one, where most is played at the levels that were used.
fn piece(samples: &[f32], rate: u32, target: &Target) -> [usize; 2] {
    let rate = f64::from(rate);
    let frame = |seconds: f64| ((seconds.max(0.0) * rate).round() as usize).min(samples.len());
    let [from, to] = target.span_seconds.map(frame);
    let longest = (LONGEST_SECONDS * rate) as usize;
    if to.saturating_sub(from) <= longest {
        return [from.min(to), to];
    }
    let most = match &target.quiet {
        Some(quiet) => 10f64.powf(quiet.below_dbfs / 10.0),
        None => f64::INFINITY,
    };
    let block = ((BLOCK_SECONDS * rate) as usize).max(1);
    let used: Vec<f64> = samples[from..to]
        .chunks(block)
        .map(|chunk| (power(chunk) / chunk.len() as f64).min(most))
        .collect();
    let sums = used.windows(longest / block).map(|w| w.iter().sum::<f64>());
    let best = sums.enumerate().max_by(|a, b| a.1.total_cmp(&b.1));
    let start = from + best.map_or(0, |(place, _)| place * block);
    [start, (start + longest).min(to)]
}

fn power(samples: &[f32]) -> f64 {
    samples.iter().map(|&s| f64::from(s) * f64::from(s)).sum()
}
