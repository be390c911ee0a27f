//! Whether a difference can be heard: levels in the ear's bands, both sounds made equally loud.
//!
//! Takes the [`Profile`]s of the same performance through two circuits, or two responses; gives the
//! difference in every band one ERB wide and a verdict. The two are matched in loudness first
//! (ITU-R BS.1770-4), so that louder does not pass for better.
//!
//! The verdict rests on the just-noticeable difference of level: 0.5 to 1 dB in general (a
//! university's teaching text on hearing, seen in a secondary copy; W. Jesteadt, C. C. Wier,
//! D. M. Green, J. Acoust. Soc. Am. 61(1), 169 to 177, 1977, from memory). The thresholds are ours,
//! built on it; see [`THRESHOLDS`].

pub mod erb;
mod profile;
mod report;
pub mod weighting;
mod words;

pub use profile::{Profile, profile};
pub use report::{
    Audibility, BandDifference, HEARD_DB, Heard, LEFT_OUT, NOT_HEARD_DB, Passage, Summary,
    THRESHOLDS,
};
pub use words::level;

use erb::bands;
use report::CLEAR_BANDS;

/// So much in a single band is clearly audible, dB: twice the just-noticeable difference (own
/// choice).
const CLEAR_DB: f64 = 2.0;
/// A band so far below the loudest one has no energy worth hearing, dB. A practising guitarist's
/// loudest band stands at some 80 dB SPL; 50 dB below it is the noise of a quiet room (own choice).
const FAR_BELOW_DB: f64 = 50.0;
/// Within a passage of a second the same, dB: nearer, since each passage is short and the treble of
/// a dying note is soon lost (own choice).
const FAR_BELOW_IN_PASSAGE_DB: f64 = 30.0;
/// A guitar loudspeaker falls steeply above 5 kHz (common practice, no source): whether a band of the
/// voltage at it has energy worth hearing is judged as if by 24 dB an octave from there.
const LOUDSPEAKER_HZ: f64 = 5000.0;
const LOUDSPEAKER_FALLS: f64 = 8.0;
/// Passages so far below the loudest are not looked at, dB: as far as EBU Tech 3342 looks for a
/// range of loudness (from memory).
const QUIET_PASSAGE_DB: f64 = 20.0;

/// Compares two sounds; none when one of them is silent.
pub fn compare(before: &Profile, after: &Profile) -> Option<Audibility> {
    let louder_db = after.lufs? - before.lufs?;
    let falls = !(before.radiated && after.radiated);
    let (was, is) = (&before.whole, &after.whole);
    let whole = differences(was, is, louder_db, FAR_BELOW_DB, falls);
    let summary = summary(&whole)?;
    let worst = passages(before, after, louder_db, falls)
        .into_iter()
        .max_by(|a, b| {
            let order = |p: &Passage| verdict_on_passage(&p.summary);
            order(a)
                .cmp(&order(b))
                .then(a.summary.rms_db.total_cmp(&b.summary.rms_db))
        })
        .filter(|p| verdict_on_passage(&p.summary) > verdict(&summary));
    Some(words::with_words(Audibility {
        verdict: worst.map_or(verdict(&summary), |p| verdict_on_passage(&p.summary)),
        bands: whole,
        summary,
        passage: worst,
        louder_db,
        in_words: String::new(),
    }))
}

/// Compares two small-signal responses, each as decibels in every band of [`bands`], weighted as
/// the bands of `played` are filled: by that weight both are made equally loud, and a band where
/// nothing is played does not count. None when nothing comparable is left.
pub fn compare_responses(
    before_db: &[f64],
    after_db: &[f64],
    played: &Profile,
) -> Option<Audibility> {
    let before = &played.whole;
    let after: Vec<f64> = before
        .iter()
        .zip(before_db.iter().zip(after_db))
        .map(|(power, (b, a))| power * 10f64.powf((a - b) / 10.0))
        .collect();
    let loudness = |powers: &[f64]| -> f64 {
        let sum = powers.iter().zip(bands());
        sum.map(|(power, band)| power * weighting::weight(band.hz))
            .sum()
    };
    let louder_db = 10.0 * (loudness(&after) / loudness(before)).log10();
    if !louder_db.is_finite() {
        return None;
    }
    let bands = differences(before, &after, louder_db, FAR_BELOW_DB, !played.radiated);
    let summary = summary(&bands)?;
    Some(words::with_words(Audibility {
        verdict: verdict(&summary),
        bands,
        summary,
        passage: None,
        louder_db,
        in_words: String::new(),
    }))
}

/// The verdict on the figures of a passage of a second: as strict about the bands as a whole as of
/// a whole sound about one, and borderline at most for what a band or two do.
pub fn verdict_on_passage(summary: &Summary) -> Heard {
    if summary.rms_db > HEARD_DB {
        Heard::ClearlyAudible
    } else if summary.rms_db >= NOT_HEARD_DB || verdict(summary) == Heard::ClearlyAudible {
        Heard::Borderline
    } else {
        Heard::NotAudible
    }
}

/// The verdict on the figures of a whole sound or a response.
pub fn verdict(summary: &Summary) -> Heard {
    let largest = summary.largest_db.abs();
    if largest < NOT_HEARD_DB {
        Heard::NotAudible
    } else if summary.bands_beyond >= CLEAR_BANDS || largest > CLEAR_DB {
        Heard::ClearlyAudible
    } else {
        Heard::Borderline
    }
}

/// Differences of band powers, the second made quieter by `louder_db`. `falls`: what is heard falls
/// with frequency as a loudspeaker does, beside these powers.
fn differences(
    before: &[f64],
    after: &[f64],
    louder_db: f64,
    far_below_db: f64,
    falls: bool,
) -> Vec<BandDifference> {
    let matched = 10f64.powf(-louder_db / 10.0);
    let pairs: Vec<[f64; 2]> = before
        .iter()
        .zip(after)
        .map(|(b, a)| [*b, a * matched])
        .collect();
    let loudest = pairs.iter().flatten().copied().fold(0.0, f64::max);
    let floor = loudest * 10f64.powf(-far_below_db / 10.0);
    let each = pairs.iter().zip(bands()).map(|([b, a], band)| {
        let db = 10.0 * (a / b).log10();
        let falls = match falls {
            true => (band.hz / LOUDSPEAKER_HZ).max(1.0).powf(LOUDSPEAKER_FALLS),
            false => 1.0,
        };
        BandDifference {
            hz: band.hz,
            difference_db: db.is_finite().then_some(db),
            counts: db.is_finite() && b.max(*a) > falls * floor,
        }
    });
    each.collect()
}

/// Figures over the bands that count; none without any.
pub fn summary(bands: &[BandDifference]) -> Option<Summary> {
    let counted: Vec<(f64, f64)> = bands
        .iter()
        .filter(|b| b.counts)
        .filter_map(|b| Some((b.hz, b.difference_db?)))
        .collect();
    let &(largest_hz, largest_db) = counted
        .iter()
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))?;
    let squares: f64 = counted.iter().map(|(_, db)| db * db).sum();
    Some(Summary {
        largest_db,
        largest_hz,
        bands_beyond: counted.iter().filter(|(_, db)| db.abs() > HEARD_DB).count(),
        rms_db: (squares / counted.len() as f64).sqrt(),
    })
}

/// Figures of the passages that are not far below the loudest.
fn passages(before: &Profile, after: &Profile, louder_db: f64, falls: bool) -> Vec<Passage> {
    let total = |bands: &[f64]| bands.iter().sum::<f64>();
    let totals = before.passages.iter().map(|p| total(p));
    let loudest = totals.fold(0.0, f64::max);
    let floor = loudest * 10f64.powf(-QUIET_PASSAGE_DB / 10.0);
    let pairs = before.passages.iter().zip(&after.passages).enumerate();
    pairs
        .filter(|(_, (b, _))| total(b) > floor)
        .filter_map(|(i, (b, a))| {
            let bands = differences(b, a, louder_db, FAR_BELOW_IN_PASSAGE_DB, falls);
            Some(Passage {
                seconds: [i, i + 1].map(|n| n as f64 * before.passage_seconds),
                summary: summary(&bands)?,
            })
        })
        .collect()
}
