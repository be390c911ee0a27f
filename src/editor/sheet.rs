//! The sheet: where everything stands.

use super::edit::Edit;
use super::editing::Editing;
use super::panels::Desk;
use super::theme::ink;
use super::view::Over;
use super::{
    Editor, cabinet, controls, curve, effect, files_panel, levels, parts, safety, settings, top,
    valves,
};
use egui::{CentralPanel, Frame, Margin, Panel, Stroke, Ui};
use std::sync::Arc;

/// Least size of the sheet, points; in a smaller window it is scrolled.
const LEAST: egui::Vec2 = egui::vec2(880.0, 580.0);

/// Draws the sheet.
pub fn show(editor: &mut Editor, ui: &mut Ui, edit: &dyn Edit, now: f64) {
    let room = ui.available_size();
    if room.x >= LEAST.x && room.y >= LEAST.y {
        return panels(editor, ui, edit, now);
    }
    egui::ScrollArea::both()
        .id_salt("sheet")
        .auto_shrink([false, false])
        .show(ui, |ui| {
            let size = LEAST.max(room - egui::Vec2::splat(14.0));
            ui.allocate_ui(size, |ui| {
                ui.set_min_size(size);
                ui.set_max_size(size);
                panels(editor, ui, edit, now);
            });
        });
}

fn panels(editor: &mut Editor, ui: &mut Ui, edit: &dyn Edit, now: f64) {
    let Some(amp) = editor.amp.clone() else {
        return;
    };
    let known = editor.worker.as_ref().map(super::worker::Worker::known);
    let known = known.unwrap_or_default();
    let quick = match &known.quick {
        Some(Ok(quick)) if Arc::ptr_eq(&quick.request.amp, &amp) => Some(Arc::clone(quick)),
        _ => None,
    };
    let ink = ink(ui.visuals());
    ui.painter().rect_filled(ui.max_rect(), 0.0, ink.paper);
    let framed = |x: i8, y: i8| {
        Frame::NONE
            .fill(ink.paper)
            .inner_margin(Margin::symmetric(x, y))
    };
    let mut editing = Editing {
        edit,
        amp: &amp,
        now,
        memory: &mut editor.editing,
    };
    top::keys(ui, &mut editing);
    Panel::top("top").frame(framed(8, 5)).show(ui, |ui| {
        top::show(
            ui,
            &mut editing,
            &editor.levels,
            &mut editor.view,
            &mut editor.settings_open,
        );
        if let (Some(player), Some(files)) = (edit.player(), &mut editor.files) {
            top::player(ui, player, &mut files.recording, &mut files.recording_fault);
        }
        notes(ui, edit);
    });
    Panel::bottom("safety").frame(framed(8, 3)).show(ui, |ui| {
        safety::line(ui, &mut editor.safety_open);
    });
    let room = ui.available_height();
    Panel::bottom("valves")
        .frame(framed(8, 4))
        .resizable(true)
        .default_size((0.2 * room).clamp(84.0, 150.0))
        .size_range(60.0..=0.5 * room)
        .show(ui, |ui| valves::show(ui, &known));
    Panel::bottom("headroom")
        .frame(framed(8, 4))
        .show(ui, |ui| {
            levels::headroom(ui, &editor.levels, edit, &known);
        });
    Panel::bottom("controls")
        .frame(framed(8, 4))
        .show(ui, |ui| {
            controls::show(ui, &mut editing);
            if let Some(files) = &mut editor.files {
                cabinet::show(ui, edit, files);
            }
        });
    let width = ui.available_width();
    Panel::left("parts")
        .frame(framed(8, 5))
        .resizable(true)
        .default_size((0.42 * width).clamp(402.0, 540.0))
        .size_range(370.0..=(width - 380.0).max(371.0))
        .show(ui, |ui| {
            parts::show(
                ui,
                &mut editing,
                &editor.rows,
                &mut editor.parts,
                &mut editor.view,
            );
        });
    if editor.view.over == Over::Files
        && let Some(files) = &mut editor.files
    {
        CentralPanel::no_frame().frame(framed(8, 5)).show(ui, |ui| {
            files_panel::show(ui, files, edit, &mut editor.editing, &mut editor.view, now);
        });
    } else if editor.view.over != Over::Nothing
        && let (Some(panels), Some(files)) = (&mut editor.panels, &mut editor.files)
        && let Some(request) = &editor.request
    {
        let mut desk = Desk {
            request,
            quick: quick.as_deref(),
            still: panels.still(now),
            editing: &mut editing,
            files,
            view: &mut editor.view,
        };
        CentralPanel::no_frame().frame(framed(8, 5)).show(ui, |ui| {
            panels.show(ui, &mut desk);
        });
    } else {
        let room = ui.available_height();
        Panel::bottom("effect")
            .frame(framed(8, 5))
            .resizable(true)
            .default_size(0.45 * room)
            .size_range(90.0..=(room - 110.0).max(91.0))
            .show(ui, |ui| {
                let looked_at = parts::looked_at(&amp, &editor.parts, &editor.view);
                effect::show(
                    ui,
                    &mut editing,
                    &editor.rows,
                    looked_at,
                    &known,
                    &mut editor.view,
                );
            });
        CentralPanel::no_frame().frame(framed(8, 5)).show(ui, |ui| {
            curve::show(
                ui,
                &amp,
                quick.as_deref(),
                &editor.spectrum,
                editor
                    .panels
                    .as_ref()
                    .and_then(super::panels::Panels::recorded),
                &mut editor.view,
            );
        });
    }
    settings::show(ui, edit, &mut editor.view, &mut editor.settings_open);
    safety::text(ui, &mut editor.safety_open);
}

/// What could not be restored, until it is dismissed.
fn notes(ui: &mut Ui, edit: &dyn Edit) {
    let notes = edit.notes();
    if notes.is_empty() {
        return;
    }
    let ink = ink(ui.visuals());
    Frame::NONE
        .stroke(Stroke::new(1.5, ink.ink))
        .inner_margin(4)
        .show(ui, |ui| {
            for note in &notes {
                ui.add(egui::Label::new(note).wrap());
            }
            if ui.button("I have read this").clicked() {
                edit.dismiss_notes();
            }
        });
}
