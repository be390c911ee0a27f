//! What is over a limit, told before everything else.

use crate::advice::ratings::{Finding, RatingsReport, sentences};
use crate::solve::solved::Both;
use crate::text::digits::significant;

/// A sentence for everything over a limit: as proposed first, then what is so as found only.
pub fn over_first(ratings: &Both<RatingsReport>) -> Vec<String> {
    let (found, proposed) = (&ratings.as_found, &ratings.proposed);
    let all = |report: &RatingsReport| -> Vec<Finding> {
        report.over.iter().chain(&report.brief).cloned().collect()
    };
    let (was, is) = (all(found), all(proposed));
    let same = |a: &Finding, b: &Finding| a.designator == b.designator && a.what == b.what;
    let after: Vec<Finding> = is
        .iter()
        .map(|finding| {
            let before = was.iter().find(|w| same(w, finding));
            let end = match before {
                Some(before) if shown(before) == shown(finding) => {
                    " As found it is the same.".into()
                }
                Some(before) => format!(" As found it is {}.", shown(before)),
                None => " As found it is within its limit.".to_string(),
            };
            Finding {
                in_words: finding.in_words.map(|words| format!("{words}{end}")),
                ..finding.clone()
            }
        })
        .collect();
    let gone: Vec<Finding> = was
        .iter()
        .filter(|finding| !is.iter().any(|i| same(i, finding)))
        .map(|finding| Finding {
            in_words: finding
                .in_words
                .map(|words| format!("as found {words} As proposed it is within its limit.")),
            ..finding.clone()
        })
        .collect();
    sentences(&after)
        .into_iter()
        .chain(sentences(&gone))
        .collect()
}

fn shown(finding: &Finding) -> String {
    format!("{} {}", significant(finding.value, 3), finding.unit)
}
