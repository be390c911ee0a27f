//! The panels over the right column whose work takes seconds: what they share, and where each is
//! shown. Their work runs as background tasks; what they show is told to be of before once the
//! values move.

use super::analyses::background::Repaint;
use super::analyses::reports::Request;
use super::edit::Edit;
use super::files::state::Files;
use super::fit::panel::MatchPanel;
use super::fit::recorded::Recorded;
use super::job_sheet::panel::SheetPanel;
use super::loads::panel::LoadsPanel;
use super::panel::PanelContext;
use super::readings::panel::ReadingsPanel;
use super::spread::panel::SpreadPanel;
use super::view::Over;
use egui::Ui;

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

    /// The loaded recording.
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
    pub fn show(&mut self, ui: &mut Ui, context: &mut PanelContext) {
        match context.view.over {
            Over::Spread => self.spread.show(ui, context),
            Over::JobSheet => self.job_sheet.show(ui, context),
            Over::Readings => self.readings.show(ui, context),
            Over::Match => self.matching.show(ui, context),
            Over::Loads => self.loads.show(ui, context),
            Over::Files | Over::Nothing => {}
        }
    }
}
