//! The readings over the right column: volts that somebody has, against those of healthy amps; what
//! would explain what is off; and the readings taken as what the amp has now.

use super::compared::{Compared, ReadingsRequest, compare};
use super::rows::{Row, band_in_words, rows};
use super::taken::Taken;
use crate::advice::readings::{Judgement, MeasuredReport};
use crate::advice::safety::{CAUTIONS, VOLTAGES};
use crate::editor::analyses::background::Repaint;
use crate::editor::panel::{LatestResult, PanelContext, TaskResult};
use crate::editor::theme::{heading, ink};
use crate::editor::view::{Typed, TypedSet};
use crate::editor::widgets::{dimmed, head, scrolled, wide};
use egui::{Button, Label, RichText, TextEdit, Ui};
use std::sync::Arc;

/// What the panel remembers.
pub struct ReadingsPanel {
    rows: LatestResult<Vec<Row>>,
    compared: LatestResult<Compared>,
    /// What the last comparison was of, beside the numbers.
    asked: Option<ReadingsRequest>,
    /// What became of readings that were taken as found.
    taken: Taken,
}

/// What the user asked for in this frame.
#[derive(Default)]
struct Wanted {
    compare: bool,
    take: bool,
}

impl ReadingsPanel {
    /// Nothing is compared yet.
    pub fn new(repaint: &Repaint) -> Self {
        ReadingsPanel {
            rows: LatestResult::new(repaint),
            compared: LatestResult::new(repaint),
            asked: None,
            taken: Taken::default(),
        }
    }

    /// Shows the panel.
    pub fn show(&mut self, ui: &mut Ui, context: &mut PanelContext) {
        self.rows.take();
        self.compared.take();
        let old = self
            .rows
            .last(context.request)
            .is_none_or(|(_, stale)| stale);
        if old && context.still && !self.rows.runs() {
            self.rows.start(context.request, rows);
        }
        let mut wanted = Wanted::default();
        ui.horizontal_wrapped(|ui| {
            head(ui, context.view, "READINGS", "Close readings");
            self.buttons(ui, context, &mut wanted);
        });
        scrolled(ui, "readings", |ui| {
            ui.add(Label::new(RichText::new(CAUTIONS[0]).strong()).wrap());
            ui.add(Label::new(VOLTAGES).wrap());
            ui.separator();
            asked_for(ui, context);
            self.table(ui, context, &mut wanted);
            self.answer(ui, context, &mut wanted);
        });
        if wanted.compare && !self.compared.runs() {
            let asked = asked(context);
            self.asked = Some(asked.clone());
            self.taken = Taken::default();
            self.compared.start(context.request, move |request, go_on| {
                compare(request, &asked, go_on)
            });
        }
        if wanted.take {
            self.take(context);
        }
    }

    fn buttons(&mut self, ui: &mut Ui, context: &mut PanelContext, wanted: &mut Wanted) {
        let any = !asked(context).typed.is_empty();
        let ready = any && !self.compared.runs();
        let button = ui.add_enabled(ready, Button::new("Compare"));
        wanted.compare = button
            .on_hover_text("Enter in a field does the same.")
            .clicked();
        if ui.add_enabled(any, Button::new("Clear readings")).clicked() {
            set_of(context).typed.clear();
        }
        self.compared.progress(ui, "comparing");
        self.rows.progress(ui, "working out what is expected");
    }

    fn table(&mut self, ui: &mut Ui, context: &mut PanelContext, wanted: &mut Wanted) {
        let Some((answer, stale)) = self.rows.last(context.request) else {
            ui.label("What is expected is being worked out…");
            return;
        };
        let rows = match &answer.what {
            Ok(rows) => rows,
            Err(fault) => {
                ui.add(Label::new(RichText::new(fault).strong()).wrap());
                return;
            }
        };
        if stale {
            ui.label(
                "What is expected is of before; it is worked out anew when the values stand still.",
            );
        }
        let weak = ink(ui.visuals()).weak;
        let both = answer.request.anything_proposed();
        let results = self.results(context);
        wide(ui, "readings", |ui| {
            // What is typed stands beside the name, so that it is in sight in a narrow column.
            let mut titles = vec!["where", "reading, V", "it is", "expected as found, V"];
            if both {
                titles.push("expected proposed, V");
            }
            for title in titles {
                ui.label(RichText::new(title).size(12.0).color(weak));
            }
            ui.end_row();
            for row in rows {
                let about = match row.what.as_str() {
                    "" => format!("Node {} of the circuit file.", row.node),
                    what => format!("{what}; node {} of the circuit file.", row.node),
                };
                ui.add(Label::new(&row.name).wrap_mode(egui::TextWrapMode::Extend))
                    .on_hover_text(about);
                if field(ui, context, row) {
                    wanted.compare = true;
                }
                match &results {
                    Some((compared, stale)) => result(ui, row, compared, *stale),
                    None => {
                        ui.label("");
                    }
                }
                expected(ui, row, "as found", row.expected.as_found, stale);
                if both {
                    expected(ui, row, "proposed", row.expected.proposed, stale);
                }
                ui.end_row();
            }
        });
        ui.label(
            "Expected is what 98 of 100 amps of this model read, parts within their tolerances, \
             new valves, mains within ±5 %.",
        );
    }

    /// What came of the last comparison, and whether it is of other readings or other values.
    fn results(&self, context: &mut PanelContext) -> Option<(Arc<TaskResult<Compared>>, bool)> {
        let (answer, stale) = self.compared.last(context.request)?;
        let other = self.asked.as_ref() != Some(&asked(context));
        Some((answer, stale || other))
    }

    fn answer(&mut self, ui: &mut Ui, context: &mut PanelContext, wanted: &mut Wanted) {
        self.taken.show(ui, context);
        let Some((answer, stale)) = self.results(context) else {
            return;
        };
        ui.separator();
        if stale {
            ui.strong("Of before: a reading or a value has changed since. Compare again.");
        }
        let compared = match &answer.what {
            Ok(compared) => compared,
            Err(fault) => {
                ui.add(Label::new(RichText::new(fault).strong()).wrap());
                return;
            }
        };
        dimmed(ui, stale, |ui| {
            for (point, fault) in &compared.faults {
                let words = match point.as_str() {
                    "" => format!("Not read: {fault}"),
                    point => format!("{point}, not read: {fault}"),
                };
                line(ui, &words);
            }
            if let Some(report) = &compared.report {
                report_of(ui, report);
            }
        });
        if compared.next.is_some() {
            ui.add_space(4.0);
            let button = Button::new("Take these readings as found");
            let button = ui.add_enabled(!stale, button).on_hover_text(
                "Sets the supplies such that what was measured comes out; what was done to the amp \
                 is as found from now on.",
            );
            wanted.take = button.clicked();
        }
    }

    /// The readings become what the amp has now.
    fn take(&mut self, context: &mut PanelContext) {
        let Some((answer, false)) = self.compared.last(context.request) else {
            return;
        };
        let Ok(compared) = &answer.what else {
            return;
        };
        let Some((next, text)) = &compared.next else {
            return;
        };
        let left = self.asked.as_ref().is_some_and(|asked| asked.left);
        self.taken = Taken::take(next, text.as_deref(), left, context);
    }
}

/// What the readings are to be, and which amp they are compared with.
fn asked_for(ui: &mut Ui, context: &mut PanelContext) {
    ui.label(
        "Type the readings that you or a technician have: volts to ground, without signal, with a \
         digital meter of 10 MΩ.",
    );
    ui.horizontal_wrapped(|ui| {
        ui.label("compare with the amp:");
        let proposed = context.request.anything_proposed();
        let set = set_of(context);
        if !proposed {
            set.left = false;
        }
        ui.radio_value(&mut set.left, false, "as found");
        ui.add_enabled_ui(proposed, |ui| {
            ui.radio_value(&mut set.left, true, "as proposed (after the work)");
        });
    });
}

/// The typed readings of the loaded amp.
fn set_of<'a>(context: &'a mut PanelContext) -> &'a mut TypedSet {
    context
        .view
        .readings_of(context.editing.amp.circuit().name())
}

/// What a comparison would be of now.
fn asked(context: &mut PanelContext) -> ReadingsRequest {
    let set = set_of(context);
    let typed = set.typed.iter();
    ReadingsRequest {
        left: set.left,
        typed: typed
            .filter(|one| !one.volts.trim().is_empty())
            .cloned()
            .collect(),
    }
}

/// The field of a row. Whether its reading was finished just now.
fn field(ui: &mut Ui, context: &mut PanelContext, row: &Row) -> bool {
    let set = set_of(context);
    let known = set.typed.iter_mut().find(|one| one.point == row.point);
    let mut new = Typed {
        point: row.point.clone(),
        volts: String::new(),
    };
    let here = known.is_some();
    let text = known.map_or(&mut new.volts, |one| &mut one.volts);
    let edit = TextEdit::singleline(text)
        .id(egui::Id::unique(("reading", &row.point)))
        .char_limit(16)
        .desired_width(58.0);
    let response = ui.add(edit).on_hover_text("Volts, such as 298 or 1.35");
    let response = response.accessible_name(format!("reading at {}", row.name));
    let any = !text.trim().is_empty();
    if response.changed() && !here {
        set.typed.push(new);
    }
    any && response.lost_focus() && ui.input(|i| i.key_pressed(egui::Key::Enter))
}

fn expected(ui: &mut Ui, row: &Row, side: &str, band: [f64; 2], stale: bool) {
    let text = band_in_words(band);
    let said = format!("{}, expected {side}: {text} V", row.name);
    dimmed(ui, stale, |ui| {
        ui.label(&text)
            .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
    });
}

/// What a reading says, in words; what is off also in weight and with a line under it.
fn result(ui: &mut Ui, row: &Row, answer: &TaskResult<Compared>, stale: bool) {
    let Ok(compared) = &answer.what else {
        ui.label("");
        return;
    };
    let readings = compared.report.iter().flat_map(|report| &report.readings);
    let mut readings = readings.filter(|reading| reading.point == row.point);
    let text = match readings.next() {
        Some(reading) => reading.judgement.in_words(),
        None if compared.faults.iter().any(|(p, _)| *p == row.point) => "NOT READ",
        None => {
            ui.label("");
            return;
        }
    };
    let rich = match text == Judgement::Within.in_words() {
        true => RichText::new(text),
        false => RichText::new(text).strong().underline(),
    };
    let said = format!("{}, the reading is {}", row.name, text.to_lowercase());
    dimmed(ui, stale, |ui| {
        ui.label(rich)
            .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
    });
}

fn report_of(ui: &mut Ui, report: &MeasuredReport) {
    for sentence in &report.sentences {
        line(ui, sentence);
    }
    if !report.suspects.is_empty() {
        ui.add_space(4.0);
        heading(ui, "WHAT WOULD EXPLAIN IT, THE LIKELIEST FIRST");
        ui.label("Look at these once the amp is off, unplugged and discharged.");
        for (number, suspect) in report.suspects.iter().enumerate() {
            let words = format!("{}. {}", number + 1, suspect.sentence);
            ui.add(Label::new(RichText::new(words).size(15.0)).wrap());
            ui.add(Label::new(&suspect.look).wrap());
        }
    }
    ui.add_space(4.0);
    heading(ui, "HOW THE READINGS ARE COMPARED");
    for note in &report.notes {
        ui.add(Label::new(note).wrap());
    }
}

fn line(ui: &mut Ui, text: &str) {
    ui.horizontal_top(|ui| {
        ui.label("–");
        ui.add(Label::new(text).wrap());
    });
}
