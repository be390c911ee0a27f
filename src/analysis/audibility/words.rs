//! The verdict on two sounds as a clause.

use super::{Audibility, CLEAR_BANDS, Heard, Summary};
use crate::analysis::digits::{fixed, hertz, signed_db};

/// With its words.
pub fn told(mut audibility: Audibility) -> Audibility {
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
        Heard::NotAudible => format!("{verdict}: {} at most{place}", most(summary)),
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
    format!(
        "{} dB at {}",
        signed_db(summary.largest_db),
        hertz(summary.largest_hz)
    )
}
