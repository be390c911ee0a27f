//! Files: a circuit is opened, watched and reloaded, proposals are opened and saved.
//! What fails leaves the running circuit alone; what was typed is carried over or kept.

use super::guitar::GuitarFile;
use super::prices::{self, Followed, InUse};
use super::standing::{carry_over, proposal_text, standing};
use super::thread::{FileThread, News, Order, Want, Written};
use crate::circuit::{Diagnostic, Proposal, built_in_circuits, read_proposal_bytes};
use crate::editor::edit::{Edit, PluginSetting};
use crate::editor::editing::{Editing, EditingState};
use crate::editor::history::Version;
use crate::editor::view::{Kept, View};
use crate::live::{AdjustableKind, LiveAmp, settings};
use crate::sound::impulse::Prepared;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// What is open, watched and saved.
pub struct Files {
    /// The thread that touches files.
    pub thread: FileThread,
    /// The last thing that was done, or that could not be, in a sentence.
    pub message: String,
    /// Faults of the last file.
    pub faults: Vec<Diagnostic>,
    /// Name that the proposal is saved under.
    pub name: String,
    /// A place that has a file already.
    pub exists: Option<PathBuf>,
    /// What became of a job sheet; the panel takes it.
    pub sheet: Option<Written>,
    /// Path of the file that is watched.
    watched: Option<PathBuf>,
    /// Path of an impulse response.
    pub impulse_path: String,
    /// What is to be known about it, or what was wrong with it.
    pub impulse_told: String,
    /// A guitar's file.
    pub guitar: GuitarFile,
    /// Path of the recording in the player.
    pub recording: String,
    /// What was wrong with it.
    pub recording_fault: Option<String>,
}

impl Files {
    /// Nothing is open yet. `repaint` is called when there is news.
    pub fn new(repaint: impl Fn() + Send + Sync + 'static) -> Files {
        Files {
            thread: FileThread::new(repaint),
            message: String::new(),
            faults: Vec::new(),
            name: String::new(),
            exists: None,
            sheet: None,
            watched: None,
            impulse_path: String::new(),
            impulse_told: String::new(),
            guitar: GuitarFile::default(),
            recording: String::new(),
            recording_fault: None,
        }
    }

    /// Takes the news, once a frame.
    pub fn pump(&mut self, edit: &dyn Edit, state: &mut EditingState, view: &mut View, now: f64) {
        self.watch(edit);
        while let Some(news) = self.thread.news() {
            self.told(news, edit, state, view, now);
        }
    }

    /// Follows the amp that is loaded, whoever put it there.
    fn watch(&mut self, edit: &dyn Edit) {
        let path = edit.amp().path().map(Path::to_path_buf);
        if path != self.watched {
            self.watched.clone_from(&path);
            self.thread.order(Order::Watch(path));
        }
    }

    fn told(
        &mut self,
        news: News,
        edit: &dyn Edit,
        state: &mut EditingState,
        view: &mut View,
        now: f64,
    ) {
        match news {
            News::Circuit { path, bytes, again } => {
                let loaded = self.load(&bytes, Some(&path), edit, state, view, now);
                if loaded && !again {
                    view.remember(path.display().to_string());
                    // Opening has begun to watch it already.
                    self.watched = Some(path);
                }
            }
            News::Proposal(path, bytes) => {
                let amp = edit.amp();
                let mut editing = Editing {
                    edit,
                    amp: &amp,
                    now,
                    state,
                };
                let name = path.display().to_string();
                if self.apply(&bytes, &name, &mut editing) {
                    view.remember(name);
                }
            }
            News::Prices(path, bytes) => {
                self.prices(&path.display().to_string(), &bytes, view);
            }
            News::Impulse(read) => self.impulse(*read, edit),
            News::Guitar(read) => self.guitar.opened(read, edit),
            News::Saved(path) => {
                self.message = format!("Saved {}.", path.display());
                self.exists = None;
                view.remember(path.display().to_string());
            }
            News::Exists(path) => {
                self.message = format!("{} is there already.", path.display());
                self.exists = Some(path);
            }
            News::Sheet(written) => self.sheet = Some(written),
            News::Fault(fault) => {
                self.faults.clear();
                self.message = fault;
            }
            News::Picked(Want::Circuit, path) => {
                view.path = path.display().to_string();
                self.open(&view.path);
            }
            News::Picked(Want::Proposal, path) => {
                view.proposal_path = path.display().to_string();
                self.thread.order(Order::OpenProposal(path));
            }
            News::Picked(Want::Impulse, path) => {
                self.impulse_path = path.display().to_string();
                self.thread.order(Order::OpenImpulse(path));
            }
            News::Picked(Want::Guitar, path) => self.guitar.open(path, &self.thread),
            News::Picked(Want::SaveSheet, path) => view.sheet_path = path.display().to_string(),
            News::Picked(Want::Prices, path) => {
                view.price_path = path.display().to_string();
                self.thread.order(Order::OpenPrices(path));
            }
            News::Picked(Want::Recording, path) => {
                view.matching.recording = path.display().to_string();
            }
            News::Picked(Want::Dry, path) => view.matching.dry = path.display().to_string(),
            News::Picked(Want::Drawer, path) => {
                view.matching.drawer = path.display().to_string();
            }
            News::Picked(Want::SaveProposal, path) => {
                view.proposal_path = path.display().to_string();
                self.message = "Press Save to write the proposal there.".into();
            }
        }
    }

    /// Takes over a price file that was read. One with faults leaves the prices as they are.
    fn prices(&mut self, path: &str, bytes: &[u8], view: &mut View) {
        match prices::opened(path, bytes) {
            Ok((file, message)) => {
                self.faults.clear();
                self.message = message;
                view.prices = Some(file);
            }
            Err(faults) => {
                self.message = format!("{path} was not opened; the prices in use stay.");
                self.faults = faults;
            }
        }
    }

    /// Does what is to be done about the price file of the view, once a frame.
    pub fn follow_prices(&mut self, prices: &mut InUse, view: &View) {
        match prices.follow(view) {
            Followed::Nothing => {}
            Followed::Open(path) => self.thread.order(Order::OpenPrices(path)),
            Followed::Unusable { message, faults } => {
                self.message = message;
                self.faults = faults;
            }
        }
    }

    /// An impulse response is heard at once; one that cannot be read leaves the last one.
    fn impulse(&mut self, read: Result<Prepared, String>, edit: &dyn Edit) {
        match read {
            Ok(Prepared { impulse, warnings }) => {
                edit.set_impulse(Some(Arc::new(impulse)));
                edit.set_setting(PluginSetting::Cabinet, f64::from(settings::CABINET_IMPULSE));
                self.impulse_told = warnings.join(" ");
            }
            Err(fault) => self.impulse_told = fault,
        }
    }

    /// Opens a circuit file, or a proposal that was opened before.
    pub fn open(&self, path: &str) {
        self.thread.order(Order::Open(PathBuf::from(path.trim())));
    }

    /// Loads a circuit. Whether it went.
    pub fn load(
        &mut self,
        bytes: &[u8],
        path: Option<&Path>,
        edit: &dyn Edit,
        state: &mut EditingState,
        view: &mut View,
        now: f64,
    ) -> bool {
        let what = match path {
            Some(path) => path.display().to_string(),
            None => "the amp".into(),
        };
        let before = edit.amp();
        let stood = standing(edit, &before);
        if let Err(faults) = edit.load(bytes, path) {
            self.message = format!(
                "{what} was not loaded. {} plays on as it was.",
                before.circuit().name()
            );
            self.faults = faults;
            return false;
        }
        let after = edit.amp();
        self.faults = after.circuit().warnings();
        self.message = format!("Loaded {what}.");
        if after.circuit().name() == before.circuit().name() {
            state.follow(&after);
            let lost = carry_over(edit, &before, &stood, &after);
            if !lost.is_empty() {
                self.message += &format!(" No longer there, and left out: {}.", lost.join(", "));
            }
        } else if let Some(text) = proposal_text(&before, &stood, "") {
            view.keep(Kept {
                amp: before.circuit().name().into(),
                text,
            });
            self.message += " What was proposed before is kept below.";
        }
        let _ = now;
        true
    }

    /// Takes over a proposal file, one step of the history. Whether it went.
    pub fn apply(&mut self, bytes: &[u8], what: &str, editing: &mut Editing) -> bool {
        let applied = read_proposal_bytes(bytes).and_then(|proposal| {
            let numbers = editing
                .amp
                .with_written_proposal(&proposal, &basis(editing))?;
            Ok(Opened::new(&proposal.name, &proposal.for_amp, numbers))
        });
        self.applied(applied, what, editing)
    }

    /// Takes over a proposal that was made for the amp `of`, one step of the history. Whether it
    /// went.
    pub fn apply_proposal(
        &mut self,
        proposal: &Proposal,
        of: &LiveAmp,
        what: &str,
        editing: &mut Editing,
    ) -> bool {
        let basis = basis(editing);
        let applied = match std::ptr::eq(of, editing.amp) {
            true => editing.amp.with_proposal(proposal, &basis),
            // In another amp the same designators may stand elsewhere, or nowhere.
            false => {
                let written = proposal.written(of.circuit());
                editing.amp.with_written_proposal(&written, &basis)
            }
        };
        let applied =
            applied.map(|numbers| Opened::new(&proposal.name, &proposal.for_amp, numbers));
        self.applied(applied, what, editing)
    }

    /// Takes over a proposal, or tells its faults.
    fn applied(
        &mut self,
        applied: Result<Opened, Vec<Diagnostic>>,
        what: &str,
        editing: &mut Editing,
    ) -> bool {
        match applied {
            Ok(opened) => {
                let Opened {
                    name,
                    for_amp,
                    values,
                    notes,
                } = opened;
                let changes: Vec<_> = values
                    .iter()
                    .enumerate()
                    .map(|(adjustable, &value)| (adjustable, Version::Proposed, value))
                    .collect();
                editing.set_many(&changes);
                self.faults.clear();
                self.message = format!("Opened {what}. {}", notes.join(" "));
                let own = editing.amp.circuit().name();
                if !for_amp.is_empty() && !for_amp.eq_ignore_ascii_case(own) {
                    self.message += &format!("It was made for {for_amp}.");
                }
                self.name = name;
                true
            }
            Err(faults) => {
                self.faults = faults;
                self.message = format!("{what} was not opened; what is proposed stays.");
                false
            }
        }
    }

    /// Writes what is proposed to a file.
    pub fn save(&mut self, editing: &Editing, path: &str, replace: bool) {
        let stood = standing(editing.edit, editing.amp);
        let Some(text) = proposal_text(editing.amp, &stood, &self.name) else {
            self.message = "Nothing is proposed yet.".into();
            return;
        };
        self.thread.order(Order::Save {
            path: PathBuf::from(path.trim()),
            text,
            replace,
        });
    }
}

/// A proposal that fits the amp.
struct Opened {
    name: String,
    for_amp: String,
    /// One for each adjustable.
    values: Vec<f64>,
    /// A sentence for each that had to be clamped.
    notes: Vec<String>,
}

impl Opened {
    fn new(name: &str, for_amp: &str, (values, notes): (Vec<f64>, Vec<String>)) -> Opened {
        Opened {
            name: name.into(),
            for_amp: for_amp.into(),
            values,
            notes,
        }
    }
}

/// The numbers that a proposal starts from: parts as found, knobs as they stand.
fn basis(editing: &Editing) -> Vec<f64> {
    let adjustables = editing.amp.adjustables().iter().enumerate();
    adjustables
        .map(|(adjustable, one)| {
            let version = if one.kind == AdjustableKind::Turn {
                Version::Proposed
            } else {
                Version::AsFound
            };
            editing.value(adjustable, version)
        })
        .collect()
}

/// The built-in proposals for an amp: key, name, text.
pub fn proposals_for(amp: &str) -> Vec<(&'static str, String, &'static str)> {
    let built_in = built_in_circuits()
        .iter()
        .find(|c| c.name.eq_ignore_ascii_case(amp));
    let proposals = built_in.map_or(&[][..], |c| c.proposals);
    proposals
        .iter()
        .map(|p| {
            let name = read_proposal_bytes(p.text.as_bytes()).map(|p| p.name);
            (p.key, name.unwrap_or_default(), p.text)
        })
        .collect()
}
