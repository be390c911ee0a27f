//! A reading beside its limit: how near it comes, and the sentence that says so.

use super::limited::{LimitSource, Limited};
use super::wording::Wording;
use crate::text::digits::{percent, printed, significant};
use crate::text::list::listed;
use serde::Serialize;

/// From this share of a limit on a reading is worth a word, per cent.
pub const NEAR_PERCENT: f64 = 90.0;

/// When a reading is taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum When {
    /// Without signal.
    AtRest,
    /// Without signal, mains 10 % high.
    HighMains,
    /// Before the valves draw current, or with them pulled, mains 10 % high.
    Cold,
    /// While the guitar plays: the mean over the heaviest second, or the highest moment.
    Phrase,
    /// On a steady sine at full output.
    Sine,
    /// On a steady sine with the amp driven hard.
    Hard,
}

impl When {
    /// The words for a sentence.
    pub fn in_words(self) -> &'static str {
        match self {
            When::AtRest => "at rest",
            When::HighMains => "at rest with the mains 10 % high",
            When::Cold => "with the mains 10 % high and the valves cold",
            When::Phrase => "while the guitar plays",
            When::Sine => "on a steady tone at full output",
            When::Hard => "when the amp is driven hard",
        }
    }
}

/// How a reading stands to its limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// Over it.
    Over,
    /// Over what is allowed for good, within what is allowed for moments.
    Brief,
    /// Over 90 % of it.
    Near,
    /// Within it.
    Within,
}

/// A reading that is over its limit, or near it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// The part or valve section.
    pub designator: String,
    /// What is limited, such as "anode dissipation".
    pub what: Limited,
    /// When it was read.
    pub when: When,
    /// The reading.
    pub value: f64,
    /// The limit.
    pub limit: f64,
    /// Unit of both.
    pub unit: &'static str,
    /// Share of the limit, per cent; where the limit is a least value, the limit's share of the
    /// reading.
    pub percent: f64,
    /// How it stands.
    pub standing: Standing,
    /// Rating system of the limit, such as "design-centre"; of a part, where its rating is from.
    pub system: LimitSource,
    /// Where the limit is printed, and how well that was seen.
    pub source: String,
    /// The sentence without the designator: put it and a colon before it.
    pub in_words: Wording,
}

/// What a reading is held against.
#[derive(Clone, Debug)]
pub struct Limit {
    /// The number.
    pub value: f64,
    /// The words between "over" and the number: "the design-centre limit of ".
    pub name: Wording,
    /// Rating system, or where the rating is from.
    pub system: LimitSource,
    /// Where it is printed.
    pub source: String,
}

/// The words between "over" and the number that a part is rated for.
pub fn own_rating() -> Wording {
    Wording {
        one: "its rating of ".into(),
        several: "their rating of ".into(),
    }
}

/// Holds a reading against its limit; none where it is comfortably within, or is no number.
pub fn judge(
    designator: &str,
    what: Limited,
    when: When,
    value: f64,
    unit: &'static str,
    limit: &Limit,
) -> Option<Finding> {
    let share = 100.0 * value / limit.value;
    if !share.is_finite() || share <= NEAR_PERCENT {
        return None;
    }
    let over = value > limit.value;
    let [shown, limit_shown] = distinct(value, limit.value);
    let moment = match what.depends_on_moment() {
        true => format!(" {}", when.in_words()),
        false => String::new(),
    };
    let in_words = |what: &str, name: &str| {
        let start = format!("the {what} is {shown} {unit}{moment}");
        let limit = format!("{limit_shown} {unit}");
        match over {
            true => format!("{start}, over {name}{limit} ({}).", percent(share)),
            false => format!("{start}, {} of {name}{limit}.", percent(share)),
        }
    };
    let name = &limit.name;
    let in_words = Wording {
        one: in_words(what.in_words(), &name.one),
        several: in_words(
            what.in_words_of_each(),
            if over { &name.several } else { &name.one },
        ),
    };
    Some(Finding {
        designator: designator.into(),
        what,
        when,
        value,
        limit: limit.value,
        unit,
        percent: share,
        standing: if over { Standing::Over } else { Standing::Near },
        system: limit.system,
        source: limit.source.clone(),
        in_words,
    })
}

/// A reading and its limit in words, with as many digits as tell them apart.
pub fn distinct(value: f64, limit: f64) -> [String; 2] {
    let differs = |d: &usize| significant(value, *d) != significant(limit, *d);
    let digits = (2..6)
        .find(|d| value == limit || differs(d))
        .unwrap_or(6)
        .max(if value.abs() >= 10.0 { 3 } else { 2 });
    [significant(value, digits), printed(limit)]
}

/// The worst of one kind of reading: the one with the highest share, over before near.
pub fn worst(findings: impl IntoIterator<Item = Option<Finding>>) -> Option<Finding> {
    findings
        .into_iter()
        .flatten()
        .max_by(|a, b| a.percent.total_cmp(&b.percent))
}

/// A sentence a finding, parts of one sentence together: "V3 and V4: the anode dissipation is …".
pub fn sentences(findings: &[Finding]) -> Vec<String> {
    together(
        findings
            .iter()
            .map(|f| (f.designator.as_str(), f.in_words.clone())),
    )
}

/// Sentences with the names of all that they hold for before them.
pub fn together<'a>(each: impl Iterator<Item = (&'a str, Wording)>) -> Vec<String> {
    let mut groups: Vec<(Vec<&str>, Wording)> = Vec::new();
    for (name, words) in each {
        match groups.iter_mut().find(|(_, w)| *w == words) {
            Some((names, _)) => names.push(name),
            None => groups.push((vec![name], words)),
        }
    }
    for (names, _) in &mut groups {
        names.sort_by_key(|name| natural(name));
    }
    let sentence = |(names, words): (Vec<&str>, Wording)| {
        let words = match names.len() {
            1 => words.one,
            _ => words.several,
        };
        format!("{}: {words}", listed(&names))
    };
    groups.into_iter().map(sentence).collect()
}

/// Sorts "V2" before "V10".
fn natural(name: &str) -> (String, u64, String) {
    let digits = name
        .find(|c: char| c.is_ascii_digit())
        .unwrap_or(name.len());
    let (letters, rest) = name.split_at(digits);
    let end = rest
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(rest.len());
    let (number, tail) = rest.split_at(end);
    (letters.into(), number.parse().unwrap_or(0), tail.into())
}
