//! The response from dry track to recording: [`with_dry_track`]; and the same measurement of an amp in
//! the model that played the same passages: [`played_like`].

use super::delay;
use super::ready::{LEAST_SECONDS, Ready, ready};
use super::response::{
    LEAST_COHERENCE, LevelDependence, MOST_SECONDS, Method, Quiet, SEARCH_SECONDS, Target,
    USABLE_SHARE, Unfit, grid,
};
use super::spectra::{Class, LEAST_WINDOWS, Spectra, Windows};
use super::transfer::{Transfer, transfer};
use super::words;
use crate::sound::Sound;
use crate::sound::resample::resampled;
use std::ops::Range;

/// Where an amp's response is judged to be there at all, Hz.
const HEART_HZ: Range<f64> = 100.0..4000.0;
/// Least share of those frequencies that must be coherent (own choice). Another take of the same tune
/// reaches none; an amp driven far into distortion keeps more than half in its quiet passages.
const LEAST_SHARE: f64 = 0.25;
/// Differences between loud and quiet playing up to this count as none, dB: half of what the ear
/// notices (own choice).
const SAME_DB: f64 = 0.5;
/// The quiet passages must leave at least this share of the frequencies to be preferred (own choice).
const QUIET_KEEPS: f64 = 0.7;
/// Length of the pieces that the playing is looked for in, s.
const PIECE_SECONDS: f64 = 0.1;

/// The response from dry track to recording.
///
/// # Errors
/// Every reason why these two sounds show no amp's response.
pub fn with_dry_track(recording: &Sound, dry: &Sound) -> Result<Target, Unfit> {
    let (recording, dry) = match (ready(recording), ready(dry)) {
        (Ok(recording), Ok(dry)) => (recording, dry),
        (recording, dry) => {
            let reasons = [recording.err(), dry.err()].into_iter().flatten().flatten();
            return Err(Unfit(reasons.collect()));
        }
    };
    let unfit = |reason: String| Unfit(vec![reason]);
    let rate = dry.rate;
    let span = busiest(&dry.samples, rate);
    let input = &dry.samples[span.clone()];
    let windows = Windows::new(input, rate);
    let sounding = windows
        .classes
        .iter()
        .filter(|c| **c != Class::Rest)
        .count();
    if sounding < LEAST_WINDOWS {
        return Err(unfit(words::hardly_played(&dry.name)));
    }
    let (heard, before) = around(&recording, &dry, &span).map_err(unfit)?;
    let least = (LEAST_SECONDS * f64::from(rate)) as usize;
    let unrelated = |share: f64| unfit(words::unrelated(&recording.name, &dry.name, share));
    let delay = delay::find(input, &heard, rate, &windows, least).ok_or_else(|| unrelated(0.0))?;
    let spectra = Spectra::new(input, &heard, rate, &windows, |start| delay.at(start));
    let hz = grid();
    let usable = USABLE_SHARE * 0.5 * f64::from(rate.min(recording.rate));
    let of = |classes: &[Class]| transfer(&spectra, &spectra.groups(classes), &hz);
    let all = of(&[Class::Quiet, Class::Middle, Class::Loud]);
    if all.windows < LEAST_WINDOWS {
        return Err(unfit(words::hardly_together(&recording.name, &dry.name)));
    }
    let trusted = |t: &Transfer| -> Vec<bool> {
        (0..hz.len())
            .map(|i| t.coherence[i] >= LEAST_COHERENCE && t.sounding[i] && hz[i] <= usable)
            .collect()
    };
    let quiet = of(&[Class::Quiet]);
    let loud = of(&[Class::Loud]);
    let share = |t: &Transfer| {
        let heart = (0..hz.len()).filter(|&i| HEART_HZ.contains(&hz[i]) && hz[i] <= usable);
        let trusted = trusted(t);
        heart.clone().filter(|&i| trusted[i]).count() as f64 / heart.count() as f64
    };
    let best = share(&all).max(share(&quiet));
    if best < LEAST_SHARE {
        return Err(unrelated(best));
    }
    let enough = |t: &Transfer| t.windows >= LEAST_WINDOWS;
    let level_dependence = (enough(&quiet) && enough(&loud))
        .then(|| compared(&windows, [&quiet, &loud], [trusted(&quiet), trusted(&loud)]))
        .flatten();
    let depends = level_dependence
        .as_ref()
        .is_some_and(LevelDependence::is_one);
    let count = |t: &Transfer| trusted(t).iter().filter(|t| **t).count() as f64;
    let gate = depends && count(&quiet) >= QUIET_KEEPS * count(&all);
    let used = if gate { quiet } else { all };
    let trusted = trusted(&used);
    let place = |frame: usize| frame as f64 / f64::from(rate);
    // The piece that was searched begins `before` the span; the clocks part from the files' start.
    let later = delay.samples / f64::from(rate) - before - delay.drift * place(span.start);
    let mut target = Target {
        name: recording.name.clone(),
        dry_name: Some(dry.name.clone()),
        method: Method::WithDryTrack,
        db: used.db,
        deviation_db: used.deviation_db,
        coherence: Some(used.coherence),
        trusted,
        gain_db: 0.0,
        delay_seconds: Some(later),
        drift_ppm: Some(1e6 * delay.drift),
        inverted: Some(delay.inverted),
        span_seconds: [place(span.start), place(span.end)],
        quiet: gate.then(|| quiet_of(&windows)),
        level_dependence,
        notes: [recording.notes, dry.notes].concat(),
        hz,
    };
    centre(&mut target);
    let whole = [
        recording.samples.len() as f64 / f64::from(recording.rate),
        place(dry.samples.len()),
    ];
    words::note_with_dry(&mut target, whole, depends && !gate);
    Ok(target)
}

/// Takes the mean of the trusted points away.
pub(super) fn centre(target: &mut Target) {
    let count = target.trusted_count().max(1) as f64;
    let of_trusted = |(db, trusted): (&f64, &bool)| if *trusted { *db } else { 0.0 };
    let sum: f64 = target.db.iter().zip(&target.trusted).map(of_trusted).sum();
    target.gain_db = sum / count;
    target.db.iter_mut().for_each(|db| *db -= sum / count);
}

/// The part of a sound with the most playing in it, at most [`MOST_SECONDS`]; the first of equals.
pub(super) fn busiest(samples: &[f32], rate: u32) -> Range<usize> {
    let piece = (PIECE_SECONDS * f64::from(rate)) as usize;
    let most = (MOST_SECONDS / PIECE_SECONDS) as usize;
    if samples.len() <= most * piece {
        return 0..samples.len();
    }
    let power = |piece: &[f32]| piece.iter().map(|s| f64::from(*s).powi(2)).sum::<f64>();
    let powers: Vec<f64> = samples.chunks_exact(piece).map(power).collect();
    let mut sorted = powers.clone();
    sorted.sort_by(f64::total_cmp);
    // Forty decibels below the loud twentieth: see `spectra`.
    let floor = 1e-4 * sorted[sorted.len() * 19 / 20];
    let mut playing = vec![0usize];
    for power in &powers {
        playing.push(playing[playing.len() - 1] + usize::from(*power > floor));
    }
    let inside = |start: usize| playing[start + most] - playing[start];
    let start = (0..=powers.len() - most)
        .max_by_key(|&start| (inside(start), std::cmp::Reverse(start)))
        .unwrap_or(0);
    start * piece..(start + most) * piece
}

/// The piece of the recording in which the span must lie, at the dry track's rate, and by how many
/// seconds it begins before the span does.
fn around(recording: &Ready, dry: &Ready, span: &Range<usize>) -> Result<(Vec<f32>, f64), String> {
    let rate = f64::from(recording.rate);
    let place = |frame: usize| frame as f64 / f64::from(dry.rate);
    let start = ((place(span.start) - SEARCH_SECONDS).max(0.0) * rate) as usize;
    let end = (((place(span.end) + SEARCH_SECONDS) * rate) as usize).min(recording.samples.len());
    if start >= end {
        return Err(words::hardly_together(&recording.name, &dry.name));
    }
    let piece = [recording.samples[start..end].to_vec()];
    let heard = resampled(&piece, recording.rate, dry.rate)?.swap_remove(0);
    Ok((heard, place(span.start) - start as f64 / rate))
}

fn quiet_of(windows: &Windows) -> Quiet {
    let playing = windows
        .classes
        .iter()
        .filter(|c| **c != Class::Rest)
        .count();
    Quiet {
        below_dbfs: 10.0 * windows.quiet_below.unwrap_or(0.0).max(1e-30).log10(),
        level_dbfs: 10.0 * windows.power(Class::Quiet).max(1e-30).log10(),
        share: windows.count(Class::Quiet) as f64 / playing.max(1) as f64,
    }
}

/// How the loud windows' response differs from the quiet ones'; none where hardly a frequency is
/// trusted in both.
fn compared(
    windows: &Windows,
    [quiet, loud]: [&Transfer; 2],
    trusted: [Vec<bool>; 2],
) -> Option<LevelDependence> {
    let both: Vec<usize> = (0..quiet.db.len())
        .filter(|&i| trusted[0][i] && trusted[1][i])
        .collect();
    let count = both.len() as f64;
    if count < LEAST_SHARE * quiet.db.len() as f64 {
        return None;
    }
    let mean = |value: &dyn Fn(usize) -> f64| both.iter().map(|&i| value(i)).sum::<f64>() / count;
    let apart = |i: usize| loud.db[i] - quiet.db[i];
    let gain_db = mean(&apart);
    let spread = mean(&|i| (apart(i) - gain_db).powi(2));
    // What chance alone would bring about is no property of the amp.
    let chance = mean(&|i| quiet.deviation_db[i].powi(2) + loud.deviation_db[i].powi(2));
    let shape_db = (spread - chance).max(0.0).sqrt();
    let apart_db = 10.0 * (windows.power(Class::Loud) / windows.power(Class::Quiet)).log10();
    let changed = differs(gain_db, shape_db);
    Some(LevelDependence {
        gain_db,
        shape_db,
        apart_db,
        sentence: words::level_dependence(gain_db, shape_db, apart_db, changed),
    })
}

fn differs(gain_db: f64, shape_db: f64) -> bool {
    gain_db.abs() > SAME_DB || shape_db > SAME_DB
}

impl LevelDependence {
    /// Whether loud and quiet playing differ by more than nothing: whether the amp was driven.
    pub fn is_one(&self) -> bool {
        differs(self.gain_db, self.shape_db)
    }
}

/// The same measurement of a sound that stands in time with the dry track, sample by sample: what an
/// amp in the model makes of it. `heard` begins with the dry track's first sample, has its rate, and any
/// scale; of the dry track and of `heard` the same passages are used as `target` was made from. None
/// when the target was made without a dry track or the sounds hold nothing there.
///
/// The mean over the target's trusted points is taken away.
pub fn played_like(target: &Target, dry: &Sound, heard: &[f32]) -> Option<Vec<f64>> {
    target.coherence.as_ref()?;
    let dry = ready(dry).ok()?;
    let frame = |seconds: f64| (seconds * f64::from(dry.rate)).round() as usize;
    let [start, end] = target.span_seconds.map(frame);
    let input = dry.samples.get(start..end.min(dry.samples.len()))?;
    let windows = Windows::new(input, dry.rate);
    let spectra = Spectra::new(input, heard.get(start..)?, dry.rate, &windows, |_| (0, 0.0));
    let groups = match target.quiet {
        Some(_) => spectra.groups(&[Class::Quiet]),
        None => spectra.all(),
    };
    let measured = transfer(&spectra, &groups, &target.hz);
    if measured.windows == 0 {
        return None;
    }
    let mut like = Target {
        db: measured.db,
        ..target.clone()
    };
    centre(&mut like);
    Some(like.db)
}
