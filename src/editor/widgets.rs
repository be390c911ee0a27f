//! Small pieces that several panels are made of.

use super::theme::heading;
use super::view::{Over, View};
use egui::Ui;

/// A sentence of a list.
pub fn sentence(ui: &mut Ui, text: &str) {
    ui.horizontal_top(|ui| {
        ui.label("–");
        ui.add(egui::Label::new(text).wrap());
    });
}

/// The head of a panel, which stays when the rest is scrolled: its name and what closes it.
pub fn head(ui: &mut Ui, view: &mut View, name: &str, close: &str) {
    heading(ui, name);
    if ui.button(close).clicked() {
        view.over = Over::Nothing;
    }
}

/// A table that is scrolled sideways where the column is too narrow for it.
pub fn wide(ui: &mut Ui, name: &str, rows: impl FnOnce(&mut Ui)) {
    egui::ScrollArea::horizontal()
        .id_salt((name, "sideways"))
        .show(ui, |ui| {
            egui::Grid::new(name)
                .striped(true)
                .spacing(egui::vec2(12.0, 3.0))
                .show(ui, rows);
        });
}

/// Opacity of what is of before.
pub const DIMMED: f32 = 0.6;

/// What is said while slow work runs.
pub fn progress(known: bool, share: f64) -> String {
    let percent = crate::text::digits::fixed(100.0 * share, 0);
    if known {
        format!("of before; being recomputed, {percent} %")
    } else {
        format!("being computed, {percent} %")
    }
}
