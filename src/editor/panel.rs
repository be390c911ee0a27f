//! What a panel over the right column is given, and the result that it shows.

use super::analyses::background::{BackgroundTask, Outcome, Repaint};
use super::analyses::reports::{Quick, Request};
use super::editing::Editing;
use super::files::state::Files;
use super::view::View;
use egui::{ProgressBar, Ui};
use std::sync::Arc;

/// What a panel may look at and do in one frame.
pub struct PanelContext<'a, 'h> {
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

/// A result beside the numbers that it answers.
pub struct TaskResult<T> {
    /// The numbers.
    pub request: Request,
    /// The result, or why there is none.
    pub what: Result<T, String>,
}

/// A background task and what it brought last; that stays while the next one runs, or after it was
/// called off.
pub struct LatestResult<T> {
    background: BackgroundTask<TaskResult<T>>,
    last: Option<Arc<TaskResult<T>>>,
    /// What is to be said of the background task that ended without a result.
    note: &'static str,
}

impl<T: Send + Sync + 'static> LatestResult<T> {
    /// Nothing is asked for yet.
    pub fn new(repaint: &Repaint) -> Self {
        LatestResult {
            background: BackgroundTask::new(Arc::clone(repaint)),
            last: None,
            note: "",
        }
    }

    /// Whether the background task runs.
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
            Some(TaskResult { request, what })
        });
    }

    /// Takes what the background task brought, once a frame. Whether it brought something just now.
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

    /// What came last, and whether it is of other numbers than those that stand now; nothing of
    /// another amp, whose parts may have the same names.
    pub fn last(&self, now: &Request) -> Option<(Arc<TaskResult<T>>, bool)> {
        let (last, stale) = self.last_of_any_amp(now)?;
        Arc::ptr_eq(&last.request.amp, &now.amp).then_some((last, stale))
    }

    /// The same where it is said whose it is.
    pub fn last_of_any_amp(&self, now: &Request) -> Option<(Arc<TaskResult<T>>, bool)> {
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
