//! The player's controls. Knobs turn both amps alike; a contact may be proposed otherwise than
//! found.

use super::editing::Editing;
use super::history::Version;
use super::theme::{heading, ink};
use crate::live::AdjustableKind;
use egui::{Key, Ui};

/// Shows the controls in one line, or more where they need it.
pub fn show(ui: &mut Ui, editing: &mut Editing) {
    let amp = editing.amp;
    ui.horizontal_wrapped(|ui| {
        heading(ui, "CONTROLS");
        for (adjustable, one) in amp.adjustables().iter().enumerate() {
            match one.kind {
                AdjustableKind::Turn => pot(ui, editing, adjustable),
                AdjustableKind::Switch => switch(ui, editing, adjustable),
                _ => {}
            }
        }
    });
}

fn pot(ui: &mut Ui, editing: &mut Editing, adjustable: usize) {
    let one = &editing.amp.adjustables()[adjustable];
    let mut value = editing.value(adjustable, Version::Proposed);
    ui.horizontal(|ui| {
        ui.spacing_mut().slider_width = 84.0;
        ui.visuals_mut().widgets.inactive.bg_fill = ink(ui.visuals()).line;
        let label = ui.label(&one.id);
        let slider = egui::Slider::new(&mut value, 0.0..=1.0)
            .max_decimals(2)
            .smart_aim(false);
        let response = ui
            .add(slider)
            .labelled_by(label.id)
            .on_hover_text("0 to 1. Drag, use the arrow keys, or click the figure and type.");
        if response.drag_started() {
            editing.begin(adjustable, Version::Proposed);
        }
        if editing.dragging(adjustable, Version::Proposed).is_some() {
            if ui.input(|i| i.key_pressed(Key::Escape)) {
                editing.cancel();
            } else {
                if response.changed() {
                    editing.drag(value);
                }
                if response.drag_stopped() || !ui.input(|i| i.pointer.any_down()) {
                    editing.end();
                }
            }
        } else if response.changed() {
            editing.nudge(adjustable, Version::Proposed, value);
        }
        if response.double_clicked() {
            editing.set(adjustable, Version::Proposed, one.filed);
        }
    });
}

fn switch(ui: &mut Ui, editing: &mut Editing, adjustable: usize) {
    let one = &editing.amp.adjustables()[adjustable];
    let mut closed = editing.value(adjustable, Version::Proposed) > 0.5;
    let word = one.text(editing.value(adjustable, Version::Proposed));
    let found = if editing.differs(adjustable) {
        format!(
            ", as found {}",
            one.text(editing.value(adjustable, Version::AsFound))
        )
    } else {
        String::new()
    };
    if ui
        .checkbox(&mut closed, format!("{} ({word}{found})", one.id))
        .on_hover_text("Ticked: the contact is closed.")
        .changed()
    {
        editing.set(adjustable, Version::Proposed, f64::from(u8::from(closed)));
    }
}
