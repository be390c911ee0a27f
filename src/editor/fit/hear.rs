//! The recording beside the amp, by ear: both play in time, one key goes from one to the other, and
//! a part of the track is looped.

use crate::editor::edit::{Edit, RecordingPlayer};
use crate::editor::theme::heading;
use crate::text::digits::fixed;
use egui::{DragValue, Ui};

/// Shows it where there is something to play with.
pub fn show(ui: &mut Ui, edit: &dyn Edit) {
    let Some(player) = edit.recording().filter(|player| player.there()) else {
        return;
    };
    ui.horizontal_wrapped(|ui| {
        heading(ui, "BY EAR");
        if edit.rate().is_none() {
            ui.label("No sound runs here: there is no audio device, or the host stands still.");
            return;
        }
        let playing = player.playing();
        let name = if playing { "Stop both" } else { "Play both" };
        if ui
            .button(name)
            .on_hover_text("The dry track into this amp, and the recording in time with it.")
            .clicked()
        {
            player.play(!playing);
        }
        let real = player.hears();
        for (on, name) in [(false, "this amp"), (true, "the recording")] {
            let response = ui.radio(real == on, name);
            if response.on_hover_text("Key R goes to the other.").clicked() {
                player.hear(on);
            }
        }
        region(ui, player);
    });
}

/// What is looped.
fn region(ui: &mut Ui, player: &dyn RecordingPlayer) {
    let [mut from, mut to] = player.region();
    let label = ui.label("loop from");
    let drag = |value| {
        DragValue::new(value)
            .speed(0.05)
            .custom_formatter(|x, _| fixed(x, 1))
            .suffix(" s")
    };
    let first = ui.add(drag(&mut from).range(0.0..=1e4));
    let first = first.labelled_by(label.id);
    let label = ui.label("to");
    let second = ui.add(drag(&mut to).range(0.0..=1e4)).labelled_by(label.id);
    if first.changed() || second.changed() {
        player.set_region(Some([from, to.max(from)]));
    }
    if ui.button("All of it").clicked() {
        player.set_region(None);
    }
}
