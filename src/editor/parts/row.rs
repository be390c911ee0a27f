//! A row's columns and its fields: value or type of either version, and whether the part is fitted.

use super::list_state::ListState;
use super::rows::Row;
use super::value::{Value, Where};
use crate::circuit::PartType;
use crate::editor::editing::Editing;
use crate::editor::history::Version;
use crate::editor::theme::ink;
use crate::live::AdjustableKind;
use egui::{Align2, FontId, Rect, Ui, pos2, vec2};

/// Height of a row, points.
pub const ROW: f32 = 22.0;

/// Left edges of the columns in a row of some width.
#[derive(Clone, Copy)]
pub struct Columns {
    /// Designator.
    pub designator: f32,
    /// Role.
    pub role: f32,
    /// Value as found.
    pub as_found: f32,
    /// Value as proposed.
    pub proposed: f32,
    /// Whether it is fitted.
    pub fitted: f32,
}

impl Columns {
    /// The columns of a row so wide.
    pub fn of(width: f32) -> Columns {
        let fitted = width - 40.0;
        let proposed = fitted - 80.0;
        let as_found = proposed - 82.0;
        Columns {
            designator: 20.0,
            role: 70.0,
            as_found,
            proposed,
            fitted,
        }
    }
}

/// The fields of a row. Which adjustable was taken in hand.
pub fn cells(
    ui: &mut Ui,
    editing: &mut Editing,
    row: &Row,
    both: &[String; 2],
    changed: bool,
    rect: Rect,
    state: &mut ListState,
) -> Option<usize> {
    let amp = editing.amp;
    let columns = Columns::of(rect.width());
    let cell = |x: f32, width: f32| {
        let at = pos2(rect.left() + x, rect.top() + 1.0);
        Rect::from_min_size(at, vec2(width, rect.height() - 2.0))
    };
    let name = format!("{} {}", row.designator, row.role);
    let mut taken = None;
    if let Some(adjustable) = row.value {
        let fields = [
            (
                Version::AsFound,
                cell(columns.as_found, 66.0),
                &both[0],
                "as found",
            ),
            (
                Version::Proposed,
                cell(columns.proposed, 78.0),
                &both[1],
                "proposed",
            ),
        ];
        for (version, rect, text, word) in fields {
            let name = format!("{}, {word}", name.trim());
            let used = match &amp.adjustables()[adjustable].kind {
                AdjustableKind::Choice { types } => {
                    choice(ui, rect, editing, adjustable, version, types, text, &name)
                }
                _ => {
                    let value = Value {
                        adjustable,
                        version,
                        text,
                        name: &name,
                        changed,
                        stands: Where::List,
                    };
                    let response = value.show(ui, rect, editing, &mut state.values);
                    response.clicked() || response.drag_started()
                }
            };
            if used {
                taken = Some(row.adjustable());
            }
        }
    } else {
        let font = FontId::monospace(13.0);
        let ink = ink(ui.visuals());
        for (x, text) in [
            (columns.as_found + 61.0, &both[0]),
            (columns.proposed + 73.0, &both[1]),
        ] {
            let at = pos2(rect.left() + x, rect.center().y);
            ui.painter_at(rect)
                .text(at, Align2::RIGHT_CENTER, text, font.clone(), ink.ink);
        }
    }
    if let Some(adjustable) = row.fitted {
        let mut fitted = editing.value(adjustable, Version::Proposed) > 0.5;
        let tick = egui::Checkbox::without_text(&mut fitted);
        let response = ui
            .put(cell(columns.fitted + 12.0, 20.0), tick)
            .accessible_name(format!("{}, fitted", name.trim()))
            .on_hover_text("Whether the part is in the amp as proposed.");
        if response.changed() {
            editing.set(adjustable, Version::Proposed, f64::from(u8::from(fitted)));
            taken = Some(row.adjustable());
        }
    }
    taken
}

/// A type that can be chosen. Whether it was.
#[expect(
    clippy::too_many_arguments,
    reason = "one caller, each is another thing"
)]
fn choice(
    ui: &mut Ui,
    rect: Rect,
    editing: &mut Editing,
    adjustable: usize,
    version: Version,
    types: &[PartType],
    text: &str,
    name: &str,
) -> bool {
    let now = editing.value(adjustable, version);
    let mut taken = None;
    let builder = egui::UiBuilder::new()
        .max_rect(rect)
        .id_salt(("type", adjustable, version));
    ui.scope_builder(builder, |ui| {
        ui.spacing_mut().button_padding = vec2(3.0, 0.0);
        ui.spacing_mut().interact_size.y = rect.height();
        ui.spacing_mut().icon_width = 10.0;
        let response = egui::ComboBox::from_id_salt(("type", adjustable, version))
            .selected_text(egui::RichText::new(text).monospace().size(12.0))
            .width(rect.width())
            .truncate()
            .show_ui(ui, |ui| {
                for (index, one) in types.iter().enumerate() {
                    let chosen = (now - index as f64).abs() < 0.5;
                    if ui.selectable_label(chosen, one.name()).clicked() {
                        taken = Some(index);
                    }
                }
            })
            .response;
        response.accessible_name(name);
    });
    if let Some(index) = taken {
        editing.set(adjustable, version, index as f64);
    }
    taken.is_some()
}
