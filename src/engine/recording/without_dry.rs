//! The weaker method: the long-term spectrum of a recording against that of another playing, both
//! smoothed in the ear's bands.

use super::noise::flatness;
use super::ready::{Ready, ready};
use super::response::{MOST_DEVIATION_DB, Method, Target, USABLE_SHARE, Unfit, grid};
use super::spectra::{Class, LEAST_WINDOWS, Spectra, Sums, Windows, total};
use super::transfer::INDEPENDENT;
use super::with_dry::{busiest, centre};
use super::words;
use crate::analysis::audibility::erb::{bands, erb_hz};
use crate::sound::Sound;

/// Doubt at every frequency because something else was played than what it is compared with, dB. The
/// smoothed spectra of the built-in phrase's four parts, single low notes to hard chords, stand 5.6 dB
/// r.m.s. from that of the whole (`tests/recording/without_dry_track.rs`); longer playing evens some of it out.
pub const PLAYING_DB: f64 = 6.0;
/// What stands less than this above the recording's own rests is noise, dB.
const ABOVE_RESTS_DB: f64 = 6.0;
/// What the phrase has further below its strongest band than this is not played, dB: there lie the
/// thumps and skirts of other notes (own choice).
const FAR_BELOW_DB: f64 = 50.0;
/// The same of the recording, where a loudspeaker's fall comes on top, dB.
const FAR_BELOW_HEARD_DB: f64 = 70.0;
/// Noise: half the windows have a spectrum so flat (see [`flatness`]); noise has 0.56, guitars hundredths
/// (own choice between).
const FLAT: f64 = 0.35;
/// The band in which playing must sound, Hz, ...
const HEART_HZ: std::ops::Range<f64> = 100.0..4000.0;
/// ... in at least this share of the ear's bands within 40 dB of the strongest (own choice).
const LEAST_SHARE: f64 = 0.5;
const SOUNDING_DB: f64 = 40.0;

/// The long-term spectrum of a sound.
struct LongTerm {
    /// Level in the ear's band about each frequency of the grid, dB.
    db: Vec<f64>,
    /// One standard deviation by the jackknife, dB.
    deviation_db: Vec<f64>,
    /// Level above that of the rests, dB; none without rests.
    above_rests_db: Option<Vec<f64>>,
    span: [f64; 2],
    sums: Sums,
    spacing: f64,
    flatness: Option<f64>,
}

/// The response that would give the long-term spectrum of `phrase` that of the recording, smoothed
/// in the ear's bands. `phrase` stands for what was played: the built-in phrase, or any dry guitar.
///
/// # Errors
/// Every reason why the recording shows no amp's response.
pub fn without_dry_track(recording: &Sound, phrase: &Sound) -> Result<Target, Unfit> {
    let hz = grid();
    let (recording, phrase) = match (ready(recording), ready(phrase)) {
        (Ok(recording), Ok(phrase)) => (recording, phrase),
        (recording, phrase) => {
            let reasons = [recording.err(), phrase.err()]
                .into_iter()
                .flatten()
                .flatten();
            return Err(Unfit(reasons.collect()));
        }
    };
    let heard = long_term(&recording, &hz);
    let played = long_term(&phrase, &hz);
    let mut reasons = Vec::new();
    for (sound, long_term) in [(&recording, &heard), (&phrase, &played)] {
        if long_term.sums.windows < LEAST_WINDOWS {
            reasons.push(words::hardly_played(&sound.name));
        }
    }
    if reasons.is_empty() && heard.flatness.is_some_and(|flat| flat > FLAT) {
        reasons.push(words::steady_noise(&recording.name));
    }
    let (sounding, all) = sounding(&heard);
    let needed = (LEAST_SHARE * all as f64).ceil() as usize;
    if reasons.is_empty() && sounding < needed {
        reasons.push(words::few_notes(&recording.name, sounding, needed));
    }
    if !reasons.is_empty() {
        return Err(Unfit(reasons));
    }
    let usable = USABLE_SHARE * 0.5 * f64::from(recording.rate.min(phrase.rate));
    let strongest = |of: &LongTerm| of.db.iter().fold(f64::NEG_INFINITY, |m, &db| m.max(db));
    let (most_heard, most_played) = (strongest(&heard), strongest(&played));
    let trusted = (0..hz.len()).map(|i| {
        let above = heard
            .above_rests_db
            .as_ref()
            .is_none_or(|db| db[i] >= ABOVE_RESTS_DB);
        let there = heard.db[i] > most_heard - FAR_BELOW_HEARD_DB
            && played.db[i] > most_played - FAR_BELOW_DB;
        above && there && hz[i] <= usable
    });
    let mut target = Target {
        name: recording.name.clone(),
        dry_name: None,
        method: Method::WithoutDryTrack,
        db: (0..hz.len()).map(|i| heard.db[i] - played.db[i]).collect(),
        deviation_db: (0..hz.len())
            .map(|i| {
                let squares = [heard.deviation_db[i], played.deviation_db[i], PLAYING_DB];
                let sum: f64 = squares.iter().map(|d| d * d).sum();
                sum.sqrt().min(MOST_DEVIATION_DB)
            })
            .collect(),
        coherence: None,
        trusted: trusted.collect(),
        gain_db: 0.0,
        delay_seconds: None,
        drift_ppm: None,
        inverted: None,
        span_seconds: heard.span,
        quiet: None,
        level_dependence: None,
        notes: words::weaker(&phrase.name, PLAYING_DB),
        hz,
    };
    for (db, trusted) in target.db.iter_mut().zip(&target.trusted) {
        if !trusted {
            *db = 0.0;
        }
    }
    centre(&mut target);
    target.notes.extend(recording.notes);
    words::note_without_dry(
        &mut target,
        recording.samples.len() as f64 / f64::from(recording.rate),
    );
    Ok(target)
}

fn long_term(sound: &Ready, hz: &[f64]) -> LongTerm {
    let span = busiest(&sound.samples, sound.rate);
    let samples = &sound.samples[span.clone()];
    let windows = Windows::new(samples, sound.rate);
    let spectra =
        |windows: &Windows| Spectra::new(samples, samples, sound.rate, windows, |_| (0, 0.0));
    let groups = spectra(&windows.unsorted()).all();
    let sums = total(&groups);
    let spacing = f64::from(sound.rate) / windows.length as f64;
    let level = |sums: &Sums| -> Vec<f64> {
        hz.iter()
            .map(|&hz| 10.0 * density(sums, hz, spacing).max(1e-30).log10())
            .collect()
    };
    let db = level(&sums);
    let groups: Vec<&Sums> = groups.iter().filter(|g| g.windows > 0).collect();
    let left_out: Vec<Vec<f64>> = groups
        .iter()
        .map(|group| {
            let mut rest = sums.clone();
            rest -= group;
            level(&rest)
        })
        .collect();
    let count = groups.len() as f64;
    let deviation_db = (0..hz.len()).map(|i| {
        let mean = left_out.iter().map(|db| db[i]).sum::<f64>() / count.max(1.0);
        let squares: f64 = left_out.iter().map(|db| (db[i] - mean).powi(2)).sum();
        // The jackknife counts groups as independent; a half-overlapping window is nearly so.
        ((count - 1.0) / count.max(1.0) * squares / INDEPENDENT).sqrt()
    });
    let rests = windows.rests();
    let above_rests_db = (rests.count(Class::Middle) > 0).then(|| {
        let quiet = level(&total(&spectra(&rests).all()));
        db.iter()
            .zip(&quiet)
            .map(|(db, quiet)| db - quiet)
            .collect()
    });
    let place = |frame: usize| frame as f64 / f64::from(sound.rate);
    LongTerm {
        flatness: flatness(samples, sound.rate, &windows),
        deviation_db: deviation_db.collect(),
        span: [place(span.start), place(span.end)],
        above_rests_db,
        db,
        sums,
        spacing,
    }
}

/// Mean power a window and a line in the ear's band about a frequency.
fn density(sums: &Sums, hz: f64, spacing: f64) -> f64 {
    let half = 0.5 * erb_hz(hz);
    mean(&sums.input, hz - half, hz + half, spacing) / sums.windows.max(1) as f64
}

/// Mean of the lines from one frequency to another, or the nearest one.
fn mean(lines: &[f64], low: f64, high: f64, spacing: f64) -> f64 {
    let first = (low / spacing).ceil().max(1.0) as usize;
    let last = ((high / spacing).floor() as usize).min(lines.len() - 1);
    match lines.get(first..=last) {
        Some(lines) if !lines.is_empty() => lines.iter().sum::<f64>() / lines.len() as f64,
        _ => 0.0,
    }
}

/// In how many of the ear's bands a sound sounds, of how many.
fn sounding(long_term: &LongTerm) -> (usize, usize) {
    let powers: Vec<f64> = bands()
        .iter()
        .filter(|band| HEART_HZ.contains(&band.hz))
        .map(|band| {
            mean(
                &long_term.sums.input,
                band.low_hz,
                band.high_hz,
                long_term.spacing,
            )
        })
        .collect();
    let strongest = powers.iter().fold(0.0, |most: f64, &power| most.max(power));
    let floor = strongest * 10f64.powf(-SOUNDING_DB / 10.0);
    (powers.iter().filter(|p| **p > floor).count(), powers.len())
}
