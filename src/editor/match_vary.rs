//! Which parts may differ between the recorded amp and this one: a list to tick.

use super::look::toggle;
use super::work::Request;
use crate::analysis::matching::MOST_VARIED;
use crate::circuit::PartKind;
use crate::live::{LiveAmp, Slot, SlotKind};
use egui::Ui;

/// Whether a slot is something that a match can find: a value, or the position of a control.
fn can_vary(amp: &LiveAmp, slot: &Slot) -> bool {
    match slot.kind {
        SlotKind::Turn => true,
        SlotKind::Value { .. } => slot.parts.iter().all(|&id| {
            matches!(
                amp.circuit().part(id).kind,
                PartKind::Resistor { .. } | PartKind::Capacitor { .. } | PartKind::Inductor { .. }
            )
        }),
        _ => false,
    }
}

/// Shows the list; `names` are those that are ticked.
pub fn show(ui: &mut Ui, request: &Request, names: &mut Vec<String>) {
    let amp = &request.amp;
    let slots: Vec<(usize, &Slot)> = amp
        .slots()
        .iter()
        .enumerate()
        .filter(|(_, slot)| can_vary(amp, slot))
        .collect();
    names.retain(|name| slots.iter().any(|(_, slot)| slot.designator == *name));
    ui.horizontal_wrapped(|ui| {
        ui.label(match names.len() {
            0 => "None yet. Tick the parts that may differ between the recorded amp and this one; \
                  six are matched in two seconds."
                .to_owned(),
            1 => "One part may differ.".to_owned(),
            n => format!("{n} parts may differ."),
        });
        let changed: Vec<String> = slots
            .iter()
            .filter(|(index, slot)| {
                let [a, p] = [request.as_found[*index], request.proposed[*index]];
                slot.kind != SlotKind::Turn && !slot.same(a, p)
            })
            .map(|(_, slot)| slot.designator.clone())
            .collect();
        if ui
            .add_enabled(!changed.is_empty(), egui::Button::new("Those proposed"))
            .on_hover_text("Ticks the parts whose proposed value is not the one found.")
            .clicked()
        {
            *names = changed;
        }
        if ui
            .add_enabled(!names.is_empty(), egui::Button::new("Tick none"))
            .clicked()
        {
            names.clear();
        }
    });
    let mut stage = "";
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        for (_, slot) in slots {
            if slot.stage != stage {
                stage = &slot.stage;
                ui.label(stage);
            }
            let before = names.iter().position(|name| *name == slot.designator);
            let mut on = before.is_some();
            let room = on || names.len() < MOST_VARIED;
            let response = match room {
                true => toggle(ui, &mut on, &slot.designator),
                false => ui.add_enabled(false, egui::Button::new(&slot.designator)),
            };
            let about = match slot.role.as_str() {
                "" => slot.designator.clone(),
                role => format!("{}, {role}", slot.designator),
            };
            response.on_hover_text(about);
            match (on, before) {
                (true, None) => names.push(slot.designator.clone()),
                (false, Some(place)) => {
                    names.remove(place);
                }
                _ => {}
            }
        }
    });
}
