//! Which parts may differ between the recorded amp and this one: a list to tick.

use crate::circuit::PartKind;
use crate::editor::analyses::reports::Request;
use crate::editor::theme::toggle;
use crate::live::{Adjustable, AdjustableKind, LiveAmp};
use crate::recording::fit::MOST_VARIED;
use egui::Ui;

/// Whether an adjustable is something that a match can find: a value, or the position of a control.
fn can_vary(amp: &LiveAmp, adjustable: &Adjustable) -> bool {
    match adjustable.kind {
        AdjustableKind::Turn => true,
        AdjustableKind::Value { .. } => adjustable.parts.iter().all(|&id| {
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
    let adjustables: Vec<(usize, &Adjustable)> = amp
        .adjustables()
        .iter()
        .enumerate()
        .filter(|(_, adjustable)| can_vary(amp, adjustable))
        .collect();
    names.retain(|name| {
        adjustables
            .iter()
            .any(|(_, adjustable)| adjustable.designator == *name)
    });
    ui.horizontal_wrapped(|ui| {
        ui.label(match names.len() {
            0 => "None yet. Tick the parts that may differ between the recorded amp and this one; \
                  six are matched in two seconds."
                .to_owned(),
            1 => "One part may differ.".to_owned(),
            n => format!("{n} parts may differ."),
        });
        let changed: Vec<String> = adjustables
            .iter()
            .filter(|(index, adjustable)| {
                let [a, p] = [request.as_found[*index], request.proposed[*index]];
                adjustable.kind != AdjustableKind::Turn && !adjustable.same(a, p)
            })
            .map(|(_, adjustable)| adjustable.designator.clone())
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
        for (_, adjustable) in adjustables {
            if adjustable.stage != stage {
                stage = &adjustable.stage;
                ui.label(stage);
            }
            let before = names.iter().position(|name| *name == adjustable.designator);
            let mut on = before.is_some();
            let room = on || names.len() < MOST_VARIED;
            let response = match room {
                true => toggle(ui, &mut on, &adjustable.designator),
                false => ui.add_enabled(false, egui::Button::new(&adjustable.designator)),
            };
            let about = match adjustable.role.as_str() {
                "" => adjustable.designator.clone(),
                role => format!("{}, {role}", adjustable.designator),
            };
            response.on_hover_text(about);
            match (on, before) {
                (true, None) => names.push(adjustable.designator.clone()),
                (false, Some(place)) => {
                    names.remove(place);
                }
                _ => {}
            }
        }
    });
}
