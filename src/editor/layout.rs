//! The sheet: where everything stands.

use super::analyses::worker::{LatestReports, Worker};
use super::curve::response;
use super::edit::Edit;
use super::editing::Editing;
use super::panel::PanelContext;
use super::panels::Panels;
use super::parts::list;
use super::schematic::{self, panel::SchematicContext};
use super::theme::{ink, toggle};
use super::view::{Over, Tab, View};
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

/// Least height that the schematic needs beside the rest, and that the rest needs below it, points.
const SCHEMATIC: f32 = 200.0;
const BELOW: f32 = 290.0;
/// What a panel over the lower right needs.
const PANEL: f32 = 520.0;
/// Width from which part, list and response stand beside each other, points.
const THREE: f32 = 1180.0;

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
    editor.parts.hovered = None;
    let room = ui.available_height();
    let below = if editor.view.over == Over::Nothing {
        BELOW
    } else {
        PANEL
    };
    let beside = room >= SCHEMATIC + below;
    let asked = editor.view.schematic.unwrap_or(beside);
    editor.schematic.visible = asked && (beside || editor.view.over == Over::Nothing);
    if editor.schematic.visible {
        let frame = framed(paper, 8, 4);
        if beside {
            Panel::top("schematic")
                .frame(frame)
                .resizable(true)
                .default_size((0.52 * room).clamp(SCHEMATIC, room - below))
                .size_range(SCHEMATIC..=room - below)
                .show(ui, |ui| drawn(editor, ui, edit, &amp, now, &known));
        } else {
            // In a small window it is one or the other.
            CentralPanel::no_frame()
                .frame(frame)
                .show(ui, |ui| drawn(editor, ui, edit, &amp, now, &known));
            return settings_and_safety(editor, ui, edit);
        }
    }
    let mut editing = Editing {
        edit,
        amp: &amp,
        now,
        state: &mut editor.editing,
    };
    let width = ui.available_width();
    Panel::left("parts")
        .frame(framed(paper, 8, 5))
        .resizable(true)
        .default_size((0.42 * width).clamp(402.0, 540.0).min(if width > THREE {
            430.0
        } else {
            540.0
        }))
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
    settings_and_safety(editor, ui, edit);
}

fn settings_and_safety(editor: &mut Editor, ui: &mut Ui, edit: &dyn Edit) {
    settings::show(
        ui,
        edit,
        editor.files.as_mut(),
        &mut editor.view,
        &mut editor.settings_open,
    );
    safety::text(ui, &mut editor.safety_open);
}

/// The schematic.
fn drawn(
    editor: &mut Editor,
    ui: &mut Ui,
    edit: &dyn Edit,
    amp: &Arc<LiveAmp>,
    now: f64,
    known: &LatestReports,
) {
    let Some(request) = &editor.request else {
        return;
    };
    let quick = match &known.quick {
        Some(Ok(quick)) if Arc::ptr_eq(&quick.request.amp, amp) => Some(quick.as_ref()),
        _ => None,
    };
    let clips = levels::clipping(&editor.levels, edit, known);
    let clips = clips
        .iter()
        .filter_map(|name| amp.circuit().find_part(name));
    let mut editing = Editing {
        edit,
        amp,
        now,
        state: &mut editor.editing,
    };
    let mut context = SchematicContext {
        amp,
        request,
        quick,
        rows: &editor.rows,
        clips: clips.collect(),
        editing: &mut editing,
        view: &mut editor.view,
    };
    editor.parts.hovered = schematic::panel::show(ui, &mut editor.schematic, &mut context);
}

/// The top bar, the player, and what could not be restored.
fn top_panel(editor: &mut Editor, ui: &mut Ui, edit: &dyn Edit, amp: &LiveAmp, now: f64) {
    let mut editing = Editing {
        edit,
        amp,
        now,
        state: &mut editor.editing,
    };
    let takes_keys = editor.parts.values.takes_keys() || editor.schematic.values.takes_keys();
    top::keys(ui, &mut editing, takes_keys);
    let frame = framed(ink(ui.visuals()).paper, 8, 5);
    Panel::top("top").frame(frame).show(ui, |ui| {
        top::show(
            ui,
            &mut editing,
            &editor.levels,
            &mut editor.view,
            &mut editor.settings_open,
            editor.schematic.visible,
        );
        if let (Some(player), Some(files)) = (edit.player(), &mut editor.files) {
            top::player(ui, player, &mut files.recording, &mut files.recording_fault);
        }
        levels::muted(ui, edit);
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
    let (room, width) = (ui.available_height(), ui.available_width());
    let looked_at = editor.parts.looked_at(amp, &editor.view);
    let effect = |ui: &mut Ui, editing: &mut Editing, view: &mut View| {
        effect::panel::show(ui, editing, &editor.rows, looked_at, known, view);
    };
    // Beside the response where there is room, else below it.
    if width > THREE - 430.0 {
        Panel::left("effect beside")
            .frame(frame)
            .resizable(true)
            .default_size(0.45 * width)
            .size_range(300.0..=width - 360.0)
            .show(ui, |ui| effect(ui, &mut editing, &mut editor.view));
    } else {
        Panel::bottom("effect")
            .frame(frame)
            .resizable(true)
            .default_size(0.45 * room)
            .size_range(90.0..=(room - 110.0).max(91.0))
            .show(ui, |ui| effect(ui, &mut editing, &mut editor.view));
    }
    CentralPanel::no_frame().frame(frame).show(ui, |ui| {
        tabs(ui, &mut editor.view);
        match editor.view.tab {
            Tab::Valves => return valves::show(ui, known),
            Tab::Headroom => return levels::headroom(ui, &editor.levels, edit, known),
            Tab::Response => {}
        }
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

/// What stands below: response, headroom, valves.
fn tabs(ui: &mut Ui, view: &mut View) {
    ui.horizontal(|ui| {
        for (tab, name) in Tab::BUTTONS {
            let mut on = view.tab == tab;
            if toggle(ui, &mut on, name).clicked() {
                view.tab = tab;
            }
        }
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
