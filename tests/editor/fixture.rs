//! A window to drive: an amp that makes no sound, a window over it that nobody sees, and the
//! ways to find and use what stands on it.
#![allow(dead_code)]

use egui_kittest::Harness;
use egui_kittest::kittest::{NodeT, Queryable};
use presolder::circuit::{Diagnostic, built_in_circuit};
use presolder::device::Catalogue;
use presolder::editor::Editor;
use presolder::editor::edit::{Edit, Player, PluginSetting, RecordingPlayer};
use presolder::live::jack_guitar::{JackGuitar, OwnGuitar};
use presolder::live::meters::Meters;
use presolder::live::{LiveAmp, NotLoaded};
use presolder::sound::Sound;
use presolder::sound::impulse::Impulse;
use std::cell::{Cell, RefCell};
use std::collections::HashMap;
use std::path::Path;
use std::rc::Rc;
use std::sync::Arc;
use std::sync::atomic::Ordering::Relaxed;
use std::time::{Duration, Instant};

/// Longest wait for an analysis; far beyond what it takes.
const LONGEST: Duration = Duration::from_secs(120);

/// What the window did.
#[derive(Clone, Debug, PartialEq)]
pub enum Did {
    Begin(String),
    Set(String, f64),
    End(String),
}

/// A stand-in for the plugin.
pub struct FakeEdit {
    pub amp: RefCell<Arc<LiveAmp>>,
    pub proposed: RefCell<Vec<f64>>,
    pub settings: RefCell<HashMap<PluginSetting, f64>>,
    pub meters: Meters,
    pub view: RefCell<String>,
    pub notes: RefCell<Vec<String>>,
    pub did: RefCell<Vec<Did>>,
    pub heard: RefCell<Vec<f32>>,
    pub rate: Cell<Option<f64>>,
    pub impulse: RefCell<Option<Arc<Impulse>>>,
    pub guitar: RefCell<Option<OwnGuitar>>,
    pub player: Option<FakePlayer>,
    pub recording: FakeRecording,
}

/// A player that plays nothing.
#[derive(Default)]
pub struct FakePlayer {
    pub playing: Cell<bool>,
    pub live: Cell<bool>,
}

impl Player for FakePlayer {
    fn playing(&self) -> bool {
        self.playing.get()
    }
    fn play(&self, on: bool) {
        self.playing.set(on);
    }
    fn source(&self) -> String {
        "built-in phrase".into()
    }
    fn open(&self, path: Option<&Path>) -> Result<(), String> {
        match path {
            None => Ok(()),
            Some(path) => Err(format!("{} is no WAV file.", path.display())),
        }
    }
    fn live_input(&self) -> bool {
        self.live.get()
    }
    fn set_live_input(&self, on: bool) {
        self.live.set(on);
    }
    fn device(&self) -> String {
        "48 kHz, 128 samples".into()
    }
}

/// A player of recordings that plays nothing.
#[derive(Default)]
pub struct FakeRecording {
    /// Frames of the recording and of the dry track.
    pub put: Cell<Option<[usize; 2]>>,
    pub hears: Cell<bool>,
    pub playing: Cell<bool>,
    pub region: Cell<Option<[f64; 2]>>,
}

impl RecordingPlayer for FakeRecording {
    fn put(&self, recording: &Sound, dry: Option<&Sound>) -> Result<(), String> {
        let frames = |sound: &Sound| sound.channels[0].len();
        self.put
            .set(Some([frames(recording), dry.map_or(0, frames)]));
        Ok(())
    }
    fn there(&self) -> bool {
        self.put.get().is_some()
    }
    fn hears(&self) -> bool {
        self.hears.get()
    }
    fn hear(&self, on: bool) {
        self.hears.set(on);
    }
    fn region(&self) -> [f64; 2] {
        self.region.get().unwrap_or([0.0, 9.6])
    }
    fn set_region(&self, seconds: Option<[f64; 2]>) {
        self.region.set(seconds);
    }
    fn playing(&self) -> bool {
        self.playing.get()
    }
    fn play(&self, on: bool) {
        self.playing.set(on);
    }
}

/// Meters before anything was played.
fn quiet() -> Meters {
    let meters = Meters::default();
    meters.as_found_lufs.store(-100.0, Relaxed);
    meters.proposed_lufs.store(-100.0, Relaxed);
    meters
}

fn read(bytes: &[u8], path: Option<&Path>) -> Result<LiveAmp, NotLoaded> {
    LiveAmp::read(bytes, path, Arc::new(Catalogue::built_in()))
}

impl FakeEdit {
    /// The stand-in with a built-in amp.
    pub fn with(amp: &str) -> FakeEdit {
        let text = built_in_circuit(amp).unwrap().text;
        let amp = read(text.as_bytes(), None).unwrap();
        FakeEdit {
            proposed: RefCell::new(amp.filed()),
            amp: RefCell::new(Arc::new(amp)),
            settings: RefCell::new(HashMap::from([
                (PluginSetting::Heard, 1.0),
                (PluginSetting::InputFullScale, 12.0),
                (PluginSetting::Glide, 30.0),
                (PluginSetting::Steps, 1.0),
            ])),
            meters: quiet(),
            view: RefCell::default(),
            notes: RefCell::default(),
            did: RefCell::default(),
            heard: RefCell::default(),
            rate: Cell::new(None),
            impulse: RefCell::default(),
            guitar: RefCell::default(),
            player: None,
            recording: FakeRecording::default(),
        }
    }

    fn id(&self, adjustable: usize) -> String {
        self.amp.borrow().adjustables()[adjustable].id.clone()
    }

    /// A slot's numbers by its id: as found and proposed.
    pub fn numbers(&self, id: &str) -> (f64, f64) {
        let amp = self.amp.borrow();
        let adjustable = amp.find(id).unwrap();
        (amp.as_found(adjustable), self.proposed.borrow()[adjustable])
    }

    /// A slot's proposed number by its id.
    pub fn now(&self, id: &str) -> f64 {
        self.numbers(id).1
    }

    /// Proposes a number behind the window's back, as a host's automation does.
    pub fn propose(&self, id: &str, value: f64) {
        let adjustable = self.amp.borrow().find(id).unwrap();
        self.proposed.borrow_mut()[adjustable] = value;
    }

    /// Puts into the jack what is chosen.
    fn plug(&self) {
        let [guitar, boost] =
            [PluginSetting::Guitar, PluginSetting::Boost].map(|one| self.setting(one));
        let own = self.guitar.borrow();
        let own = own.as_ref().map(|own| &own.guitar);
        let guitar = JackGuitar::of(guitar, boost).guitar(own);
        let mut amp = self.amp.borrow_mut();
        if amp.circuit().guitar() != guitar.as_deref() {
            *amp = Arc::new(amp.with_guitar(guitar).expect("an operating point"));
        }
    }
}

impl Edit for FakeEdit {
    fn amp(&self) -> Arc<LiveAmp> {
        Arc::clone(&self.amp.borrow())
    }
    fn proposed(&self, adjustable: usize) -> f64 {
        self.proposed.borrow()[adjustable]
    }
    fn begin(&self, adjustable: usize) {
        self.did.borrow_mut().push(Did::Begin(self.id(adjustable)));
    }
    fn set(&self, adjustable: usize, value: f64) {
        self.did
            .borrow_mut()
            .push(Did::Set(self.id(adjustable), value));
        self.proposed.borrow_mut()[adjustable] = value;
    }
    fn end(&self, adjustable: usize) {
        self.did.borrow_mut().push(Did::End(self.id(adjustable)));
    }
    fn set_as_found(&self, adjustable: usize, value: f64) {
        self.amp.borrow().set_as_found(adjustable, value);
    }
    fn setting(&self, setting: PluginSetting) -> f64 {
        self.settings.borrow().get(&setting).copied().unwrap_or(0.0)
    }
    fn set_setting(&self, setting: PluginSetting, value: f64) {
        self.settings.borrow_mut().insert(setting, value);
        if matches!(setting, PluginSetting::Guitar | PluginSetting::Boost) {
            self.plug();
        }
    }
    fn own_guitar(&self) -> Option<OwnGuitar> {
        self.guitar.borrow().clone()
    }
    fn set_own_guitar(&self, own: Option<OwnGuitar>) {
        *self.guitar.borrow_mut() = own;
        self.plug();
    }
    fn impulse(&self) -> Option<Arc<Impulse>> {
        self.impulse.borrow().clone()
    }
    fn set_impulse(&self, impulse: Option<Arc<Impulse>>) {
        *self.impulse.borrow_mut() = impulse;
    }
    fn meters(&self) -> &Meters {
        &self.meters
    }
    fn rate(&self) -> Option<f64> {
        self.rate.get()
    }
    fn take_heard(&self, heard: &mut Vec<f32>) {
        heard.append(&mut self.heard.borrow_mut());
    }
    fn load(&self, bytes: &[u8], path: Option<&Path>) -> Result<(), Vec<Diagnostic>> {
        let amp = read(bytes, path).map_err(|fault| match fault {
            NotLoaded::Faulty(faults) => faults,
            NotLoaded::NoOperatingPoint(message) => panic!("{message}"),
        })?;
        *self.proposed.borrow_mut() = amp.filed();
        *self.amp.borrow_mut() = Arc::new(amp);
        Ok(())
    }
    fn may_load(&self) -> Result<(), &'static str> {
        Ok(())
    }
    fn view(&self) -> String {
        self.view.borrow().clone()
    }
    fn set_view(&self, view: String) {
        *self.view.borrow_mut() = view;
    }
    fn notes(&self) -> Vec<String> {
        self.notes.borrow().clone()
    }
    fn dismiss_notes(&self) {
        self.notes.borrow_mut().clear();
    }
    fn recording(&self) -> Option<&dyn RecordingPlayer> {
        Some(&self.recording)
    }
    fn player(&self) -> Option<&dyn Player> {
        self.player.as_ref().map(|player| player as &dyn Player)
    }
}

/// The window over the stand-in.
pub struct Window {
    pub edit: Rc<FakeEdit>,
    pub harness: Harness<'static, Editor>,
}

/// A window of a usual size.
pub fn opened(amp: &str) -> Window {
    opened_as(FakeEdit::with(amp), [1280.0, 800.0], 1.0)
}

/// A window of so many frames a second, by its own clock.
pub fn opened_at(amp: &str, frames: f32) -> Window {
    opened_paced(FakeEdit::with(amp), [1280.0, 800.0], 1.0, 1.0 / frames)
}

/// A window of some size in points, drawn with so many pixels a point.
pub fn opened_as(edit: FakeEdit, size: [f32; 2], pixels: f32) -> Window {
    opened_paced(edit, size, pixels, 1.0 / 30.0)
}

fn opened_paced(edit: FakeEdit, size: [f32; 2], pixels: f32, step: f32) -> Window {
    let edit = Rc::new(edit);
    let used = Rc::clone(&edit);
    let mut harness = Harness::builder()
        .with_size(size)
        .with_pixels_per_point(pixels)
        .with_max_steps(40)
        .with_step_dt(step)
        .build_ui_state(
            move |ui, editor: &mut Editor| editor.ui(ui, &*used),
            Editor::new(),
        );
    harness.run_steps(3);
    let mut bench = Window { edit, harness };
    bench.settle();
    bench
}

impl Window {
    /// Lets the quick analyses finish and draws them.
    pub fn settle(&mut self) {
        self.harness.run_steps(2);
        assert!(self.harness.state().wait_quick(LONGEST));
        self.harness.run_steps(3);
    }

    /// Lets all analyses finish and draws them.
    pub fn settle_all(&mut self) {
        self.harness.run_steps(2);
        assert!(self.harness.state().wait_all(LONGEST));
        self.harness.run_steps(3);
    }

    /// Clicks what has this name.
    pub fn click(&mut self, name: &str) {
        self.harness.get_by_label(name).click();
        self.harness.run_steps(2);
    }

    /// Whether something with this in its name or text is shown.
    pub fn shows(&self, text: &str) -> bool {
        self.harness
            .query_all_by_label_contains(text)
            .next()
            .is_some()
    }

    /// Draws until something is shown; files and longer analyses have threads of their own.
    pub fn until(&mut self, text: &str) {
        let start = Instant::now();
        while !self.shows(text) {
            assert!(start.elapsed() < LONGEST, "never shown: {text}");
            std::thread::sleep(Duration::from_millis(20));
            self.harness.run_steps(1);
        }
    }

    /// Does what a screen reader does with what has this name, wherever it is scrolled to.
    pub fn press(&mut self, name: &str) {
        self.harness.get_by_label(name).click_accesskit();
        self.harness.run_steps(2);
    }

    /// Empties a field and types into it.
    pub fn fill(&mut self, field: &str, text: &str) {
        let node = self.harness.get_by_label(field);
        // A click misses what is scrolled away; a number's field wants one.
        if node.accesskit_node().role() == egui::Role::TextInput {
            node.focus();
        } else {
            node.click();
        }
        self.harness.run_steps(2);
        let all = egui::Modifiers::COMMAND;
        self.harness.key_press_modifiers(all, egui::Key::A);
        self.harness.run_steps(1);
        self.harness.event(egui::Event::Text(text.into()));
        self.harness.run_steps(2);
    }

    /// The place of what has this name.
    pub fn place(&self, name: &str) -> egui::Rect {
        self.harness.get_by_label(name).rect()
    }

    /// Types into what has the keyboard, and a key after it.
    pub fn type_and(&mut self, text: &str, key: egui::Key) {
        self.harness.event(egui::Event::Text(text.into()));
        self.harness.run_steps(3);
        self.harness.key_press(key);
        self.harness.run_steps(3);
    }
}
