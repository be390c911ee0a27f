//! The match over the right column: a recording of a real amp beside this one, which parts may
//! differ, and the values that make this amp sound like it.

use super::drive::DrivePart;
use super::hear;
use super::recorded::{Recorded, Recording};
use super::report;
use super::request::{FitSettings, fitted};
use super::target_curve;
use super::vary;
use crate::editor::analyses::background::Repaint;
use crate::editor::analyses::reports::Request;
use crate::editor::edit::{Edit, PluginSetting};
use crate::editor::files::thread::Want;
use crate::editor::panel::{LatestResult, PanelContext};
use crate::editor::theme::heading;
use crate::editor::view::{MatchView, Stock};
use crate::editor::widgets::{dimmed, head, scrolled, sentence};
use crate::live::{Adjustable, AdjustableKind};
use crate::recording::fit::{FitReport, Taken};
use crate::units::peak_volts_from_dbu;
use egui::{Button, Label, RichText, TextEdit, Ui};
use std::sync::Arc;

/// What the panel remembers.
pub struct MatchPanel {
    /// The recording, which the curve shows too.
    pub recording: Recording,
    fitted: LatestResult<FitReport>,
    drive: DrivePart,
    /// What the last match was asked with beside the numbers.
    asked: Option<FitSettings>,
    /// What became of a proposal that was taken over.
    message: String,
}

/// How a recording may have been taken.
const TAKEN: [(Taken, &str, &str); 3] = [
    (
        Taken::Microphone,
        "microphone",
        "A loudspeaker that is not known, a microphone and a room are in the recording. They may \
         explain broad bumps and slopes, so that fewer parts are told.",
    ),
    (
        Taken::KnownLoudspeaker,
        "microphone, known",
        "The microphone heard what stands under HEARD THROUGH: this amp's loudspeaker, or the \
         impulse response.",
    ),
    (
        Taken::Line,
        "line or dummy load",
        "The voltage at the loudspeaker, with neither loudspeaker nor room in it: tells most.",
    ),
];

/// Where parts may come from.
const STOCK: [(Stock, &str, &str); 3] = [
    (
        Stock::E12,
        "E12",
        "Twelve values a decade: what every shop has.",
    ),
    (Stock::E24, "E24", "Twenty-four values a decade."),
    (
        Stock::Drawer,
        "my drawer",
        "A small file that lists the parts you have.",
    ),
];

impl MatchPanel {
    /// Nothing is loaded yet.
    pub fn new(repaint: &Repaint) -> Self {
        MatchPanel {
            recording: Recording::new(repaint),
            fitted: LatestResult::new(repaint),
            drive: DrivePart::new(repaint),
            asked: None,
            message: String::new(),
        }
    }

    /// Takes what came meanwhile, once a frame, whether the panel is open or not.
    pub fn pump(&mut self, edit: &dyn Edit) {
        if self.recording.take() {
            self.message = match (self.recording.recorded(), edit.recording()) {
                (Some(recorded), Some(player)) => {
                    let put = player.put(&recorded.heard, recorded.heard_dry.as_deref());
                    put.err().unwrap_or_default()
                }
                _ => String::new(),
            };
        }
        self.fitted.take();
        self.drive.pump();
    }

    /// Shows the panel.
    pub fn show(&mut self, ui: &mut Ui, context: &mut PanelContext) {
        ui.horizontal_wrapped(|ui| {
            head(ui, context.view, "MATCH", "Close match");
            ui.label("Which part values would make this amp sound like a recorded one?");
        });
        scrolled(ui, "match", |ui| {
            self.files(ui, context);
            if let Some(recorded) = self.recording.recorded() {
                ui.separator();
                target_curve::show(ui, recorded, context);
                hear::show(ui, context.editing.edit);
                about(ui, recorded);
                ui.separator();
                heading(ui, "WHICH PARTS MAY DIFFER");
                let name = context.request.amp.circuit().name().to_owned();
                vary::show(ui, context.request, context.view.vary_of(&name));
                self.fit(ui, context);
                self.answer(ui, context);
                if let Some(recorded) = self.recording.recorded() {
                    self.drive.show(ui, context, recorded);
                }
            }
        });
    }

    /// The two files.
    fn files(&mut self, ui: &mut Ui, context: &mut PanelContext) {
        let mut load = false;
        for (name, hint, want) in [
            ("recording", "WAV of the real amp", Want::Recording),
            (
                "dry track",
                "WAV of the guitar alone, if there is one",
                Want::Dry,
            ),
        ] {
            ui.horizontal(|ui| {
                let text = match want {
                    Want::Dry => &mut context.view.matching.dry,
                    _ => &mut context.view.matching.recording,
                };
                let label = ui.add_sized([62.0, 18.0], Label::new(name));
                let field = TextEdit::singleline(text)
                    .id(egui::Id::unique(("match", name)))
                    .desired_width((ui.available_width() - 90.0).max(80.0))
                    .hint_text(hint);
                let response = ui.add(field).labelled_by(label.id);
                load |= response.lost_focus() && ui.input(|i| i.key_pressed(egui::Key::Enter));
                if ui
                    .button("Choose…")
                    .on_hover_text(format!("Choose the {name}'s file."))
                    .clicked()
                {
                    context.files.thread.pick(want);
                }
            });
        }
        let asked = &context.view.matching;
        let ready = !asked.recording.trim().is_empty() && !self.recording.reads();
        ui.horizontal_wrapped(|ui| {
            let button = ui.add_enabled(ready, Button::new("Load recording"));
            load |= button.on_hover_text("Reads and measures it.").clicked();
            let any = self.recording.recorded().is_some();
            if ui
                .add_enabled(any, Button::new("Take recording off"))
                .clicked()
            {
                self.recording.forget();
            }
            if self.recording.reads() {
                ui.label("Measuring…");
            }
        });
        if load && ready {
            let rate = context.editing.edit.rate();
            self.recording.load(&asked.recording, &asked.dry, rate);
        }
        if !self.message.is_empty() {
            ui.add(Label::new(RichText::new(&self.message).strong()).wrap());
        }
        for fault in self.recording.faults() {
            ui.add(Label::new(RichText::new(fault).strong()).wrap());
        }
        if self.recording.recorded().is_none() && !self.recording.reads() {
            ui.label(
                "Best: play a clean guitar track through the amp, and load both. Without the dry \
                 track only spectra can be compared, which tells much less.",
            );
        }
    }

    /// How it was taken, where parts come from, and the button.
    fn fit(&mut self, ui: &mut Ui, context: &mut PanelContext) {
        ui.horizontal_wrapped(|ui| {
            ui.label("recorded with");
            for (taken, name, about) in TAKEN {
                let known = context.request.cabinet.name(context.request.amp.circuit());
                let possible = taken != Taken::KnownLoudspeaker || known.is_some();
                ui.add_enabled_ui(possible, |ui| {
                    ui.radio_value(&mut context.view.matching.taken, taken, name)
                        .on_hover_text(about);
                });
            }
        });
        ui.horizontal_wrapped(|ui| {
            ui.label("parts from");
            for (stock, name, about) in STOCK {
                ui.radio_value(&mut context.view.matching.stock, stock, name)
                    .on_hover_text(about);
            }
            if context.view.matching.stock == Stock::Drawer {
                let label = ui.label("drawer file");
                let field = TextEdit::singleline(&mut context.view.matching.drawer)
                    .id(egui::Id::unique("drawer file"))
                    .desired_width(160.0)
                    .hint_text("drawer.toml");
                ui.add(field).labelled_by(label.id);
                if ui.button("Choose a drawer…").clicked() {
                    context.files.thread.pick(Want::Drawer);
                }
            }
        });
        ui.checkbox(
            &mut context.view.matching.measured,
            "all other parts and valves were measured",
        )
        .on_hover_text(
            "Else they may lie anywhere within their tolerances, and fewer parts are told.",
        );
        let asked = self.asked(context);
        let ready = asked.as_ref().is_some_and(|a| !a.names.is_empty()) && !self.fitted.runs();
        let mut start = false;
        ui.horizontal_wrapped(|ui| {
            start = ui
                .add_enabled(ready, Button::new("Find values"))
                .on_disabled_hover_text("Tick the parts that may differ first.")
                .clicked();
            self.fitted.progress(ui, "finding values");
        });
        if start && let Some(asked) = asked {
            self.message.clear();
            self.asked = Some(asked.clone());
            let recorded = self.recording.recorded().cloned();
            self.fitted.start(context.request, move |request, go_on| {
                let recorded = recorded.as_ref()?;
                fitted(request, &asked, recorded, go_on)
            });
        }
    }

    fn asked(&self, context: &mut PanelContext) -> Option<FitSettings> {
        let recorded = self.recording.recorded()?;
        let name = context.request.amp.circuit().name().to_owned();
        let MatchView {
            taken,
            measured,
            stock,
            drawer,
            ..
        } = context.view.matching.clone();
        Some(FitSettings {
            names: context.view.vary_of(&name).clone(),
            taken,
            measured,
            stock,
            drawer: drawer.trim().to_owned(),
            of: (
                recorded.target.name.clone(),
                recorded.target.dry_name.clone(),
            ),
            full_scale_volts: peak_volts_from_dbu(
                context.editing.edit.setting(PluginSetting::InputFullScale),
            ),
        })
    }

    fn answer(&mut self, ui: &mut Ui, context: &mut PanelContext) {
        let Some((answer, moved)) = self.fitted.last(context.request) else {
            return;
        };
        let moved = moved && moved_from(&answer.request, context.request, self.asked.as_ref())
            || !answer.request.cabinet.same(&context.request.cabinet);
        let stale = moved || self.asked != self.asked(context);
        ui.separator();
        if stale {
            ui.strong("Out of date: something has changed. Run it again.");
        }
        let recorded = self.recording.recorded();
        let said = recorded.map_or(Vec::new(), |recorded| recorded.target.notes.clone());
        let mut take = None;
        dimmed(ui, stale, |ui| match &answer.what {
            Ok(found) => take = report::show(ui, found, &said),
            Err(fault) => {
                for line in fault.lines() {
                    ui.add(Label::new(RichText::new(line).strong()).wrap());
                }
            }
        });
        if let Some(proposal) = take {
            let what = format!("the match with {}", self.of());
            let of = &answer.request.amp;
            context
                .files
                .apply_proposal(&proposal, of, &what, context.editing);
            self.message = context.files.message.clone();
        }
    }

    fn of(&self) -> String {
        self.recording
            .recorded()
            .map_or_else(String::new, |recorded| recorded.target.name.clone())
    }
}

/// Whether what was fitted started from something else than what stands now. The proposal may move,
/// and so may the controls that were sought: taking over what was found turns them.
fn moved_from(then: &Request, now: &Request, asked: Option<&FitSettings>) -> bool {
    let sought = |adjustable: &Adjustable| {
        let name = |asked: &FitSettings| asked.names.contains(&adjustable.designator);
        adjustable.kind == AdjustableKind::Turn && asked.is_some_and(name)
    };
    let pairs = then.as_found.iter().zip(&now.as_found);
    let mut all = now.amp.adjustables().iter().zip(pairs);
    !Arc::ptr_eq(&then.amp, &now.amp)
        || all.any(|(adjustable, (then, now))| !adjustable.same(*then, *now) && !sought(adjustable))
}

/// What the recording shows in words.
fn about(ui: &mut Ui, recorded: &Recorded) {
    let target = &recorded.target;
    for note in &target.notes {
        sentence(ui, note);
    }
}
