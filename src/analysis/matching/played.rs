//! The model played as hard as the amp was.
//!
//! An amp that is played compresses and bends; the fit's model is for small signals. So the dry
//! track is played through the present best circuit and looked at in the very way that the recording
//! was, and the fit adds what that differs from the small-signal curve by. Whatever the way of
//! looking does to a curve, it then does to both.

use super::Dry;
use super::model::{Model, Seen};
use crate::analysis::performance::{GoOn, NoGauge, perform};
use crate::analysis::recording::{Sound, Target, with_dry_track};

/// Longest piece of the dry track that is played, s; a longer one tells little more.
const LONGEST_SECONDS: f64 = 20.0;
/// The piece is sought by tenths of a second.
const BLOCK_SECONDS: f64 = 0.1;

/// What playing changes against the small-signal level at the trusted frequencies, dB, up to a
/// constant. None when `go_on` says no.
///
/// # Errors
/// A sentence when the sound of the model cannot be looked at.
pub fn played_db(
    model: &Model<'_>,
    seen: &Seen,
    dry: Dry<'_>,
    target: &Target,
    trusted: &[usize],
    go_on: GoOn<'_>,
) -> Option<Result<Vec<f64>, String>> {
    let piece = piece(dry.sound, target);
    let volts = dry.full_scale_volts as f32;
    let at_jack: Vec<f32> = piece.channels[0].iter().map(|s| s * volts).collect();
    let channels = [at_jack.as_slice()];
    let performed = perform(
        model.network,
        &[&seen.side],
        &channels,
        piece.rate,
        &NoGauge,
        go_on,
    )?;
    let sound = Sound {
        name: "the model's sound".into(),
        rate: piece.rate,
        channels: at_full_scale(performed.into_iter().next()?.volts),
    };
    let heard = match with_dry_track(&sound, &piece) {
        Ok(heard) => heard,
        Err(why) => {
            return Some(Err(format!(
                "The model could not be played as hard as the amp was, so the fit is for quiet playing: {why}"
            )));
        }
    };
    // Where playing cannot be trusted, its nearest trusted neighbour stands for it.
    let neighbours: Vec<usize> = (0..heard.hz.len()).filter(|&i| heard.trusted[i]).collect();
    let nearest = |i: usize| {
        let away = |j: &&usize| j.abs_diff(i);
        neighbours.iter().min_by_key(away).copied()
    };
    // The small-signal level is known at the recording's trusted frequencies only.
    let change: Vec<Option<f64>> = trusted
        .iter()
        .zip(seen.db.iter().zip(&model.behind_db))
        .map(|(&i, (level, behind))| heard.trusted[i].then(|| heard.db[i] - (level - behind)))
        .collect();
    let filled = trusted.iter().zip(&change).map(|(&i, own)| {
        let of_neighbour = || {
            let place = trusted.iter().position(|&t| Some(t) == nearest(i));
            place.and_then(|place| change[place])
        };
        own.or_else(of_neighbour).unwrap_or(0.0)
    });
    let db: Vec<f64> = filled.collect();
    let mean = db.iter().sum::<f64>() / db.len().max(1) as f64;
    Some(Ok(db.into_iter().map(|db| db - mean).collect()))
}

/// Scaled to half of full scale at its peak, so that no rule about clipping takes offence.
fn at_full_scale(mut channels: Vec<Vec<f32>>) -> Vec<Vec<f32>> {
    let peak = channels
        .iter()
        .flatten()
        .fold(0.0f32, |m, s| m.max(s.abs()));
    if peak > 0.0 {
        let scale = 0.5 / peak;
        channels.iter_mut().flatten().for_each(|s| *s *= scale);
    }
    channels
}

/// The piece of the dry track that is played: one channel of the span that the recording was looked
/// at in; of a long one, where most is played at the levels that were used.
fn piece(sound: &Sound, target: &Target) -> Sound {
    let rate = f64::from(sound.rate);
    let all = sound
        .channels
        .iter()
        .max_by(|a, b| power(a).total_cmp(&power(b)));
    let all = all.map_or(&[][..], |channel| channel.as_slice());
    let frame = |seconds: f64| ((seconds.max(0.0) * rate) as usize).min(all.len());
    let [from, to] = target.span_seconds.map(frame);
    let span = if to > from { &all[from..to] } else { all };
    let longest = (LONGEST_SECONDS * rate) as usize;
    let kept = if span.len() <= longest {
        span
    } else {
        let most = match &target.quiet {
            Some(quiet) => 10f64.powf(quiet.below_dbfs / 10.0),
            None => f64::INFINITY,
        };
        let block = ((BLOCK_SECONDS * rate) as usize).max(1);
        let used: Vec<f64> = span
            .chunks(block)
            .map(|chunk| (power(chunk) / chunk.len() as f64).min(most))
            .collect();
        let blocks = longest / block;
        let sums = used.windows(blocks).map(|w| w.iter().sum::<f64>());
        let best = sums.enumerate().max_by(|a, b| a.1.total_cmp(&b.1));
        let start = best.map_or(0, |(place, _)| place * block);
        &span[start..start + longest.min(span.len() - start)]
    };
    Sound {
        name: sound.name.clone(),
        rate: sound.rate,
        channels: vec![kept.to_vec()],
    }
}

fn power(samples: &[f32]) -> f64 {
    samples.iter().map(|&s| f64::from(s) * f64::from(s)).sum()
}
