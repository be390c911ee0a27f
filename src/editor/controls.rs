//! The player's controls. Knobs turn both amps alike; a contact may be proposed otherwise than
//! found.

use super::hands::Hands;
use super::history::Side;
use super::look::{heading, ink};
use crate::live::SlotKind;
use egui::{Key, Ui};

/// Shows the controls in one line, or more where they need it.
pub fn show(ui: &mut Ui, hands: &mut Hands) {
    let amp = hands.amp;
    ui.horizontal_wrapped(|ui| {
        heading(ui, "CONTROLS");
        for (slot, one) in amp.slots().iter().enumerate() {
            match one.kind {
                SlotKind::Turn => pot(ui, hands, slot),
                SlotKind::Switch => switch(ui, hands, slot),
                _ => {}
            }
        }
    });
}

fn pot(ui: &mut Ui, hands: &mut Hands, slot: usize) {
    let one = &hands.amp.slots()[slot];
    let mut value = hands.value(slot, Side::Proposed);
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
            hands.begin(slot, Side::Proposed);
        }
        if hands.dragging(slot, Side::Proposed).is_some() {
            if ui.input(|i| i.key_pressed(Key::Escape)) {
                hands.cancel();
            } else {
                if response.changed() {
                    hands.drag(value);
                }
                if response.drag_stopped() || !ui.input(|i| i.pointer.any_down()) {
                    hands.end();
                }
            }
        } else if response.changed() {
            hands.nudge(slot, Side::Proposed, value);
        }
        if response.double_clicked() {
            hands.set(slot, Side::Proposed, one.filed);
        }
    });
}

fn switch(ui: &mut Ui, hands: &mut Hands, slot: usize) {
    let one = &hands.amp.slots()[slot];
    let mut closed = hands.value(slot, Side::Proposed) > 0.5;
    let word = one.text(hands.value(slot, Side::Proposed));
    let found = if hands.differs(slot) {
        format!(", as found {}", one.text(hands.value(slot, Side::AsFound)))
    } else {
        String::new()
    };
    if ui
        .checkbox(&mut closed, format!("{} ({word}{found})", one.id))
        .on_hover_text("Ticked: the contact is closed.")
        .changed()
    {
        hands.set(slot, Side::Proposed, f64::from(u8::from(closed)));
    }
}
