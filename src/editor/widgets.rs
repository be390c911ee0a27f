//! Small pieces that several panels are made of.

use super::theme::{heading, ink};
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

/// What is scrolled as far as it is too high; it takes all the room there is.
pub fn scrolled<R>(ui: &mut Ui, name: &str, content: impl FnOnce(&mut Ui) -> R) -> R {
    let area = egui::ScrollArea::vertical().id_salt(name);
    area.auto_shrink([false, false]).show(ui, content).inner
}

/// What is framed, so that it is told by shape too.
pub fn framed(ui: &mut Ui, content: impl FnOnce(&mut Ui)) {
    let stroke = egui::Stroke::new(1.5, ink(ui.visuals()).ink);
    let frame = egui::Frame::NONE.stroke(stroke).inner_margin(4);
    frame.show(ui, content);
}

/// What is shown dimmed while it is out of date.
pub fn dimmed<R>(ui: &mut Ui, stale: bool, content: impl FnOnce(&mut Ui) -> R) -> R {
    let scope = ui.scope(|ui| {
        if stale {
            ui.multiply_opacity(DIMMED);
        }
        content(ui)
    });
    scope.inner
}

/// Opacity of what is out of date.
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
