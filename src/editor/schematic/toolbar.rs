//! The line above the drawing: what is under the pointer, and how it is looked at.

use super::shown::Shown;
use super::state::{Look, SchematicState};
use crate::circuit::{NodeId, PartKind};
use crate::text::digits;
use egui::{Rect, Ui};

/// Shows the line; whether the amp is to be drawn afresh.
pub fn show(ui: &mut Ui, state: &mut SchematicState, area: Option<Rect>) -> bool {
    let mut afresh = false;
    ui.horizontal(|ui| {
        if let Some(shown) = &state.shown {
            ui.strong(shown.circuit().name());
        }
        if ui
            .button("Fit")
            .on_hover_text(
                "All of it, as large as it goes. Key 0, when the drawing has the keyboard.",
            )
            .clicked()
        {
            state.look = None;
            state.all = true;
        }
        for (name, factor, why) in [
            ("Zoom in", 1.4, "Key +. The wheel does the same."),
            ("Zoom out", 1.0 / 1.4, "Key −. The wheel does the same."),
        ] {
            let response = ui.button(name).on_hover_text(why);
            if response.clicked()
                && let (Some(area), Some(shown)) = (area, &state.shown)
            {
                let look = state
                    .look
                    .unwrap_or_else(|| Look::first(&shown.drawing.sheet, area));
                state.look = Some(look.zoomed(area, area.center(), factor));
            }
        }
        afresh = ui
            .button("Draw afresh")
            .on_hover_text(
                "A file that is read again keeps the places that it had. This finds new ones.",
            )
            .clicked();
        if let (Some(node), Some(shown)) = (state.wire, &state.shown) {
            ui.label(wire_in_words(shown, node));
        } else {
            ui.weak("Click a part to change it, a wire to measure there. Drag to move the sheet.");
        }
    });
    afresh
}

/// A wire by what meets there, with its direct volts.
pub fn wire_in_words(shown: &Shown, node: NodeId) -> String {
    let place = place_in_words(shown, node);
    let volts = shown.volts.as_ref().map(|[a, b]| {
        let i = node.0 as usize;
        let [found, proposed] = [a, b].map(|all| digits::volts(all[i]));
        if found == proposed {
            format!(": {found} V")
        } else {
            format!(": {found} V, proposed {proposed} V")
        }
    });
    place + &volts.unwrap_or_default()
}

/// What meets at a node, in words: "V1a's anode, R103, C102".
pub fn place_in_words(shown: &Shown, node: NodeId) -> String {
    let mut names = Vec::new();
    for part in shown.circuit().parts() {
        let name = &part.designator;
        match part.kind {
            PartKind::Triode {
                anode,
                grid,
                cathode,
                ..
            } => {
                for (at, what) in [(anode, "anode"), (grid, "grid"), (cathode, "cathode")] {
                    if at == node {
                        names.insert(0, format!("{name}'s {what}"));
                    }
                }
            }
            PartKind::Pentode {
                anode,
                screen,
                grid,
                cathode,
                ..
            } => {
                for (at, what) in [
                    (anode, "anode"),
                    (screen, "screen"),
                    (grid, "grid"),
                    (cathode, "cathode"),
                ] {
                    if at == node {
                        names.insert(0, format!("{name}'s {what}"));
                    }
                }
            }
            _ => {
                let drawn = shown.circuit().find_part(name);
                let placed = drawn.and_then(|part| shown.placed(part));
                if placed.is_some_and(|p| p.pins.iter().any(|pin| pin.node == node)) {
                    names.push(name.clone());
                }
            }
        }
    }
    names.dedup();
    names.truncate(5);
    names.join(", ")
}
