//! What the window may see and do, as a trait: a plugin's window does it through its host, a test
//! through a fake.

use crate::circuit::Diagnostic;
use crate::live::LiveAmp;
use crate::live::jack_guitar::OwnGuitar;
use crate::live::meters::Meters;
pub use crate::live::settings::PluginSetting;
use crate::sound::Sound;
use crate::sound::impulse::Impulse;
use std::path::Path;
use std::sync::Arc;

/// A player of recordings, for a window without a host around it.
pub trait Player {
    /// Whether it plays.
    fn playing(&self) -> bool;
    /// Starts or stops it.
    fn play(&self, on: bool);
    /// What it plays: "built-in phrase", or a file's name.
    fn source(&self) -> String;
    /// Plays another WAV file, or the built-in phrase if none.
    ///
    /// # Errors
    /// What is wrong with the file, in a sentence.
    fn open(&self, path: Option<&Path>) -> Result<(), String>;
    /// Whether the live input is heard too.
    fn live_input(&self) -> bool;
    /// Lets the live input in or not.
    fn set_live_input(&self, on: bool);
    /// The audio device in a sentence, or that there is none.
    fn device(&self) -> String;
}

/// A player of a recording of the real amp, in a host too: the dry guitar goes into the amp in the
/// model, and what is heard is the model or the recording, in step.
pub trait RecordingPlayer {
    /// Replaces what is played. `recording` stands in step with `dry` (see
    /// [`crate::recording::in_step`]); without a dry track the built-in phrase is played into the
    /// model. Takes a moment: not for the window's thread.
    ///
    /// # Errors
    /// What is wrong, in a sentence.
    fn put(&self, recording: &Sound, dry: Option<&Sound>) -> Result<(), String>;
    /// Whether there is a recording.
    fn there(&self) -> bool;
    /// Whether the recording is heard instead of the model.
    fn hears(&self) -> bool;
    /// Lets the recording be heard, or the model again.
    fn hear(&self, on: bool);
    /// What is looped, from and to, s.
    fn region(&self) -> [f64; 2];
    /// Loops a part, at least a tenth of a second; all of it if none.
    fn set_region(&self, seconds: Option<[f64; 2]>);
    /// Whether it plays.
    fn playing(&self) -> bool;
    /// Starts or stops it.
    fn play(&self, on: bool);
}

/// What the window may see and do. Adjustables are indices into [`LiveAmp::adjustables`].
pub trait Edit {
    /// The loaded amp.
    fn amp(&self) -> Arc<LiveAmp>;
    /// An adjustable's proposed number.
    fn proposed(&self, adjustable: usize) -> f64;
    /// Begins a gesture on an adjustable.
    fn begin(&self, adjustable: usize);
    /// Sets an adjustable's proposed number within a gesture.
    fn set(&self, adjustable: usize, value: f64);
    /// Ends a gesture.
    fn end(&self, adjustable: usize);
    /// Replaces an adjustable's as-found number.
    fn set_as_found(&self, adjustable: usize, value: f64);
    /// A setting of the instance.
    fn setting(&self, setting: PluginSetting) -> f64;
    /// Replaces a setting of the instance.
    fn set_setting(&self, setting: PluginSetting, value: f64);
    /// The impulse response that is there.
    fn impulse(&self) -> Option<Arc<Impulse>>;
    /// Replaces the impulse response, or takes it away.
    fn set_impulse(&self, impulse: Option<Arc<Impulse>>);
    /// The owner's own guitar.
    fn own_guitar(&self) -> Option<OwnGuitar>;
    /// Replaces the owner's own guitar, or takes it away.
    fn set_own_guitar(&self, own: Option<OwnGuitar>);
    /// The meters.
    fn meters(&self) -> &Meters;
    /// Rate of the host, Hz; none while no audio runs.
    fn rate(&self) -> Option<f64>;
    /// Takes what was heard since the last call, mono at the host's rate, into `heard` (appended;
    /// at most some hundred milliseconds are kept). For the live spectrum.
    fn take_heard(&self, heard: &mut Vec<f32>);
    /// Loads another circuit, proposed as found. `path` is where it came from.
    ///
    /// # Errors
    /// Every fault, or one sentence as a fault without a line; the running circuit then plays on.
    fn load(&self, bytes: &[u8], path: Option<&Path>) -> Result<(), Vec<Diagnostic>>;
    /// Whether other circuits may be loaded here; an instance of a built-in amp says why not.
    fn may_load(&self) -> Result<(), &'static str>;
    /// Text that the host keeps with the project for the window: its view as JSON.
    fn view(&self) -> String;
    /// Replaces that text.
    fn set_view(&self, view: String);
    /// Sentences about what could not be restored from a project; shown until dismissed.
    fn notes(&self) -> Vec<String>;
    /// Forgets those sentences.
    fn dismiss_notes(&self);
    /// The player of recordings of the real amp; none where nothing can be played.
    fn recording(&self) -> Option<&dyn RecordingPlayer> {
        None
    }
    /// The player, where the window has no host.
    fn player(&self) -> Option<&dyn Player>;
}
