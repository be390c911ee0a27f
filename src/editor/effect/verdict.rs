//! The verdict on the whole proposal as it is played: what is over a limit first, then whether each
//! change can be heard and is worth it, then everything else.

use crate::advice::changes::{ChangeRow, ChangesReport, Effect};
use crate::advice::verdict::Verdict;
use crate::analysis::headroom::tables::{clean_table, recovery_table, volume_table};
use crate::editor::theme::{heading, ink};
use crate::editor::widgets::{framed, sentence};
use crate::text::digits::fixed;
use egui::{RichText, Ui};

/// Shows it.
pub fn show(ui: &mut Ui, verdict: &Verdict) {
    over(ui, &verdict.over_rated);
    each_change(ui, &verdict.each_change);
    ui.add_space(4.0);
    for line in verdict.sentences.iter().chain(&verdict.warnings) {
        sentence(ui, line);
    }
    ui.add_space(4.0);
    more(ui, verdict);
}

/// What is looked up rather than read: folded away until it is wanted. The tables are those of the
/// command line.
fn more(ui: &mut Ui, verdict: &Verdict) {
    let ratings = &verdict.ratings.proposed;
    let charged = ratings.reservoirs.iter();
    let charged: Vec<String> = charged
        .map(|r| format!("{}: {}", r.designator, r.in_words))
        .collect();
    let loose: Vec<String> = ratings.loose.iter().map(|l| l.in_words.clone()).collect();
    for (title, sentences) in [
        ("The idle of the output valves", &verdict.bias_in_words),
        ("What stays charged, as proposed", &charged),
        ("If a joint in the bias path fails, as proposed", &loose),
    ] {
        if !sentences.is_empty() {
            ui.collapsing(title, |ui| {
                for line in sentences {
                    sentence(ui, line);
                }
            });
        }
    }
    let clean = verdict.clean.map(|clean| clean);
    table(ui, "Clean headroom and harmonics", || {
        clean_table(&clean).to_string()
    });
    if let Some(volume) = &verdict.volume {
        table(ui, "As the volume control is turned", || {
            volume_table(volume).to_string()
        });
    }
    if let Some(recovery) = &verdict.recovery {
        table(ui, "After a burst", || recovery_table(recovery).to_string());
    }
    table(
        ui,
        "Every valve and part beside its limit, as proposed",
        || ratings.text(),
    );
}

/// A table in letters of one width, made only when it is unfolded.
fn table(ui: &mut Ui, title: &str, text: impl FnOnce() -> String) {
    ui.collapsing(title, |ui| {
        egui::ScrollArea::horizontal()
            .id_salt(title)
            .show(ui, |ui| {
                let text = RichText::new(text()).monospace();
                ui.add(egui::Label::new(text).extend());
            });
    });
}

/// What is over a limit, framed so that it is told by shape too.
fn over(ui: &mut Ui, sentences: &[String]) {
    if sentences.is_empty() {
        return;
    }
    framed(ui, |ui| {
        ui.set_width(ui.available_width());
        ui.strong("Over a limit");
        for line in sentences {
            sentence(ui, line);
        }
    });
    ui.add_space(4.0);
}

/// Columns of the table.
const TITLES: [&str; 6] = [
    "change",
    "heard",
    "most",
    "headroom",
    "idle",
    "cost, minutes",
];

fn each_change(ui: &mut Ui, report: &ChangesReport) {
    if report.rows.is_empty() {
        return;
    }
    let ink = ink(ui.visuals());
    if report.rows.len() > 1 {
        egui::Grid::new("each change")
            .num_columns(TITLES.len())
            .spacing(egui::vec2(14.0, 3.0))
            .show(ui, |ui| {
                for title in TITLES {
                    ui.label(RichText::new(title).size(12.0).color(ink.weak));
                }
                ui.end_row();
                for row in &report.rows {
                    let effect = row.alone.as_ref().or(row.beside_others.as_ref());
                    let effort = effort(row.cost, row.minutes, &report.currency);
                    line(ui, &row.name, effect, effort);
                }
                let effort = effort(report.cost, report.minutes, &report.currency);
                line(ui, "all together", Some(&report.together), effort);
            });
    }
    for row in &report.rows {
        sentence(ui, &in_words(row));
    }
    if report.rows.len() > 1 {
        sentence(ui, &report.together_in_words);
    }
    for interaction in &report.interactions {
        sentence(ui, &interaction.sentence);
    }
    heading(ui, "HOW IT IS RANKED").on_hover_text(report.rule);
}

fn in_words(row: &ChangeRow) -> String {
    format!("{}: {}", row.what, row.sentence)
}

fn line(ui: &mut Ui, name: &str, effect: Option<&Effect>, effort: String) {
    ui.strong(name);
    let cells = effect.map_or_else(Default::default, Effect::cells);
    for cell in cells {
        ui.label(cell);
    }
    ui.label(effort);
    ui.end_row();
}

/// "0.35 coins, 40 min".
fn effort(cost: Option<f64>, minutes: Option<f64>, currency: &str) -> String {
    let cost = cost.map(|cost| format!("{} {currency}", fixed(cost, 2)));
    let minutes = minutes.map(|minutes| format!("{} min", fixed(minutes, 0)));
    let both: Vec<String> = cost.into_iter().chain(minutes).collect();
    if both.is_empty() {
        return "–".into();
    }
    both.join(", ")
}
