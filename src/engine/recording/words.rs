//! The sentences about a recording.

use super::response::{LEAST_COHERENCE, MOST_SECONDS, SEARCH_SECONDS, Target};
use crate::text::digits::{fixed, hertz, significant};

/// A drift below this is taken out but not told, parts per million: an amp's own changes from loud to
/// quiet look the same (own choice; cheap clocks differ by tens).
const TOLD_PPM: f64 = 2.0;

pub fn hardly_played(name: &str) -> String {
    format!(
        "{name}: there are less than two seconds of playing in it, the rest is pauses; record at least \
         4 s of playing, better 20 s."
    )
}

pub fn hardly_together(recording: &str, dry: &str) -> String {
    format!(
        "{recording} and {dry} have less than two seconds of playing in common; export both from the \
         same start. They are looked for up to {SEARCH_SECONDS} s apart."
    )
}

pub fn unrelated(recording: &str, dry: &str, share: f64) -> String {
    format!(
        "{recording} does not follow from {dry}: between 100 Hz and 4 kHz only {} % of the frequencies \
         are coherent (25 % are needed). Is it another take, another part or a doubled one, do the \
         files begin more than {SEARCH_SECONDS} s apart, or is there a chorus, a delay or much reverb on \
         it? Export the dry track of this very recording, both from the same start, without effects.",
        fixed(100.0 * share, 0)
    )
}

pub fn level_dependence(gain_db: f64, shape_db: f64, apart_db: f64, changed: bool) -> String {
    let apart = fixed(apart_db, 0);
    if !changed {
        return format!(
            "Loud and quiet passages ({apart} dB apart) show the same response within half a decibel: the \
             amp was played clean."
        );
    }
    let gain = match gain_db {
        g if g < -0.5 => format!("{} dB less gain", fixed(-g, 1)),
        g if g > 0.5 => format!("{} dB more gain", fixed(g, 1)),
        _ => "the same gain".into(),
    };
    format!(
        "A driven amp is not linear: in the loud third of the playing, {apart} dB above the quiet third, \
         it has {gain} and its response differs by {} dB r.m.s. over the frequencies.",
        fixed(shape_db, 1)
    )
}

/// Adds what the owner should know of a measurement with a dry track. `whole`: lengths of recording
/// and dry track, s. `loud_too`: the response depends on level, but quiet passages do not suffice.
pub fn note_with_dry(target: &mut Target, whole: [f64; 2], loud_too: bool) {
    let mut notes = Vec::new();
    if let (Some(delay), Some(inverted)) = (target.delay_seconds, target.inverted) {
        let side = if delay < 0.0 { "earlier" } else { "later" };
        let way = match inverted {
            true => "it is upside down (polarity flipped)",
            false => "it is the same way up",
        };
        let milliseconds = fixed(1e3 * delay.abs(), if delay.abs() < 0.1 { 1 } else { 0 });
        let place = match milliseconds.as_str() {
            "0.0" => "in time with".to_string(),
            _ => format!("{milliseconds} ms {side} than"),
        };
        notes.push(format!(
            "{} is {place} the dry track, and {way}; neither changes the curve.",
            target.name
        ));
    }
    let drift = target.drift_ppm.unwrap_or(0.0);
    if drift.abs() >= TOLD_PPM {
        notes.push(format!(
            "The two files' clocks differ by {} parts per million, as those of two recorders do; this \
             was taken out.",
            significant(drift.abs(), 2)
        ));
    }
    let [start, end] = target.span_seconds;
    if whole[1] > end - start + 0.5 {
        notes.push(format!(
            "Of {} s, the {MOST_SECONDS} s with the most playing were used: from {} s to {} s of the dry \
             track.",
            fixed(whole[1], 0),
            fixed(start, 1),
            fixed(end, 1)
        ));
    }
    if (whole[0] - whole[1]).abs() > 0.1 * whole[1] {
        notes.push(format!(
            "The recording lasts {} s and the dry track {} s; what they have in common was used.",
            fixed(whole[0], 1),
            fixed(whole[1], 1)
        ));
    }
    if let Some(dependence) = &target.level_dependence {
        notes.push(dependence.sentence.clone());
    } else {
        notes.push(
            "Loud and quiet passages could not be told apart; whether the amp was driven is not known."
                .into(),
        );
    }
    if let Some(quiet) = &target.quiet {
        notes.push(format!(
            "The curve is that of the quiet passages: {} % of the playing, below {} dBFS on the dry \
             track, where the amp is most nearly linear.",
            fixed(100.0 * quiet.share, 0),
            fixed(quiet.below_dbfs, 0)
        ));
    } else if loud_too {
        notes.push(
            "The quiet passages alone are too noisy; the curve is that of the whole playing and includes \
             what driving the amp did to it."
                .into(),
        );
    }
    notes.extend(greyed(target));
    target.notes.extend(notes);
}

/// Which frequencies have no weight; none when all have.
fn greyed(target: &Target) -> Option<String> {
    let count = target.trusted.len() - target.trusted_count();
    if count == 0 {
        return None;
    }
    let first = target.trusted.iter().position(|t| *t)?;
    let last = target.trusted.iter().rposition(|t| *t)?;
    let inside = target.trusted[first..=last].iter().filter(|t| !**t).count();
    let holes = match inside {
        0 => String::new(),
        n => format!(", {n} of them within"),
    };
    let why = match target.coherence {
        Some(_) => format!("coherence below {LEAST_COHERENCE}, or hardly played"),
        None => "hardly played, or no louder than the pauses".into(),
    };
    Some(format!(
        "The curve holds from {} to {}; {count} of {} frequencies are greyed{holes}: {why}.",
        hertz(target.hz[first]),
        hertz(target.hz[last]),
        target.trusted.len()
    ))
}

pub fn steady_noise(recording: &str) -> String {
    format!(
        "{recording} is noise without notes; record the amp while a guitar is played through it."
    )
}

pub fn few_notes(recording: &str, bands: usize, needed: usize) -> String {
    format!(
        "{recording} sounds in only {bands} of the ear's bands between 100 Hz and 4 kHz ({needed} are \
         needed): a test tone or a single note shows no response. Play low notes, high notes and chords."
    )
}

/// What the method without a dry track is worth.
pub fn weaker(phrase: &str, playing_db: f64) -> Vec<String> {
    vec![
        format!(
            "Without a dry track this is the weaker method: the recording's long-term spectrum against that \
             of {phrase}, smoothed as the ear does. What was played, and on which guitar, is taken for the \
             amp; {} dB of doubt are added at every frequency for it. It cannot tell whether this is a \
             guitar amp at all.",
            fixed(playing_db, 0)
        ),
        "Record the dry guitar track too (a splitter or a direct box before the amp), and the amp's own \
         response is measured instead."
            .into(),
    ]
}

/// Adds what the owner should know of a spectrum alone. `whole`: the recording's length, s.
pub fn note_without_dry(target: &mut Target, whole: f64) {
    let [start, end] = target.span_seconds;
    let mut notes = Vec::new();
    if whole > end - start + 0.5 {
        notes.push(format!(
            "Of {} s, the {MOST_SECONDS} s with the most playing were used: from {} s to {} s.",
            fixed(whole, 0),
            fixed(start, 1),
            fixed(end, 1)
        ));
    }
    notes.extend(greyed(target));
    target.notes.extend(notes);
}
