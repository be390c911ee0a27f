//! The ranked table of changes, what each does in words, and what they do together.

use crate::advice::changes::{ChangesReport, Effect};
use crate::text::table::{Edge, Table, fixed};
use std::fmt::Write;

/// The whole text.
pub fn changes_text(report: &ChangesReport) -> String {
    let mut text = String::new();
    for warning in &report.warnings {
        let _ = writeln!(text, "{warning}");
    }
    text += "What each change does, alone\n";
    if report.rows.is_empty() {
        return text + "  " + &report.together_in_words + "\n";
    }
    let _ = writeln!(text, "{}", table(report));
    for row in &report.rows {
        let _ = writeln!(text, "{}: {}", row.what, row.sentence);
    }
    if report.rows.len() > 1 {
        let _ = writeln!(text, "{}", report.together_in_words);
    }
    for interaction in &report.interactions {
        let _ = writeln!(text, "{}", interaction.sentence);
    }
    let _ = writeln!(text, "\n{}", report.rule);
    for note in &report.notes {
        let _ = writeln!(text, "{note}");
    }
    text
}

fn table(report: &ChangesReport) -> Table {
    let mut table = Table::new(&[
        ("Change", Edge::Left),
        ("Heard", Edge::Left),
        ("Most", Edge::Right),
        ("Headroom", Edge::Right),
        ("Idle, each output valve", Edge::Right),
        ("Cost", Edge::Right),
        ("Minutes", Edge::Right),
        ("Can be undone", Edge::Left),
    ]);
    for row in &report.rows {
        let effect = row.alone.as_ref().or(row.beside_others.as_ref());
        let cells = effect.map(Effect::cells).unwrap_or_default();
        let [heard, most, headroom, idle] = cells;
        table.row([
            row.name.clone(),
            heard,
            most,
            headroom,
            idle,
            number(row.cost, 2),
            number(row.minutes, 0),
            match row.reversible {
                true => "yes".to_string(),
                false => "leaves a hole".into(),
            },
        ]);
    }
    if report.rows.len() > 1 {
        let [heard, most, headroom, idle] = report.together.cells();
        table.row([
            "All together".to_string(),
            heard,
            most,
            headroom,
            idle,
            number(report.cost, 2),
            number(report.minutes, 0),
        ]);
    }
    table
}

fn number(value: Option<f64>, places: usize) -> String {
    value.map_or_else(|| "–".into(), |value| fixed(value, places))
}
