//! The files over the right column: what can be opened, what was, what is wrong with it.

use super::prices::in_use;
use super::state::{Files, proposals_for};
use super::thread::{Order, Want};
use crate::circuit::{Severity, built_in_circuits};
use crate::editor::editing::{Editing, EditingState};
use crate::editor::theme::heading;
use crate::editor::view::{Over, View};
use crate::editor::widgets::scrolled;
use egui::{Button, Key, TextEdit, Ui};
use std::path::PathBuf;
use std::sync::Arc;

/// What was asked for that needs the amp without an edit in progress.
enum Asked {
    BuiltIn(&'static str),
    Path(String),
}

/// Shows the panel.
pub fn show(
    ui: &mut Ui,
    files: &mut Files,
    edit: &dyn crate::editor::edit::Edit,
    state: &mut EditingState,
    view: &mut View,
    now: f64,
) {
    let amp: Arc<_> = edit.amp();
    let mut asked = None;
    ui.horizontal(|ui| {
        heading(ui, "FILES");
        if ui.button("Close files").clicked() {
            view.over = Over::Nothing;
        }
    });
    scrolled(ui, "files", |ui| {
        told(ui, files);
        circuits(ui, files, edit, view, &mut asked);
        ui.separator();
        let mut editing = Editing {
            edit,
            amp: &amp,
            now,
            state,
        };
        proposals(ui, files, &mut editing, view);
        ui.separator();
        prices(ui, files, view);
        recent(ui, files, view, &mut asked);
    });
    match asked {
        Some(Asked::BuiltIn(text)) => {
            files.load(text.as_bytes(), None, edit, state, view, now);
        }
        Some(Asked::Path(path)) => files.open(&path),
        None => {}
    }
}

/// What happened last, with every fault and its line.
fn told(ui: &mut Ui, files: &Files) {
    if !files.message.is_empty() {
        ui.strong(&files.message);
    }
    for fault in &files.faults {
        let line = fault
            .line
            .map_or_else(String::new, |line| format!("line {line}"));
        ui.horizontal_top(|ui| {
            ui.add_sized(
                [56.0, 16.0],
                egui::Label::new(egui::RichText::new(line).monospace()),
            );
            let word = match fault.severity {
                Severity::Error => "Fault",
                Severity::Warning => "Look at this",
            };
            let part = fault.part.as_deref().unwrap_or_default();
            let remedy = if fault.remedy.is_empty() {
                String::new()
            } else {
                format!("; {}", fault.remedy)
            };
            let gap = if part.is_empty() { "" } else { " " };
            let text = format!("{word}:{gap}{part} {}{remedy}", fault.message);
            ui.add(egui::Label::new(text).wrap());
        });
    }
    if !files.message.is_empty() {
        ui.separator();
    }
}

fn circuits(
    ui: &mut Ui,
    files: &Files,
    edit: &dyn crate::editor::edit::Edit,
    view: &mut View,
    asked: &mut Option<Asked>,
) {
    let amp = edit.amp();
    heading(ui, "THE AMP");
    let from = match amp.path() {
        Some(path) => format!(
            "from {}; it is read again whenever it is saved",
            path.display()
        ),
        None => "from inside the program".into(),
    };
    ui.label(format!("On the bench: {}, {from}.", amp.circuit().name()));
    if let Err(why) = edit.may_load() {
        ui.label(why);
        return;
    }
    let open = path_line(ui, "circuit file", &mut view.path, "Open circuit");
    if open {
        *asked = Some(Asked::Path(view.path.clone()));
    }
    if ui.button("Choose a circuit file…").clicked() {
        files.thread.pick(Want::Circuit);
    }
    ui.horizontal_wrapped(|ui| {
        ui.label("Amps that come with the program:");
        for built_in in built_in_circuits() {
            if ui.button(built_in.name).clicked() {
                *asked = Some(Asked::BuiltIn(built_in.text));
            }
        }
    });
}

/// A path field with its button. Whether it is to be opened.
fn path_line(ui: &mut Ui, name: &str, path: &mut String, button: &str) -> bool {
    ui.horizontal(|ui| {
        let label = ui.label(name);
        let width = (ui.available_width() - 130.0).max(80.0);
        let field = TextEdit::singleline(path)
            .id(egui::Id::unique(("path", name)))
            .desired_width(width);
        let response = ui.add(field).labelled_by(label.id);
        let enter = response.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
        let any = !path.trim().is_empty();
        let clicked = ui.add_enabled(any, Button::new(button)).clicked();
        any && (clicked || enter)
    })
    .inner
}

fn proposals(ui: &mut Ui, files: &mut Files, editing: &mut Editing, view: &mut View) {
    heading(ui, "THE PROPOSAL");
    let built_in = proposals_for(editing.amp.circuit().name());
    if !built_in.is_empty() {
        ui.horizontal_wrapped(|ui| {
            ui.label("Proposals for this amp:");
            for (_, name, text) in &built_in {
                if ui.button(name).clicked() {
                    files.apply(text.as_bytes(), name, editing);
                }
            }
        });
    }
    if path_line(
        ui,
        "proposal file",
        &mut view.proposal_path,
        "Open proposal",
    ) {
        let path = PathBuf::from(view.proposal_path.trim());
        files.thread.order(Order::OpenProposal(path));
    }
    ui.horizontal_wrapped(|ui| {
        if ui.button("Choose a proposal…").clicked() {
            files.thread.pick(Want::Proposal);
        }
        if ui.button("Choose where to save…").clicked() {
            files.thread.pick(Want::SaveProposal);
        }
        let label = ui.label("its name");
        ui.add(
            TextEdit::singleline(&mut files.name)
                .id(egui::Id::unique("name of the proposal"))
                .desired_width(130.0),
        )
        .labelled_by(label.id);
        let any = !view.proposal_path.trim().is_empty();
        if ui
            .add_enabled(any, Button::new("Save proposal"))
            .on_hover_text("Writes what is proposed to the path above.")
            .clicked()
        {
            files.save(editing, &view.proposal_path, false);
        }
        if files.exists.is_some() && ui.button("Replace that file").clicked() {
            files.save(editing, &view.proposal_path, true);
        }
    });
    let mut taken = None;
    for (index, kept) in view.kept.iter().enumerate() {
        ui.horizontal_wrapped(|ui| {
            ui.label(format!(
                "Kept from before: what was proposed for {}.",
                kept.amp
            ));
            if ui.button("Bring back").clicked() {
                taken = Some(index);
            }
        });
    }
    if let Some(index) = taken {
        let kept = view.kept[index].clone();
        if files.apply(kept.text.as_bytes(), "what was kept", editing) {
            view.kept.remove(index);
        }
    }
}

/// The prices that verdict and job sheet go by.
fn prices(ui: &mut Ui, files: &mut Files, view: &mut View) {
    heading(ui, "THE PRICES");
    ui.add(egui::Label::new(in_use(view)).wrap());
    if path_line(ui, "price file", &mut view.price_path, "Open prices") {
        let path = PathBuf::from(view.price_path.trim());
        files.thread.order(Order::OpenPrices(path));
    }
    ui.horizontal_wrapped(|ui| {
        if ui.button("Choose a price file…").clicked() {
            files.thread.pick(Want::Prices);
        }
        let own = view.prices.is_some();
        if ui
            .add_enabled(own, Button::new("Back to the invented prices"))
            .on_hover_text("The file itself is left as it is.")
            .clicked()
        {
            view.prices = None;
            view.price_path.clear();
        }
    });
}

fn recent(ui: &mut Ui, files: &Files, view: &View, asked: &mut Option<Asked>) {
    if view.recent.is_empty() {
        return;
    }
    ui.separator();
    heading(ui, "OPENED LATELY");
    for path in &view.recent {
        ui.horizontal(|ui| {
            if ui.button("As circuit").clicked() {
                *asked = Some(Asked::Path(path.clone()));
            }
            if ui.button("As proposal").clicked() {
                files.thread.order(Order::OpenProposal(PathBuf::from(path)));
            }
            ui.add(egui::Label::new(path).truncate());
        });
    }
}
