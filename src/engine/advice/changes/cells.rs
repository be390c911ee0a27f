//! An effect as the cells of a table, alike on the command line and in the window.

use super::Effect;
use crate::analysis::audibility::level;
use crate::text::digits::{fixed, percent, signed_db};

impl Effect {
    /// Whether it is heard; the largest difference; the change of headroom; that of the idle
    /// dissipation of the output valve that it moves most.
    pub fn cells(&self) -> [String; 4] {
        let played = self.played.as_ref();
        let quiet = self.response.as_ref();
        let verdict = played.map(|a| match quiet.filter(|q| q.verdict > a.verdict) {
            Some(quiet) => format!("{} on quiet notes", quiet.verdict.in_words()),
            None => a.verdict.in_words().to_string(),
        });
        let summary = played.map(|a| a.passage.map_or(a.summary, |p| p.summary));
        let most = summary.map(|s| level(s.largest_db));
        let verdict = match self.depends_on_guitar {
            true => Some("depends on the guitar".into()),
            false => verdict,
        };
        let headroom = self.headroom.change_db;
        let idle = self.most_moved().map(|group| {
            let change = fixed(group.change(), 1);
            let sign = if group.change() >= 0.05 { "+" } else { "" };
            let share = group.after_percent.map(|p| match p > 100.0 {
                true => format!(", OVER at {}", percent(p)),
                false => format!(", {}", percent(p)),
            });
            format!("{sign}{change} W{}", share.unwrap_or_default())
        });
        [
            verdict.unwrap_or_default(),
            most.unwrap_or_default(),
            headroom.map_or_else(|| "–".into(), |db| format!("{} dB", signed_db(db))),
            idle.unwrap_or_else(|| "–".into()),
        ]
    }
}
