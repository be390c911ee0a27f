//! The sheet: where everything stands.

use super::analyses::worker::{LatestReports, Worker};
use super::curve::response;
use super::edit::Edit;
use super::editing::Editing;
use super::panel::PanelContext;
use super::panels::Panels;
use super::parts::list;
use super::theme::ink;
use super::view::Over;
use super::window::Editor;
use super::{cabinet, controls, effect, files, levels, safety, settings, top, valves, widgets};
use crate::live::LiveAmp;
use egui::{CentralPanel, Color32, Frame, Margin, Panel, Ui};
use std::sync::Arc;

/// Least size of the sheet, points; in a smaller window it is scrolled.
const LEAST: egui::Vec2 = egui::vec2(880.0, 580.0);

impl Editor {
    /// Draws a frame and does what the user asks for.
    pub fn ui(&mut self, ui: &mut Ui, edit: &dyn Edit) {
        let now = self.begin_frame(ui, edit);
        show(self, ui, edit, now);
        self.end_frame(ui, edit);
    }
}

/// Draws the sheet.
fn show(editor: &mut Editor, ui: &mut Ui, edit: &dyn Edit, now: f64) {
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

/// A panel's frame on paper, with so much room beside and above what is in it, points.
fn framed(paper: Color32, x: i8, y: i8) -> Frame {
    Frame::NONE
        .fill(paper)
        .inner_margin(Margin::symmetric(x, y))
}

fn panels(editor: &mut Editor, ui: &mut Ui, edit: &dyn Edit, now: f64) {
    let Some(amp) = editor.amp.clone() else {
        return;
    };
    let known = editor.worker.as_ref().map(Worker::known);
    let known = known.unwrap_or_default();
    let paper = ink(ui.visuals()).paper;
    ui.painter().rect_filled(ui.max_rect(), 0.0, paper);
    top_panel(editor, ui, edit, &amp, now);
    Panel::bottom("safety")
        .frame(framed(paper, 8, 3))
        .show(ui, |ui| safety::line(ui, &mut editor.safety_open));
    let room = ui.available_height();
    Panel::bottom("valves")
        .frame(framed(paper, 8, 4))
        .resizable(true)
        .default_size((0.2 * room).clamp(84.0, 150.0))
        .size_range(60.0..=0.5 * room)
        .show(ui, |ui| valves::show(ui, &known));
    Panel::bottom("headroom")
        .frame(framed(paper, 8, 4))
        .show(ui, |ui| {
            levels::headroom(ui, &editor.levels, edit, &known);
        });
    let mut editing = Editing {
        edit,
        amp: &amp,
        now,
        state: &mut editor.editing,
    };
    Panel::bottom("controls")
        .frame(framed(paper, 8, 4))
        .show(ui, |ui| {
            controls::show(ui, &mut editing);
            if let Some(files) = &mut editor.files {
                cabinet::show(ui, edit, files);
            }
        });
    let width = ui.available_width();
    Panel::left("parts")
        .frame(framed(paper, 8, 5))
        .resizable(true)
        .default_size((0.42 * width).clamp(402.0, 540.0))
        .size_range(370.0..=(width - 380.0).max(371.0))
        .show(ui, |ui| {
            list::show(
                ui,
                &mut editing,
                &editor.rows,
                &mut editor.parts,
                &mut editor.view,
            );
        });
    right_column(editor, ui, edit, &amp, now, &known);
    settings::show(
        ui,
        edit,
        editor.files.as_mut(),
        &mut editor.view,
        &mut editor.settings_open,
    );
    safety::text(ui, &mut editor.safety_open);
}

/// The top bar, the player, and what could not be restored.
fn top_panel(editor: &mut Editor, ui: &mut Ui, edit: &dyn Edit, amp: &LiveAmp, now: f64) {
    let mut editing = Editing {
        edit,
        amp,
        now,
        state: &mut editor.editing,
    };
    top::keys(ui, &mut editing, editor.parts.values.takes_keys());
    let frame = framed(ink(ui.visuals()).paper, 8, 5);
    Panel::top("top").frame(frame).show(ui, |ui| {
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
}

/// The panel that is open; with none, the curve and what the part that is looked at does.
fn right_column(
    editor: &mut Editor,
    ui: &mut Ui,
    edit: &dyn Edit,
    amp: &Arc<LiveAmp>,
    now: f64,
    known: &LatestReports,
) {
    let frame = framed(ink(ui.visuals()).paper, 8, 5);
    let quick = match &known.quick {
        Some(Ok(quick)) if Arc::ptr_eq(&quick.request.amp, amp) => Some(quick.as_ref()),
        _ => None,
    };
    if editor.view.over == Over::Files
        && let Some(files) = &mut editor.files
    {
        CentralPanel::no_frame().frame(frame).show(ui, |ui| {
            files::panel::show(ui, files, edit, &mut editor.editing, &mut editor.view, now);
        });
        return;
    }
    let mut editing = Editing {
        edit,
        amp,
        now,
        state: &mut editor.editing,
    };
    if editor.view.over != Over::Nothing
        && let (Some(panels), Some(files)) = (&mut editor.panels, &mut editor.files)
        && let Some(request) = &editor.request
    {
        let mut context = PanelContext {
            request,
            quick,
            still: panels.still(now),
            editing: &mut editing,
            files,
            view: &mut editor.view,
        };
        CentralPanel::no_frame()
            .frame(frame)
            .show(ui, |ui| panels.show(ui, &mut context));
        return;
    }
    let room = ui.available_height();
    Panel::bottom("effect")
        .frame(frame)
        .resizable(true)
        .default_size(0.45 * room)
        .size_range(90.0..=(room - 110.0).max(91.0))
        .show(ui, |ui| {
            let looked_at = editor.parts.looked_at(amp, &editor.view);
            effect::panel::show(
                ui,
                &mut editing,
                &editor.rows,
                looked_at,
                known,
                &mut editor.view,
            );
        });
    CentralPanel::no_frame().frame(frame).show(ui, |ui| {
        if let Some(Err(fault)) = &known.quick {
            ui.label(fault);
            return;
        }
        if let Some(silent) = quick.and_then(|quick| quick.silent.as_ref()) {
            ui.add(egui::Label::new(silent).wrap());
        }
        let recorded = editor.panels.as_ref().and_then(Panels::recorded);
        let target = recorded.map(|recorded| &recorded.target);
        response::show(ui, amp, quick, &editor.spectrum, target, &mut editor.view);
    });
}

/// What could not be restored, until it is dismissed.
fn notes(ui: &mut Ui, edit: &dyn Edit) {
    let notes = edit.notes();
    if notes.is_empty() {
        return;
    }
    widgets::framed(ui, |ui| {
        for note in &notes {
            ui.add(egui::Label::new(note).wrap());
        }
        if ui.button("I have read this").clicked() {
            edit.dismiss_notes();
        }
    });
}
