//! What the amps are heard through: loudspeaker, line, or an impulse response of the owner's own.

use super::edit::{Edit, PluginSetting};
use super::files::state::Files;
use super::files::thread::{Order, Want};
use super::theme::heading;
use crate::analysis::cabinet_model::CabinetModel;
use crate::live::settings::{CABINET_IMPULSE, CABINET_LINE};
use crate::text::digits::significant;
use egui::{Button, Key, TextEdit, Ui};
use std::path::PathBuf;

/// The ways by their number, with what they are.
const WAYS: [(&str, &str); 3] = [
    (
        "loudspeaker",
        "What each amp's loudspeaker radiates, as a microphone hears it.",
    ),
    (
        "line",
        "The voltage at the output, without a loudspeaker's tone.",
    ),
    (
        "impulse response",
        "A recording of a cabinet or a room of your own, from a WAV file.",
    ),
];

/// What is chosen now; the loudspeaker as long as no impulse response is there.
pub fn chosen(edit: &dyn Edit) -> CabinetModel {
    match edit.setting(PluginSetting::Cabinet).round() as i32 {
        CABINET_IMPULSE => edit
            .impulse()
            .map_or_else(CabinetModel::default, CabinetModel::Impulse),
        CABINET_LINE => CabinetModel::Line,
        _ => CabinetModel::Loudspeaker,
    }
}

/// Shows the choice; below it the file, where an impulse response is chosen.
pub fn show(ui: &mut Ui, edit: &dyn Edit, files: &mut Files) {
    let now = edit.setting(PluginSetting::Cabinet).round() as usize;
    ui.horizontal_wrapped(|ui| {
        heading(ui, "HEARD THROUGH");
        for (index, (name, about)) in WAYS.iter().enumerate() {
            let response = ui.radio(now == index, *name).on_hover_text(*about);
            let response = response.accessible_name(format!("heard through: {name}"));
            if response.clicked() {
                edit.set_setting(PluginSetting::Cabinet, index as f64);
            }
        }
        if now == CABINET_IMPULSE as usize {
            file(ui, edit, files);
        }
    });
}

/// The impulse response that is there, and the way to another one.
fn file(ui: &mut Ui, edit: &dyn Edit, files: &mut Files) {
    match edit.impulse() {
        Some(impulse) => {
            let milliseconds = significant(1e3 * impulse.seconds(), 2);
            ui.label(format!("{}, {milliseconds} ms", impulse.name()));
            if ui
                .button("Take away")
                .on_hover_text("Forgets this impulse response; the loudspeaker is heard.")
                .clicked()
            {
                edit.set_impulse(None);
                files.impulse_told.clear();
            }
        }
        None => {
            ui.label("none yet: the loudspeaker is heard");
        }
    }
    let label = ui.label("its WAV file");
    let field = TextEdit::singleline(&mut files.impulse_path)
        .id(egui::Id::unique("impulse response"))
        .desired_width(150.0)
        .hint_text("path of an impulse response");
    let response = ui.add(field).labelled_by(label.id);
    let enter = response.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
    let any = !files.impulse_path.trim().is_empty();
    let open = ui.add_enabled(any, Button::new("Open impulse response"));
    if any && (open.clicked() || enter) {
        let path = PathBuf::from(files.impulse_path.trim());
        files.thread.order(Order::OpenImpulse(path));
    }
    if ui.button("Choose an impulse response…").clicked() {
        files.thread.pick(Want::Impulse);
    }
    if !files.impulse_told.is_empty() {
        ui.strong(&files.impulse_told);
    }
}
