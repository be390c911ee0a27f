//! A recording of a real amp: read from its file off the window's thread, measured, and
//! kept for as long as the window lives.

use crate::editor::analyses::background::{BackgroundTask, Outcome, Repaint};
use crate::recording::{Target, in_step, target};
use crate::sound::Sound;
use crate::sound::file;
use std::path::Path;
use std::sync::Arc;

/// What was read.
#[derive(Clone, Debug)]
pub struct Recorded {
    /// What it shows.
    pub target: Target,
    /// The recording as it was read.
    pub recording: Arc<Sound>,
    /// The dry track.
    pub dry: Option<Arc<Sound>>,
    /// To be heard: the recording; with a dry track in time with it and as long.
    pub heard: Arc<Sound>,
    /// The dry track that goes with that.
    pub heard_dry: Option<Arc<Sound>>,
}

/// Why there is none: every reason, a sentence each.
pub type Faults = Vec<String>;

/// The place of the recording.
pub struct Recording {
    background: BackgroundTask<Result<Recorded, Faults>>,
    /// What was read last, which stays until something else is.
    known: Option<Arc<Result<Recorded, Faults>>>,
}

impl Recording {
    /// None is loaded yet. `repaint` is called when there is news.
    pub fn new(repaint: &Repaint) -> Self {
        Recording {
            background: BackgroundTask::new(Arc::clone(repaint)),
            known: None,
        }
    }

    /// Reads a recording, and the dry track unless its path is empty; what is to be heard is brought
    /// to `rate`, if sound runs, Hz.
    pub fn load(&mut self, recording: &str, dry: &str, rate: Option<f64>) {
        let (recording, dry) = (recording.trim().to_owned(), dry.trim().to_owned());
        let rate = rate.map(|rate| rate.round() as u32);
        self.background
            .start(move |_| Some(read(&recording, &dry, rate)));
    }

    /// Forgets it.
    pub fn forget(&mut self) {
        self.background.call_off();
        self.known = None;
    }

    /// Whether it is being read.
    pub fn reads(&self) -> bool {
        self.background.share().is_some()
    }

    /// Takes what came, once a frame. Whether something came just now.
    pub fn take(&mut self) -> bool {
        let new = match self.background.outcome() {
            Some(Outcome::Done(done)) => done,
            Some(Outcome::Failed) => {
                Arc::new(Err(vec!["The recording could not be measured.".to_owned()]))
            }
            Some(Outcome::Cancelled) | None => return false,
        };
        self.background.rest();
        self.known = Some(new);
        true
    }

    /// What is loaded.
    pub fn recorded(&self) -> Option<&Recorded> {
        self.known.as_deref()?.as_ref().ok()
    }

    /// Why nothing is.
    pub fn faults(&self) -> &[String] {
        match self.known.as_deref() {
            Some(Err(faults)) => faults,
            _ => &[],
        }
    }
}

fn sound(path: &str) -> Result<Arc<Sound>, String> {
    let read = file::read(Path::new(path)).map_err(|fault| fault.to_string())?;
    Ok(Arc::new(read.sound))
}

/// A sound at the rate of the session, if sound runs, Hz; the same one where that is its own.
fn at_rate(sound: &Arc<Sound>, rate: Option<u32>) -> Result<Arc<Sound>, Faults> {
    match rate.filter(|rate| *rate != sound.rate) {
        Some(rate) => match sound.at_rate(rate) {
            Ok(sound) => Ok(Arc::new(sound)),
            Err(why) => Err(vec![why]),
        },
        None => Ok(Arc::clone(sound)),
    }
}

fn read(recording: &str, dry: &str, rate: Option<u32>) -> Result<Recorded, Faults> {
    let recording = sound(recording);
    if dry.is_empty() {
        let recording = recording.map_err(|fault| vec![fault])?;
        let target = target(&recording, None).map_err(|unfit| unfit.0)?;
        return Ok(Recorded {
            target,
            dry: None,
            heard: at_rate(&recording, rate)?,
            heard_dry: None,
            recording,
        });
    }
    let (recording, dry) = match (recording, sound(dry)) {
        (Ok(recording), Ok(dry)) => (recording, dry),
        // Both faults at once, if there are two.
        (recording, dry) => return Err(recording.err().into_iter().chain(dry.err()).collect()),
    };
    let target = target(&recording, Some(&dry)).map_err(|unfit| unfit.0)?;
    let heard = in_step(&recording, &dry, &target).map_err(|fault| vec![fault])?;
    Ok(Recorded {
        target,
        heard: at_rate(&Arc::new(heard), rate)?,
        heard_dry: Some(at_rate(&dry, rate)?),
        dry: Some(dry),
        recording,
    })
}
