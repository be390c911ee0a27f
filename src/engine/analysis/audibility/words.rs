//! The verdict on two sounds as a clause.

use super::report::{Audibility, CLEAR_BANDS, HEARD_DB, Heard, NOT_HEARD_DB, Summary};
use crate::text::digits::{fixed, hertz, signed_db};

/// Less than this is no difference, dB: it would be shown as 0.0.
const NOTHING_DB: f64 = 0.05;

/// The same with its words.
pub fn with_words(mut audibility: Audibility) -> Audibility {
    audibility.in_words = in_words(&audibility);
    audibility
}

fn in_words(audibility: &Audibility) -> String {
    let verdict = audibility.verdict.in_words();
    let (summary, place) = match &audibility.passage {
        None => (&audibility.summary, String::new()),
        Some(passage) => {
            let [from, to] = passage.seconds.map(|s| fixed(s, 0));
            let place = format!(" between {from} s and {to} s of the playing");
            (&passage.summary, place)
        }
    };
    match audibility.verdict {
        Heard::NotAudible if summary.largest_db.abs() < NOTHING_DB => {
            format!("{verdict}: no difference in any band")
        }
        Heard::NotAudible => format!("{verdict}: {} at most", most(summary)),
        _ if summary.bands_beyond >= CLEAR_BANDS => format!(
            "{verdict}{place}: {} bands beyond 1 dB, most {}",
            summary.bands_beyond,
            most(summary)
        ),
        _ => format!("{verdict}{place}: {} at most", most(summary)),
    }
}

/// "−2.4 dB at 3.1 kHz".
fn most(summary: &Summary) -> String {
    let hz = hertz(summary.largest_hz);
    format!("{} at {hz}", level(summary.largest_db))
}

/// "−2.4 dB", with a second digit where one would hide on which side of a threshold it lies.
pub fn level(db: f64) -> String {
    let sided = |threshold: f64| (db.abs() < threshold) == (shown(db) < threshold);
    let words = match [NOT_HEARD_DB, HEARD_DB].into_iter().all(sided) {
        true => signed_db(db),
        false => {
            let words = fixed(db, 2);
            if db > 0.0 { format!("+{words}") } else { words }
        }
    };
    format!("{words} dB")
}

/// A level as one digit after the point shows it.
fn shown(db: f64) -> f64 {
    (10.0 * db.abs()).round() / 10.0
}
