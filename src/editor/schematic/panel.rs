//! The drawing in the window.

use super::paint::{Marks, paint};
use super::pointer::{adjustable_of, first, look, neighbour, part_of, touch, wire_at};
use super::shown::Shown;
use super::state::{Look, SchematicState};
use super::toolbar;
use crate::circuit::PartId;
use crate::drawing::sheet::Item;
use crate::editor::analyses::reports::{Quick, Request};
use crate::editor::editing::Editing;
use crate::editor::history::Version;
use crate::editor::parts::moves::drag;
use crate::editor::parts::rows::{Row, sentence, shown as value_shown};
use crate::editor::parts::value::{Value, Where};
use crate::editor::theme::ink;
use crate::editor::view::View;
use crate::live::{AdjustableKind, LiveAmp};
use egui::{Id, Key, Rect, Response, Role, Sense, Ui, Vec2, pos2, vec2};
use std::sync::Arc;

/// What the drawing shows.
pub struct SchematicContext<'a, 'e> {
    pub amp: &'a Arc<LiveAmp>,
    pub request: &'a Request,
    pub quick: Option<&'a Quick>,
    pub rows: &'a [Row],
    pub editing: &'a mut Editing<'e>,
    pub view: &'a mut View,
    /// Valves that clip right now.
    pub clips: Vec<PartId>,
}

/// Shows the drawing; gives the adjustable of the part under the pointer.
pub fn show(
    ui: &mut Ui,
    state: &mut SchematicState,
    context: &mut SchematicContext,
) -> Option<usize> {
    if !state.shown.as_ref().is_some_and(|s| s.is_of(context.amp)) {
        let former = state.shown.take();
        *state = SchematicState {
            shown: Some(Shown::new(context.amp, former.as_ref())),
            look: state.look.filter(|_| former.is_some()),
            visible: true,
            ..SchematicState::default()
        };
    }
    let known = ui.data(|data| data.get_temp::<Rect>(Id::unique("schematic area")));
    if toolbar::show(ui, state, known) {
        state.shown = Some(Shown::new(context.amp, None));
    }
    let (area, _) = ui.allocate_exact_size(ui.available_size(), Sense::hover());
    ui.data_mut(|data| data.insert_temp(Id::unique("schematic area"), area));
    let mut shown = state.shown.take()?;
    shown.follow(context.request, context.quick);
    let hovered = inside(ui, area, &shown, state, context);
    state.shown = Some(shown);
    hovered
}

fn inside(
    ui: &mut Ui,
    area: Rect,
    shown: &Shown,
    state: &mut SchematicState,
    context: &mut SchematicContext,
) -> Option<usize> {
    let amp = context.amp;
    let id = Id::unique("schematic");
    let response = ui.interact(area, id, Sense::click_and_drag());
    let title = format!("schematic of {}", amp.circuit().name());
    response.widget_info(|| egui::WidgetInfo::labeled(Role::Image, true, &title));
    if response.clicked() {
        response.request_focus();
    }
    let fit = if state.all {
        Look::fit(&shown.drawing.sheet, area)
    } else {
        Look::first(&shown.drawing.sheet, area)
    };
    let selected = context.view.selected.as_ref().and_then(|id| amp.find(id));
    let selected = selected.and_then(|adjustable| part_of(amp, adjustable));
    if selected != state.selected {
        state.selected = selected;
        if let (Some(part), Some(now)) = (selected.and_then(|p| shown.ground(p)), state.look) {
            state.look = Some(now.showing(area, part));
        }
    }
    look(ui, area, &response, state, fit);
    let now = state.look.unwrap_or(fit);
    arrows(ui, &response, shown, selected, context);

    let (part, touched) = parts(ui, area, now, shown, context);
    state.part = part;
    let pointer = response.hover_pos().filter(|_| part.is_none());
    state.wire = pointer.and_then(|at| wire_at(shown, area, now, at));
    if let (Some(node), true) = (state.wire, response.clicked()) {
        let name = shown.circuit().nodes()[node.0 as usize].clone();
        let same = context.view.node.as_ref() == Some(&name);
        context.view.node = (!same).then_some(name);
    } else if response.clicked() && !touched {
        context.view.selected = None;
    }
    let measured = context.view.node.as_ref();
    let marks = Marks {
        selected,
        part,
        wire: state.wire,
        measured: measured.and_then(|name| shown.circuit().find_node(name)),
        clips: &context.clips,
    };
    let ink = ink(ui.visuals());
    let painter = ui.painter_at(area);
    paint(&painter, area, shown, now, &marks, &ink);
    if response.has_focus() {
        let pen = egui::Stroke::new(1.5, ink.ink);
        painter.rect_stroke(area, 2.0, pen, egui::StrokeKind::Inside);
    }
    if let Some(part) = selected {
        field(ui, area, now, shown, part, state, context);
    }
    part.and_then(|part| adjustable_of(amp, part))
}

/// Every symbol as a thing to point at; the part under the pointer, and whether one was clicked.
fn parts(
    ui: &mut Ui,
    area: Rect,
    look: Look,
    shown: &Shown,
    context: &mut SchematicContext,
) -> (Option<PartId>, bool) {
    let (mut under, mut touched) = (None, false);
    for placed in &shown.drawing.sheet.placed {
        let Item::Part(part) = placed.item else {
            continue;
        };
        let body = touch(placed);
        let rect = Rect::from_min_max(
            look.screen(area, [body.min.x, body.min.y]),
            look.screen(area, [body.max.x, body.max.y]),
        );
        let rect = rect.intersect(area);
        if !rect.is_positive() {
            continue;
        }
        let adjustable = adjustable_of(context.amp, part);
        let designator = &shown.circuit().part(part).designator;
        let id = Id::unique(("drawn", designator));
        let drags = adjustable.is_some_and(|i| {
            matches!(
                context.amp.adjustables()[i].kind,
                AdjustableKind::Value { .. } | AdjustableKind::Turn
            )
        });
        let sense = if drags {
            Sense::click_and_drag()
        } else {
            Sense::click()
        };
        let response = ui.interact(rect, id, sense);
        let said = said(context, designator, adjustable);
        response.widget_info(|| egui::WidgetInfo::labeled(Role::Button, true, &said));
        if response.hovered() {
            under = Some(part);
        }
        if let Some(adjustable) = adjustable {
            touched |= used(ui, &response, adjustable, drags, context);
        }
        response.on_hover_text(said);
    }
    (under, touched)
}

/// A part in a sentence, as it is drawn.
fn said(context: &SchematicContext, designator: &str, adjustable: Option<usize>) -> String {
    let row = adjustable.and_then(|adjustable| {
        let mut rows = context.rows.iter();
        rows.find(|row| row.adjustables().any(|own| own == adjustable))
    });
    let Some(row) = row else {
        return format!("{designator}, drawn");
    };
    let editing = &context.editing;
    let changed = row.adjustables().any(|one| editing.differs(one));
    let said = sentence(
        context.amp,
        row,
        |one| editing.value(one, Version::AsFound),
        |one| editing.value(one, Version::Proposed),
        changed,
    );
    if row.designator == designator {
        format!("{said}, drawn")
    } else {
        // One half of a valve: it is changed as a whole.
        format!("{designator}: {said}, drawn")
    }
}

/// Click, double click and drag on a part; whether it was used.
fn used(
    ui: &Ui,
    response: &Response,
    adjustable: usize,
    drags: bool,
    context: &mut SchematicContext,
) -> bool {
    let id = context.amp.adjustables()[adjustable].id.clone();
    let editing = &mut *context.editing;
    if response.double_clicked() {
        let as_found = editing.value(adjustable, Version::AsFound);
        editing.set(adjustable, Version::Proposed, as_found);
    }
    if drags {
        drag(ui, response, editing, adjustable, Version::Proposed);
    }
    let used = response.clicked() || response.drag_started();
    if used {
        context.view.selected = Some(id);
    }
    used
}

/// Arrow keys go from part to part; Escape lets go.
fn arrows(
    ui: &Ui,
    response: &Response,
    shown: &Shown,
    selected: Option<PartId>,
    context: &mut SchematicContext,
) {
    if !response.has_focus() {
        return;
    }
    let filter = egui::EventFilter {
        horizontal_arrows: true,
        vertical_arrows: true,
        escape: true,
        ..egui::EventFilter::default()
    };
    ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
    for (key, way) in [
        (Key::ArrowRight, Vec2::RIGHT),
        (Key::ArrowLeft, Vec2::LEFT),
        (Key::ArrowUp, Vec2::UP),
        (Key::ArrowDown, Vec2::DOWN),
    ] {
        if !ui.input(|i| i.key_pressed(key)) {
            continue;
        }
        let next = match selected {
            Some(part) => neighbour(shown, part, way),
            None => first(shown),
        };
        let adjustable = next.and_then(|part| adjustable_of(context.amp, part));
        if let Some(adjustable) = adjustable {
            context.view.selected = Some(context.amp.adjustables()[adjustable].id.clone());
        }
    }
    if ui.input(|i| i.key_pressed(Key::Escape)) {
        context.view.selected = None;
    }
}

/// The proposed value of the selected part, to be edited beside it.
fn field(
    ui: &mut Ui,
    area: Rect,
    look: Look,
    shown: &Shown,
    part: PartId,
    state: &mut SchematicState,
    context: &mut SchematicContext,
) {
    let (Some(adjustable), Some(ground)) = (adjustable_of(context.amp, part), shown.ground(part))
    else {
        return;
    };
    let one = &context.amp.adjustables()[adjustable];
    if !matches!(one.kind, AdjustableKind::Value { .. }) {
        return;
    }
    let Some(row) = context
        .rows
        .iter()
        .find(|row| row.adjustables().any(|own| own == adjustable))
    else {
        return;
    };
    let seen = Rect::from_min_max(
        look.screen(area, [ground.min.x, ground.min.y]),
        look.screen(area, [ground.max.x, ground.max.y]),
    );
    if !seen.intersects(area) && !state.values.typing() {
        return;
    }
    let at = look.screen(area, [ground.center().x, ground.max.y]) + vec2(0.0, 6.0);
    let size = vec2(78.0, 20.0);
    let room = area.shrink(2.0);
    let x = (at.x - 0.5 * size.x).clamp(room.left(), (room.right() - size.x).max(room.left()));
    let y =
        at.y.clamp(room.top(), (room.bottom() - size.y).max(room.top()));
    let rect = Rect::from_min_size(pos2(x, y), size);
    let editing = &mut *context.editing;
    let text = value_shown(context.amp, row, |i| editing.value(i, Version::Proposed));
    let name = format!("{} on the schematic", one.name());
    let value = Value {
        adjustable,
        version: Version::Proposed,
        text: &text,
        name: &name,
        changed: editing.differs(adjustable),
        stands: Where::Schematic,
    };
    value.show(ui, rect, editing, &mut state.values);
}
