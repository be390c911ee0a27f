//! The panels over the right column whose work takes seconds: what they share, and where each is
//! shown. Their work runs as errands; what they show is told to be of before once the values move.

use super::background::{BackgroundTask, Outcome, Repaint};
use super::edit::Edit;
use super::editing::Editing;
use super::files::Files;
use super::loads_panel::LoadsPanel;
use super::match_panel::MatchPanel;
use super::readings_panel::ReadingsPanel;
use super::recorded::Recorded;
use super::reports::{Quick, Request};
use super::sheet_panel::SheetPanel;
use super::spread_panel::SpreadPanel;
use super::theme::heading;
use super::view::{Over, View};
use egui::{ProgressBar, Ui};
use std::sync::Arc;

/// Work that nobody asked for with a button begins when the values have stood still for so long, s
/// (own choice: longer than the pause between two notches of a wheel).
const STILL: f64 = 0.35;

/// What the panels remember while the window lives.
pub struct Panels {
    spread: SpreadPanel,
    job_sheet: SheetPanel,
    readings: ReadingsPanel,
    matching: MatchPanel,
    loads: LoadsPanel,
    /// The numbers of the last frame, and since when they stand, seconds of the window's clock.
    stood: Option<(Request, f64)>,
}

/// What a panel may look at and do in one frame.
pub struct Desk<'a, 'h> {
    /// The numbers as they stand now.
    pub request: &'a Request,
    /// The curves of those numbers or of some just before.
    pub quick: Option<&'a Quick>,
    /// Whether they have stood still for a moment.
    pub still: bool,
    /// Edits.
    pub editing: &'a mut Editing<'h>,
    /// Files.
    pub files: &'a mut Files,
    /// The window's memory.
    pub view: &'a mut View,
}

impl Panels {
    /// Nothing is asked for yet. `repaint` is called when there is news.
    pub fn new(repaint: &Repaint) -> Panels {
        Panels {
            spread: SpreadPanel::new(repaint),
            job_sheet: SheetPanel::new(repaint),
            readings: ReadingsPanel::new(repaint),
            matching: MatchPanel::new(repaint),
            loads: LoadsPanel::new(repaint),
            stood: None,
        }
    }

    /// Takes what came meanwhile, once a frame, whether a panel is open or not.
    pub fn pump(&mut self, ui: &Ui, edit: &dyn Edit, files: &mut Files, request: &Request) {
        self.job_sheet.pump(files, request);
        self.matching.pump(edit);
        let now = ui.input(|i| i.time);
        let same = |(stood, _): &(Request, f64)| stood.same_values(request);
        if !self.stood.as_ref().is_some_and(same) {
            self.stood = Some((request.clone(), now));
        }
        if !self.still(now) {
            let wait = std::time::Duration::from_secs_f64(STILL);
            ui.ctx().request_repaint_after(wait);
        }
    }

    /// The recording on the bench.
    pub fn recorded(&self) -> Option<&Recorded> {
        self.matching.recording.recorded()
    }

    /// Whether the numbers have stood still for a moment.
    pub fn still(&self, now: f64) -> bool {
        self.stood
            .as_ref()
            .is_some_and(|(_, since)| now - since >= STILL)
    }

    /// Shows the panel that is open, if any of these is.
    pub fn show(&mut self, ui: &mut Ui, desk: &mut Desk) {
        match desk.view.over {
            Over::Spread => self.spread.show(ui, desk),
            Over::JobSheet => self.job_sheet.show(ui, desk),
            Over::Readings => self.readings.show(ui, desk),
            Over::Match => self.matching.show(ui, desk),
            Over::Loads => self.loads.show(ui, desk),
            Over::Files | Over::Nothing => {}
        }
    }
}

/// The head of a panel, which stays when the rest is scrolled: its name and what closes it.
pub fn head(ui: &mut Ui, view: &mut View, name: &str, close: &str) {
    heading(ui, name);
    if ui.button(close).clicked() {
        view.over = Over::Nothing;
    }
}

/// A table that is scrolled sideways where the column is too narrow for it.
pub fn wide(ui: &mut Ui, name: &str, rows: impl FnOnce(&mut Ui)) {
    egui::ScrollArea::horizontal()
        .id_salt((name, "sideways"))
        .show(ui, |ui| {
            egui::Grid::new(name)
                .striped(true)
                .spacing(egui::vec2(12.0, 3.0))
                .show(ui, rows);
        });
}

/// A result beside the numbers that it answers.
pub struct Answer<T> {
    /// The numbers.
    pub request: Request,
    /// The result, or why there is none.
    pub what: Result<T, String>,
}

/// An errand and what it brought last; that stays while the next one runs, or after it was called
/// off.
pub struct Desired<T> {
    background: BackgroundTask<Answer<T>>,
    last: Option<Arc<Answer<T>>>,
    /// What is to be said of the errand that ended without a result.
    note: &'static str,
}

impl<T: Send + Sync + 'static> Desired<T> {
    /// Nothing is asked for yet.
    pub fn new(repaint: &Repaint) -> Self {
        Desired {
            background: BackgroundTask::new(Arc::clone(repaint)),
            last: None,
            note: "",
        }
    }

    /// Whether the errand runs.
    pub fn runs(&self) -> bool {
        self.background.share().is_some()
    }

    /// Starts it for the numbers as they stand; `work` gives none when it is called off.
    pub fn start(
        &mut self,
        request: &Request,
        work: impl FnOnce(&Request, &mut dyn FnMut(f64) -> bool) -> Option<Result<T, String>>
        + Send
        + 'static,
    ) {
        let request = request.clone();
        self.note = "";
        self.background.start(move |go_on| {
            let what = work(&request, go_on)?;
            Some(Answer { request, what })
        });
    }

    /// Takes what the errand brought, once a frame. Whether it brought something just now.
    pub fn take(&mut self) -> bool {
        match self.background.outcome() {
            Some(Outcome::Done(answer)) => {
                let new = self
                    .last
                    .as_ref()
                    .is_none_or(|last| !Arc::ptr_eq(last, &answer));
                self.last = Some(answer);
                new
            }
            Some(Outcome::Cancelled) => {
                self.note = "Called off.";
                false
            }
            Some(Outcome::Failed) => {
                self.note = "This could not be computed.";
                false
            }
            None => false,
        }
    }

    /// What came last, and whether it is of other numbers than those that stand now.
    pub fn last(&self, now: &Request) -> Option<(Arc<Answer<T>>, bool)> {
        let last = self.last.as_ref()?;
        Some((Arc::clone(last), !last.request.same_values(now)))
    }

    /// While it runs: how far it is, and the button that calls it off. Else what became of it, if
    /// it brought nothing.
    pub fn progress(&self, ui: &mut Ui, doing: &str) {
        let Some(share) = self.background.share() else {
            if !self.note.is_empty() {
                ui.label(self.note);
            }
            return;
        };
        let percent = crate::text::digits::fixed(100.0 * share, 0);
        let text = format!("{doing}, {percent} %");
        ui.add(ProgressBar::new(share as f32).desired_width(90.0))
            .widget_info(|| egui::WidgetInfo::labeled(egui::Role::ProgressIndicator, true, &text));
        ui.label(&text);
        if ui.button("Call off").clicked() {
            self.background.call_off();
        }
    }
}
