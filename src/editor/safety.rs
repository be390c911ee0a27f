//! The line at the bottom that is always there, and what stands behind it.

use super::theme::{heading, toggle};
use crate::advice::safety::{CAUTIONS, IN_SHORT, NUMBERS};
use egui::Ui;

/// Shows the line; `open` is whether the text behind it is shown.
pub fn line(ui: &mut Ui, open: &mut bool) {
    ui.horizontal(|ui| {
        ui.add(egui::Label::new(egui::RichText::new(IN_SHORT).strong()).truncate());
        toggle(ui, open, "What these numbers are, and how to stay alive");
    });
}

/// Shows the text over the window.
pub fn text(ui: &Ui, open: &mut bool) {
    let most = ui.ctx().content_rect().height() - 120.0;
    egui::Window::new("What these numbers are, and how to stay alive")
        .open(open)
        .collapsible(false)
        .resizable(false)
        .default_width(560.0)
        .anchor(egui::Align2::CENTER_CENTER, egui::Vec2::ZERO)
        .show(ui.ctx(), |ui| {
            egui::ScrollArea::vertical()
                .max_height(most)
                .show(ui, |ui| {
                    for (title, lines) in [
                        ("THE NUMBERS", &NUMBERS[..]),
                        ("BEFORE YOU OPEN THE AMP", &CAUTIONS[..]),
                    ] {
                        heading(ui, title);
                        for line in lines {
                            ui.label(*line);
                        }
                        ui.add_space(6.0);
                    }
                });
        });
}
