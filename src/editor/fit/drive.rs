//! How hard the recorded amp was driven: a hint at volume setting and input level, with its doubt.

use super::recorded::Recorded;
use crate::editor::analyses::background::Repaint;
use crate::editor::edit::PluginSetting;
use crate::editor::history::Version;
use crate::editor::panel::{LatestResult, PanelContext};
use crate::editor::theme::heading;
use crate::editor::widgets::{dimmed, sentence};
use crate::recording::drive_hint::{DriveHint, NO_HINT};
use crate::requests::drive::DriveRequest;
use egui::{Button, Ui};

/// What is remembered of it.
pub struct DrivePart {
    hint: LatestResult<Option<DriveHint>>,
}

impl DrivePart {
    /// Nothing is compared yet.
    pub fn new(repaint: &Repaint) -> Self {
        DrivePart {
            hint: LatestResult::new(repaint),
        }
    }

    /// Takes what came, once a frame.
    pub fn pump(&mut self) {
        self.hint.take();
    }

    /// Shows it, where there is a dry track.
    pub fn show(&mut self, ui: &mut Ui, context: &mut PanelContext, recorded: &Recorded) {
        let Some(dry) = &recorded.dry else {
            return;
        };
        ui.separator();
        ui.horizontal_wrapped(|ui| {
            heading(ui, "HOW HARD WAS IT DRIVEN");
            let button = ui.add_enabled(!self.hint.runs(), Button::new("Compare drive"));
            let button = button.on_hover_text(
                "Plays the proposed amp at several volumes and input levels, and finds where it \
                 bends the sound as the recorded one does.",
            );
            if button.clicked() {
                let (recording, dry) = (recorded.recording.clone(), dry.clone());
                let target = recorded.target.clone();
                self.hint.start(context.request, move |request, go_on| {
                    let amp = match request.solved() {
                        Ok(amp) => amp,
                        Err(fault) => return Some(Err(fault)),
                    };
                    let request = DriveRequest {
                        amp: &amp,
                        recording: &recording,
                        dry: &dry,
                        target: &target,
                    };
                    request.answer(go_on).map(Ok)
                });
            }
            self.hint.progress(ui, "comparing");
        });
        let Some((answer, stale)) = self.hint.last(context.request) else {
            return;
        };
        if stale {
            ui.strong("Of before: the values have changed since.");
        }
        dimmed(ui, stale, |ui| match &answer.what {
            Ok(Some(hint)) => told(ui, context, hint),
            Ok(None) => sentence(ui, NO_HINT),
            Err(fault) => {
                ui.strong(fault);
            }
        });
    }
}

fn told(ui: &mut Ui, context: &mut PanelContext, hint: &DriveHint) {
    sentence(ui, &hint.sentence);
    let button = ui.button("Set volume and input level so");
    if button.clicked() {
        if let Some(adjustable) = context.request.amp.find(&hint.control) {
            context
                .editing
                .set(adjustable, Version::Proposed, hint.position);
        }
        let edit = context.editing.edit;
        edit.set_setting(PluginSetting::InputFullScale, hint.full_scale_dbu);
    }
}
