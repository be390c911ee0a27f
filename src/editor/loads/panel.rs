//! The loudspeakers over the right column: what each way of connecting them does to the output
//! stage, and another one proposed so that it is heard.

use super::report::{details, plugged_in, table};
use super::swap::{numbers, propose, stands};
use crate::analysis::load::{LoadCase, LoadReport, NEVER, Way, loaded};
use crate::editor::analyses::background::Repaint;
use crate::editor::analyses::reports::Request;
use crate::editor::edit::PluginSetting;
use crate::editor::panel::{LatestResult, PanelContext, TaskResult};
use crate::editor::widgets::{dimmed, head, scrolled};
use crate::live::AdjustableKind;
use crate::requests::loads::LoadsRequest;
use crate::text::digits::significant;
use egui::{Button, Label, RichText, Ui};
use std::sync::Arc;

/// What the panel remembers.
pub struct LoadsPanel {
    worked: LatestResult<LoadReport>,
    /// The way whose row is chosen.
    chosen: Way,
}

impl LoadsPanel {
    /// Nothing is worked out yet.
    pub fn new(repaint: &Repaint) -> Self {
        LoadsPanel {
            worked: LatestResult::new(repaint),
            chosen: Way::AsItIs,
        }
    }

    /// Shows the panel.
    pub fn show(&mut self, ui: &mut Ui, context: &mut PanelContext) {
        self.worked.take();
        ui.horizontal_wrapped(|ui| {
            head(ui, context.view, "LOUDSPEAKERS", "Close loudspeakers");
            ui.label("What happens to the amp when something else is plugged in?");
        });
        scrolled(ui, "loudspeakers", |ui| {
            ui.add(Label::new(RichText::new(NEVER).strong()).wrap());
            self.asked_for(ui, context);
            if let Some((answer, _)) = self.worked.last_of_any_amp(context.request) {
                ui.separator();
                self.answer(ui, context, &answer);
            }
        });
    }

    /// The button, or why there is nothing to work out.
    fn asked_for(&mut self, ui: &mut Ui, context: &PanelContext) {
        if let Err(fault) = loaded(context.request.amp.circuit()) {
            ui.add(Label::new(fault.to_string()).wrap());
            return;
        }
        ui.horizontal_wrapped(|ui| {
            let ready = !self.worked.runs();
            let button = ui.add_enabled(ready, Button::new("Work out loudspeakers"));
            let button = button.on_hover_text(
                "Solves the whole amp with each loudspeaker that is known here, with a second one, \
                 and with none. Takes some seconds.",
            );
            if button.clicked() {
                self.worked.start(context.request, work);
            }
            ui.label(match context.request.anything_proposed() {
                true => "of the amp as proposed",
                false => "of the amp as found: nothing is proposed",
            });
            self.worked.progress(ui, "working out");
        });
    }

    fn answer(&mut self, ui: &mut Ui, context: &mut PanelContext, answer: &TaskResult<LoadReport>) {
        let report = match &answer.what {
            Ok(report) => report,
            Err(fault) => {
                // Of an amp that has gone meanwhile it would only confuse.
                if Arc::ptr_eq(&answer.request.amp, &context.request.amp) {
                    ui.add(Label::new(RichText::new(fault).strong()).wrap());
                }
                return;
            }
        };
        let ways: Vec<&Way> = report.cases.iter().map(|case| &case.way).collect();
        let now = stands(&answer.request, context.request, &ways);
        if now.is_none() {
            ui.strong("Of before: something has changed since. Work it out again.");
        }
        dimmed(ui, now.is_none(), |ui| {
            ui.add(Label::new(report_of(report, context.request)).wrap());
            if let Some(way) = table(ui, report, &self.chosen, now) {
                self.chosen = way;
            }
            for sentence in &report.unsolved {
                ui.add(Label::new(RichText::new(sentence).strong()).wrap());
            }
        });
        let chosen = report.cases.iter().find(|case| case.way == self.chosen);
        let Some(case) = chosen.or(report.cases.first()) else {
            return;
        };
        ui.add_space(4.0);
        details(ui, case, now.is_none(), |ui| {
            proposing(ui, context, &answer.request, [case, &report.cases[0]], now);
        });
        ui.collapsing("How the figures are meant", |ui| {
            for note in report.notes.iter().filter(|note| **note != NEVER) {
                ui.add(Label::new(*note).wrap());
            }
        });
    }
}

/// What the table is of.
fn report_of(report: &LoadReport, now: &Request) -> String {
    let other = match report.amp == now.amp.circuit().name() {
        true => String::new(),
        false => format!("{}, which is not on the bench now. ", report.amp),
    };
    format!(
        "{other}Behind the output transformer {}. Driven hard is a steady tone of {} V at the jack, \
         12 dB beyond full output: a test, harder than music. Click a row to read about it; what \
         is over a limit stands first, after the amp as it is.",
        report.transformer,
        significant(report.hard_input_volts, 2)
    )
}

/// The button that proposes a way, where the amp can connect the loudspeakers so; `first` is the
/// amp as it was.
fn proposing(
    ui: &mut Ui,
    context: &mut PanelContext,
    then: &Request,
    [case, first]: [&LoadCase; 2],
    now: Option<&Way>,
) {
    if now == Some(&case.way) {
        ui.add(Label::new(told_of_now(context, case, first)).wrap());
        return;
    }
    if case.way == Way::Nothing {
        return;
    }
    let Some(numbers) = numbers(then, &case.way) else {
        let words = "To hear this, write the second loudspeaker into the circuit file.";
        ui.add(Label::new(words).wrap());
        return;
    };
    let adjustables = then.amp.adjustables();
    let moved = numbers.iter().filter(|&&(adjustable, value)| {
        !adjustables[adjustable].same(value, then.proposed[adjustable])
    });
    let moved: Vec<String> = moved
        .map(|&(adjustable, value)| {
            let adjustable = &adjustables[adjustable];
            match adjustable.kind {
                AdjustableKind::Fitted => format!("{} plugged in", adjustable.designator),
                _ => format!("{} = {}", adjustable.designator, adjustable.text(value)),
            }
        })
        .collect();
    let name = match moved.is_empty() {
        true => "Propose the loudspeaker as it was".to_owned(),
        false => format!("Propose {}", moved.join(", ")),
    };
    // Of another amp, or when its other parts have moved, the row is of before: what it says is not
    // what would be heard.
    let button = ui.add_enabled(now.is_some(), Button::new(name));
    let button = button.on_hover_text("Puts it into the amp as proposed, to be heard at once.");
    let button = button.on_disabled_hover_text("The figures are of before: work them out again.");
    if button.clicked() {
        propose(then, &case.way, context.editing);
    }
}

/// What is said of the row that is proposed now.
fn told_of_now(context: &PanelContext, case: &LoadCase, first: &LoadCase) -> String {
    let edit = context.editing.edit;
    let mut words = match case.way {
        Way::AsItIs => "This is what is plugged in now.".to_owned(),
        _ => format!(
            "This is what is proposed now; \"as it is\" still means {}.",
            plugged_in(first)
        ),
    };
    if context.request.anything_proposed() && edit.setting(PluginSetting::Heard).round() == 0.0 {
        words.push_str(" Heard is the amp as found: choose \"proposed\" at the top to hear this.");
    }
    if edit.setting(PluginSetting::Cabinet).round() != 0.0 {
        words.push_str(
            " A loudspeaker's own tone is heard only with HEARD THROUGH set to loudspeaker.",
        );
    }
    words
}

fn work(
    request: &Request,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Option<Result<LoadReport, String>> {
    let circuits = match request.circuits() {
        Ok(circuits) => circuits,
        Err(fault) => return Some(Err(fault)),
    };
    let request = LoadsRequest {
        as_found: &circuits.as_found,
        proposed: Some(&circuits.proposed),
        catalogue: request.amp.catalogue(),
    };
    let report = request.answer(go_on)?;
    Some(report.map_err(|fault| fault.to_string()))
}
