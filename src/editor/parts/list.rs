//! The parts list: stage by stage in signal order, as found beside proposed, a mark where they
//! differ.

use super::list_state::ListState;
use super::row::{Columns, ROW, cells};
use super::rows::{Row, sentence, shown};
use crate::editor::editing::Editing;
use crate::editor::history::Version;
use crate::editor::theme::{Ink, heading, ink, toggle};
use crate::editor::view::View;
use crate::editor::widgets::scrolled;
use egui::{Align2, FontId, Pos2, Rect, Role, Sense, Stroke, Ui, Vec2, pos2, vec2};

/// Shows the list.
pub fn show(
    ui: &mut Ui,
    editing: &mut Editing,
    rows: &[Row],
    state: &mut ListState,
    view: &mut View,
) {
    head(ui, editing, state);
    if view.selected.is_none() {
        state.in_view = None;
    }
    let columns = Columns::of(ui.available_width() - 10.0);
    titles(ui, columns);
    scrolled(ui, "parts", |ui| {
        ui.spacing_mut().item_spacing.y = 0.0;
        list(ui, editing, rows, state, view);
    });
}

fn head(ui: &mut Ui, editing: &mut Editing, state: &mut ListState) {
    let changed = editing.changed_parts();
    ui.horizontal(|ui| {
        heading(ui, "PARTS");
        let label = ui.label("find");
        ui.add(
            egui::TextEdit::singleline(&mut state.search)
                .id(egui::Id::unique("find a part"))
                .desired_width(110.0),
        )
        .labelled_by(label.id)
        .on_hover_text("A designator, a role, a stage or a value: C3, coupling, 22n.");
        if !state.search.is_empty() && ui.button("show all").clicked() {
            state.search.clear();
        }
        let count = format!("changed: {}", changed.len());
        toggle(ui, &mut state.only_changed, &count)
            .on_hover_text("Show only the parts that are proposed otherwise than found.");
    });
    ui.horizontal(|ui| {
        let any = !changed.is_empty();
        let revert = egui::Button::new("Revert all to as found");
        if ui
            .add_enabled(any, revert)
            .on_hover_text(
                "Every part back to what the amp has now. The controls stay. Can be undone.",
            )
            .clicked()
        {
            editing.revert_all();
        }
        let adopt = egui::Button::new("Copy proposed to as found");
        if ui
            .add_enabled(any, adopt)
            .on_hover_text(
                "The changes are in the amp now: they become what is as found. Can be undone.",
            )
            .clicked()
        {
            editing.adopt(&changed);
        }
    });
}

fn titles(ui: &mut Ui, columns: Columns) {
    let ink = ink(ui.visuals());
    let (rect, _) = ui.allocate_exact_size(vec2(ui.available_width(), 16.0), Sense::hover());
    let painter = ui.painter_at(rect);
    let y = rect.center().y;
    let write = |x: f32, align: Align2, text: &str| {
        let font = FontId::proportional(12.0);
        painter.text(pos2(rect.left() + x, y), align, text, font, ink.weak);
    };
    write(columns.designator, Align2::LEFT_CENTER, "part");
    write(columns.role, Align2::LEFT_CENTER, "what it does");
    write(columns.as_found + 61.0, Align2::RIGHT_CENTER, "as found");
    write(columns.proposed + 73.0, Align2::RIGHT_CENTER, "proposed");
    write(columns.fitted + 38.0, Align2::RIGHT_CENTER, "fitted");
    painter.hline(rect.x_range(), rect.bottom(), Stroke::new(1.0, ink.line));
}

fn list(ui: &mut Ui, editing: &mut Editing, rows: &[Row], state: &mut ListState, view: &mut View) {
    let mut stage = None;
    let mut any = false;
    for row in rows {
        let amp = editing.amp;
        let both = [Version::AsFound, Version::Proposed]
            .map(|version| shown(amp, row, |adjustable| editing.value(adjustable, version)));
        let changed = row
            .adjustables()
            .any(|adjustable| editing.differs(adjustable));
        let found = row.matches(&state.search, &[&both[0], &both[1]]);
        if !found || (state.only_changed && !changed) {
            continue;
        }
        any = true;
        if stage != Some(&row.stage) {
            stage = Some(&row.stage);
            stage_line(ui, &row.stage);
        }
        one(ui, editing, row, &both, changed, state, view);
    }
    if !any {
        ui.add_space(8.0);
        let why = if state.search.is_empty() {
            "No changes yet."
        } else {
            "No part is called that, does that or has that value."
        };
        ui.label(why);
    }
}

fn stage_line(ui: &mut Ui, stage: &str) {
    let text = if stage.is_empty() {
        "Other parts"
    } else {
        stage
    };
    ui.add_space(5.0);
    let ink = ink(ui.visuals());
    let response =
        ui.add(egui::Label::new(egui::RichText::new(text).strong().size(14.0)).selectable(false));
    let line = response.rect.right() + 8.0..=ui.max_rect().right();
    ui.painter()
        .hline(line, response.rect.center().y, Stroke::new(1.0, ink.line));
}

fn one(
    ui: &mut Ui,
    editing: &mut Editing,
    row: &Row,
    both: &[String; 2],
    changed: bool,
    state: &mut ListState,
    view: &mut View,
) {
    let amp = editing.amp;
    let id = &amp.adjustables()[row.adjustable()].id;
    let size = vec2(ui.available_width(), ROW);
    let (rect, _) = ui.allocate_exact_size(size, Sense::hover());
    let response = ui.interact(rect, egui::Id::unique(("row", id)), Sense::click());
    let chosen = view.selected.as_ref() == Some(id);
    let said = sentence(
        amp,
        row,
        |adjustable| editing.value(adjustable, Version::AsFound),
        |adjustable| editing.value(adjustable, Version::Proposed),
        changed,
    );
    response.widget_info(|| egui::WidgetInfo::selected(Role::ListBoxOption, true, chosen, &said));
    if response.clicked() {
        view.selected = (!chosen).then(|| id.clone());
    }
    if chosen && state.in_view.as_ref() != Some(id) {
        state.in_view = Some(id.clone());
        if !ui.is_rect_visible(rect) {
            ui.scroll_to_rect(rect, Some(egui::Align::Center));
        }
    }
    if ui.rect_contains_pointer(rect) {
        state.hovered = Some(row.adjustable());
    }
    if !ui.is_rect_visible(rect) && !response.has_focus() && !state.values.typing() {
        // Rows out of sight keep their place, their fields and their names.
        cells(ui, editing, row, both, changed, rect, state);
        return;
    }
    let ink = ink(ui.visuals());
    background(ui, rect, &ink, chosen, changed, response.has_focus());
    let columns = Columns::of(rect.width());
    let painter = ui.painter_at(rect);
    let y = rect.center().y;
    let at = |x: f32| pos2(rect.left() + x, y);
    if changed {
        mark(&painter, at(10.0), ink.proposed);
        let font = FontId::monospace(13.0);
        painter.text(
            at(columns.proposed - 9.0),
            Align2::CENTER_CENTER,
            "→",
            font,
            ink.ink,
        );
    }
    let font = FontId::monospace(13.0);
    painter.text(
        at(columns.designator),
        Align2::LEFT_CENTER,
        &row.designator,
        font,
        ink.ink,
    );
    let role = Rect::from_min_max(
        pos2(rect.left() + columns.role, rect.top()),
        pos2(rect.left() + columns.as_found - 2.0, rect.bottom()),
    );
    truncated(ui, role, &row.role, ink);
    if let Some(adjustable) = cells(ui, editing, row, both, changed, rect, state) {
        view.selected = Some(editing.amp.adjustables()[adjustable].id.clone());
    }
}

fn background(ui: &Ui, rect: Rect, ink: &Ink, chosen: bool, changed: bool, focused: bool) {
    let painter = ui.painter();
    if chosen {
        painter.rect_filled(rect, 0.0, ink.chosen);
        let edge = Rect::from_min_size(rect.min, Vec2::new(3.0, rect.height()));
        painter.rect_filled(edge, 0.0, ink.ink);
    } else if changed {
        painter.rect_filled(rect, 0.0, ink.changed);
    }
    if focused {
        let stroke = Stroke::new(1.5, ink.ink);
        painter.rect_stroke(rect, 0.0, stroke, egui::StrokeKind::Inside);
    }
}

/// The mark of a changed row: a filled lozenge.
fn mark(painter: &egui::Painter, centre: Pos2, colour: egui::Color32) {
    let r = 5.0;
    let points = [vec2(0.0, -r), vec2(r, 0.0), vec2(0.0, r), vec2(-r, 0.0)];
    let points = points.map(|way| centre + way).to_vec();
    painter.add(egui::Shape::convex_polygon(points, colour, Stroke::NONE));
}

fn truncated(ui: &Ui, rect: Rect, text: &str, ink: Ink) {
    let mut job = egui::text::LayoutJob::simple_singleline(
        text.to_owned(),
        FontId::proportional(13.5),
        ink.ink,
    );
    job.wrap = egui::text::TextWrapping::truncate_at_width(rect.width());
    let galley = ui.painter().layout_job(job);
    let y = rect.center().y - 0.5 * galley.size().y;
    ui.painter_at(rect)
        .galley(pos2(rect.left(), y), galley, ink.ink);
}
