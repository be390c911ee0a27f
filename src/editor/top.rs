//! The top bar: what is heard, loudness match, meters, undo and redo, bypass, files, settings; and
//! the player, where there is no host.

use super::edit::{Player, PluginSetting};
use super::editing::Editing;
use super::levels::{Levels, matched};
use super::theme::{heading, toggle};
use super::view::{Over, View};
use egui::{Button, Ui};

/// What can be heard, by its number, with what it is.
const HEARD: [(&str, &str); 3] = [
    ("as found", "The amp as it is now."),
    ("proposed", "The amp with the changed parts."),
    ("pair", "As found on the left, proposed on the right."),
];

/// Shows the bar. Whether settings are asked for stands in `settings`, whether the schematic is shown in
/// `drawn`.
pub fn show(
    ui: &mut Ui,
    editing: &mut Editing,
    levels: &Levels,
    view: &mut View,
    settings: &mut bool,
    drawn: bool,
) {
    let edit = editing.edit;
    ui.horizontal_wrapped(|ui| {
        ui.spacing_mut().item_spacing.x = 6.0;
        ui.strong("heard:");
        let now = edit.setting(PluginSetting::Heard).round() as usize;
        let recording = edit.recording().filter(|recording| recording.there());
        let real = recording.is_some_and(|recording| recording.hears());
        for (index, (name, about)) in HEARD.iter().enumerate() {
            let response = ui.radio(!real && now == index, *name);
            let response = response.on_hover_text(*about);
            let response = response.accessible_name(format!("heard: {name}"));
            if response.clicked() {
                edit.set_setting(PluginSetting::Heard, index as f64);
                if let Some(recording) = recording {
                    recording.hear(false);
                }
            }
        }
        if let Some(recording) = recording {
            let response = ui.radio(real, "recording").on_hover_text(
                "The recorded amp, as loud as this one and in time with it. Key R goes there and \
                 back.",
            );
            let response = response.accessible_name("heard: recording");
            if response.clicked() {
                recording.hear(true);
            }
        }
        ui.separator();
        let mut on = edit.setting(PluginSetting::Match) > 0.5;
        let text = format!("match {}", matched(edit, on));
        if ui
            .checkbox(&mut on, text)
            .on_hover_text(
                "Plays both equally loud, so that the louder one does not win by being louder.",
            )
            .changed()
        {
            edit.set_setting(PluginSetting::Match, f64::from(u8::from(on)));
        }
        ui.separator();
        levels.show(ui);
        ui.separator();
        let history = &editing.state.history;
        let (back, forth) = (history.undoable() > 0, history.redoable() > 0);
        if ui
            .add_enabled(back, Button::new("Undo"))
            .on_hover_text("Ctrl+Z")
            .clicked()
        {
            editing.undo();
        }
        if ui
            .add_enabled(forth, Button::new("Redo"))
            .on_hover_text("Ctrl+Shift+Z or Ctrl+Y")
            .clicked()
        {
            editing.redo();
        }
        let mut bypassed = edit.setting(PluginSetting::Bypass) > 0.5;
        if ui
            .checkbox(&mut bypassed, "bypass")
            .on_hover_text("Lets the input through untouched.")
            .changed()
        {
            edit.set_setting(PluginSetting::Bypass, f64::from(u8::from(bypassed)));
        }
        ui.separator();
        let mut drawn = drawn;
        if toggle(ui, &mut drawn, "Schematic")
            .on_hover_text("The amp as it is drawn: see and change parts there.")
            .clicked()
        {
            view.schematic = Some(drawn);
        }
        for (over, name, about) in Over::BUTTONS {
            let mut on = view.over == over;
            if toggle(ui, &mut on, name).on_hover_text(about).clicked() {
                view.over = if on { over } else { Over::Nothing };
            }
        }
        toggle(ui, settings, "Settings");
    });
}

/// The player, in a line of its own.
pub fn player(ui: &mut Ui, player: &dyn Player, path: &mut String, fault: &mut Option<String>) {
    ui.horizontal_wrapped(|ui| {
        heading(ui, "PLAYER");
        let playing = player.playing();
        if ui.button(if playing { "Stop" } else { "Play" }).clicked() {
            player.play(!playing);
        }
        ui.label(player.source());
        if ui
            .button("Built-in phrase")
            .on_hover_text("A guitar phrase that comes with the program.")
            .clicked()
        {
            *fault = player.open(None).err();
        }
        let label = ui.label("WAV file");
        let field = egui::TextEdit::singleline(path)
            .id(egui::Id::unique("recording"))
            .desired_width(150.0)
            .hint_text("path of a recording");
        let response = ui.add(field).labelled_by(label.id);
        let enter = response.lost_focus() && ui.input(|i| i.key_pressed(egui::Key::Enter));
        let open = ui.add_enabled(!path.trim().is_empty(), Button::new("Open recording"));
        if open.clicked() || (enter && !path.trim().is_empty()) {
            *fault = player.open(Some(std::path::Path::new(path.trim()))).err();
        }
        let mut live = player.live_input();
        if ui
            .checkbox(&mut live, "live input")
            .on_hover_text("Lets the guitar at the interface's input in.")
            .changed()
        {
            player.set_live_input(live);
        }
        ui.label(player.device());
        if let Some(fault) = fault {
            ui.strong(fault.as_str());
        }
    });
}

/// The keys that work everywhere; where `typed`, letters belong to a number.
pub fn keys(ui: &Ui, editing: &mut Editing, typed: bool) {
    // A field that is being typed in has its own undo.
    if ui.ctx().text_edit_focused() {
        return;
    }
    use egui::{Key, KeyboardShortcut, Modifiers};
    let pressed = |modifiers, key| {
        ui.input_mut(|i| i.consume_shortcut(&KeyboardShortcut::new(modifiers, key)))
    };
    if pressed(Modifiers::COMMAND | Modifiers::SHIFT, Key::Z) || pressed(Modifiers::COMMAND, Key::Y)
    {
        editing.redo();
    } else if pressed(Modifiers::COMMAND, Key::Z) {
        editing.undo();
    } else if let Some(recording) = editing.edit.recording()
        && recording.there()
        && !typed
        && pressed(Modifiers::NONE, Key::R)
    {
        recording.hear(!recording.hears());
    }
}
