//! The window's state, and what it does in a frame besides drawing: follows the amp and the project's
//! view, and asks for analyses.

use super::analyses::background::Repaint;
use super::analyses::reports::Request;
use super::analyses::worker::Worker;
use super::edit::{Edit, PluginSetting};
use super::editing::EditingState;
use super::files::prices::InUse;
use super::files::state::Files;
use super::levels::Levels;
use super::panels::Panels;
use super::parts::list_state::ListState;
use super::parts::rows::{Row, rows};
use super::schematic::SchematicState;
use super::spectrum::Spectrum;
use super::view::View;
use super::{cabinet, theme};
use crate::live::AdjustableKind;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

/// Frames while something sounds: 30 a second.
const FRAME: Duration = Duration::from_millis(33);

/// The window. One lives as long as its plugin instance, so that undo outlives closing the window.
pub struct Editor {
    pub(crate) view: View,
    /// The view's text as the host has it.
    pub(crate) stored: Option<String>,
    pub(crate) editing: EditingState,
    pub(crate) parts: ListState,
    pub(crate) schematic: SchematicState,
    pub(crate) rows: Vec<Row>,
    pub(crate) amp: Option<Arc<crate::live::LiveAmp>>,
    pub(crate) levels: Levels,
    pub(crate) spectrum: Spectrum,
    pub(crate) worker: Option<Worker>,
    pub(crate) files: Option<Files>,
    pub(crate) panels: Option<Panels>,
    pub(crate) prices: InUse,
    /// What the worker was asked for last: the numbers as they stand.
    pub(crate) request: Option<Request>,
    pub(crate) dressed: Option<(bool, egui::Context)>,
    /// The context that the threads wake; another one when the window is opened anew.
    pub(crate) waker: Arc<Mutex<Option<egui::Context>>>,
    pub(crate) settings_open: bool,
    pub(crate) safety_open: bool,
}

impl Default for Editor {
    fn default() -> Self {
        Editor::new()
    }
}

impl Editor {
    /// A window that was not opened yet. Threads start with its first frame.
    pub fn new() -> Self {
        Editor {
            view: View::default(),
            stored: None,
            editing: EditingState::default(),
            parts: ListState::default(),
            schematic: SchematicState::default(),
            rows: Vec::new(),
            amp: None,
            levels: Levels::default(),
            spectrum: Spectrum::default(),
            worker: None,
            files: None,
            panels: None,
            prices: InUse::new(),
            request: None,
            dressed: None,
            waker: Arc::default(),
            settings_open: false,
            safety_open: false,
        }
    }

    /// What comes before a frame is drawn: takes over what the host and the threads have. The
    /// window's clock, s.
    pub(crate) fn begin_frame(&mut self, ui: &mut egui::Ui, edit: &dyn Edit) -> f64 {
        let now = ui.input(|i| i.time);
        self.recall(edit);
        self.dress(ui.ctx());
        if let Some(files) = &mut self.files {
            files.pump(edit, &mut self.editing, &mut self.view, now);
            files.follow_prices(&mut self.prices, &self.view);
        }
        self.follow(edit);
        self.levels.take(edit.meters(), now);
        let rate = edit.rate().unwrap_or(0.0);
        self.spectrum
            .take(rate, now, |heard| edit.take_heard(heard));
        self.ask(edit);
        if let (Some(panels), Some(files), Some(request)) =
            (&mut self.panels, &mut self.files, &self.request)
        {
            panels.pump(ui, edit, files, request);
        }
        now
    }

    /// What comes after a frame was drawn: asks for what follows from an edit, and gives the host the
    /// view.
    pub(crate) fn end_frame(&mut self, ui: &mut egui::Ui, edit: &dyn Edit) {
        // Once more, so that what was just edited is computed during this frame and not the next.
        self.follow(edit);
        self.ask(edit);
        let text = self.view.text();
        if self.stored.as_ref() != Some(&text) {
            edit.set_view(text.clone());
            self.stored = Some(text);
        }
        if edit.rate().is_some() || self.spectrum.sounds() || self.levels.moving() {
            ui.ctx().request_repaint_after(FRAME);
        }
    }

    /// Waits until the quick analyses are done, or for so long; whether they are. For tests.
    pub fn wait_quick(&self, longest: Duration) -> bool {
        self.worker.as_ref().is_none_or(|w| w.wait_quick(longest))
    }

    /// Waits until all analyses are done, or for so long; whether they are. For tests.
    pub fn wait_all(&self, longest: Duration) -> bool {
        self.worker.as_ref().is_none_or(|w| w.wait_all(longest))
    }

    /// How long the last quick and slow work took. For tests and measurements.
    pub fn took(&self) -> (Option<Duration>, Option<Duration>) {
        let known = self.worker.as_ref().map(Worker::known);
        let known = known.unwrap_or_default();
        let quick = known.quick.and_then(|q| q.ok().map(|q| q.took));
        (quick, known.slow_took)
    }

    /// Takes over the view that the host has, if it is another than the one given to it last.
    fn recall(&mut self, edit: &dyn Edit) {
        let text = edit.view();
        if self.stored.as_ref() != Some(&text) {
            self.view = View::read(&text);
            self.prices.forget();
            self.stored = Some(text);
        }
    }

    /// Theme, size, and the threads, which need a context to ask for frames.
    fn dress(&mut self, context: &egui::Context) {
        let same = self
            .dressed
            .as_ref()
            .is_some_and(|(dark, known)| *dark == self.view.dark && known == context);
        if !same {
            let other = self
                .dressed
                .as_ref()
                .is_none_or(|(_, known)| known != context);
            theme::dress(context, self.view.dark);
            context.options_mut(|options| options.zoom_with_keyboard = false);
            self.dressed = Some((self.view.dark, context.clone()));
            if other {
                theme::fonts(context);
                let mut waker = self.waker.lock().unwrap_or_else(PoisonError::into_inner);
                *waker = Some(context.clone());
            }
        }
        if self.worker.is_none() {
            self.worker = Some(Worker::new(self.wake()));
            self.files = Some(Files::new(self.wake()));
            let wake: Repaint = Arc::new(self.wake());
            self.panels = Some(Panels::new(&wake));
        }
        if (context.zoom_factor() - self.view.zoom).abs() > 1e-3 {
            context.set_zoom_factor(self.view.zoom);
        }
    }

    /// What the threads do when there is something new.
    fn wake(&self) -> impl Fn() + Send + Sync + 'static {
        let waker = Arc::clone(&self.waker);
        move || {
            let waker = waker.lock().unwrap_or_else(PoisonError::into_inner);
            if let Some(context) = waker.as_ref() {
                context.request_repaint();
            }
        }
    }

    /// Follows the loaded amp.
    fn follow(&mut self, edit: &dyn Edit) {
        let amp = edit.amp();
        if self
            .amp
            .as_ref()
            .is_none_or(|known| !Arc::ptr_eq(known, &amp))
        {
            self.rows = rows(&amp);
            self.parts.values.clear();
            self.editing.follow(&amp);
            self.amp = Some(amp);
        }
    }

    /// Asks the worker for what the numbers are now.
    fn ask(&mut self, edit: &dyn Edit) {
        let (Some(amp), Some(worker)) = (&self.amp, &mut self.worker) else {
            return;
        };
        let proposed: Vec<f64> = (0..amp.adjustables().len())
            .map(|adjustable| edit.proposed(adjustable))
            .collect();
        let mut as_found = amp.all_as_found();
        for (adjustable, one) in amp.adjustables().iter().enumerate() {
            // The player's knobs stand the same for both.
            if one.kind == AdjustableKind::Turn {
                as_found[adjustable] = proposed[adjustable];
            }
        }
        let node = self.view.node.as_ref();
        let mut request = Request {
            node: node.and_then(|name| amp.circuit().find_node(name)),
            cabinet: cabinet::chosen(edit),
            boost_db: Some(edit.setting(PluginSetting::Boost)).filter(|&db| db > 0.0),
            adjustable: self.parts.looked_at(amp, &self.view),
            prices: self.prices.now(),
            amp: Arc::clone(amp),
            as_found,
            proposed,
            solved: Default::default(),
        };
        if let Some(last) = &self.request {
            request.share(last);
        }
        self.request = Some(request.clone());
        worker.ask(request);
    }
}
