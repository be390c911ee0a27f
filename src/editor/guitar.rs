//! The guitar of the owner's own, below the choice of what drives the jack.

use super::edit::{Edit, PluginSetting};
use super::files::state::Files;
use super::files::thread::Want;
use crate::live::jack_guitar::JackGuitar;
use egui::{Button, Key, TextEdit, Ui};
use std::path::PathBuf;

/// Shows the guitar that is there, and the way to another one, where the owner's own is chosen.
pub fn show(ui: &mut Ui, edit: &dyn Edit, files: &mut Files) {
    if edit.setting(PluginSetting::Guitar).round() as usize != JackGuitar::Own as usize {
        return;
    }
    ui.horizontal_wrapped(|ui| match edit.own_guitar() {
        Some(own) => {
            ui.label(format!("In the jack: {}.", own.guitar.name));
            if ui
                .button("Unplug this guitar")
                .on_hover_text("Forgets this guitar; the jack is driven by a pedal.")
                .clicked()
            {
                edit.set_own_guitar(None);
                files.guitar.told.clear();
            }
        }
        None => {
            ui.label("No guitar file yet: the jack is driven as by a pedal.");
        }
    });
    ui.horizontal_wrapped(|ui| {
        let label = ui.label("guitar file");
        let field = TextEdit::singleline(&mut files.guitar.path)
            .id(egui::Id::unique("guitar file"))
            .desired_width(170.0)
            .hint_text("path of a guitar file");
        let response = ui.add(field).labelled_by(label.id);
        let enter = response.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
        let any = !files.guitar.path.trim().is_empty();
        let open = ui.add_enabled(any, Button::new("Open guitar"));
        if any && (open.clicked() || enter) {
            let path = PathBuf::from(files.guitar.path.trim());
            files.guitar.open(path, &files.thread);
        }
        if ui.button("Choose a guitar file…").clicked() {
            files.thread.pick(Want::Guitar);
        }
    });
    if !files.guitar.told.is_empty() {
        ui.add(egui::Label::new(egui::RichText::new(&files.guitar.told).strong()).wrap());
    }
}
