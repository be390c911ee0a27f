//! A recording of a real amp on the bench: read from its file off the window's thread, measured, and
//! kept for as long as the window lives.

use super::errand::{Errand, Outcome, Repaint};
use crate::analysis::phrase::phrase;
use crate::analysis::recording::{Sound, Target, in_step, with_dry_track, without_dry_track};
use crate::command_line::wav;
use std::path::Path;
use std::sync::Arc;

/// What was read.
#[derive(Clone, Debug)]
pub struct Recorded {
    /// What it shows.
    pub target: Target,
    /// The dry track.
    pub dry: Option<Sound>,
    /// The recording; with a dry track in time with it, at its rate and as long.
    pub sound: Sound,
}

/// Why there is none: every reason, a sentence each.
pub type Faults = Vec<String>;

/// The place of the recording.
pub struct Recording {
    errand: Errand<Result<Recorded, Faults>>,
    /// What was read last, which stays until something else is.
    known: Option<Arc<Result<Recorded, Faults>>>,
}

impl Recording {
    /// None is loaded yet. `repaint` is called when there is news.
    pub fn new(repaint: &Repaint) -> Self {
        Recording {
            errand: Errand::new(Arc::clone(repaint)),
            known: None,
        }
    }

    /// Reads a recording, and the dry track unless its path is empty.
    pub fn load(&mut self, recording: &str, dry: &str) {
        let (recording, dry) = (recording.trim().to_owned(), dry.trim().to_owned());
        self.errand.start(move |_| Some(read(&recording, &dry)));
    }

    /// Takes it off the bench.
    pub fn forget(&mut self) {
        self.errand.call_off();
        self.known = None;
    }

    /// Whether it is being read.
    pub fn reads(&self) -> bool {
        self.errand.share().is_some()
    }

    /// Takes what came, once a frame. Whether something came just now.
    pub fn take(&mut self) -> bool {
        let new = match self.errand.outcome() {
            Some(Outcome::Done(done)) => done,
            Some(Outcome::Failed) => {
                Arc::new(Err(vec!["The recording could not be measured.".to_owned()]))
            }
            Some(Outcome::CalledOff) | None => return false,
        };
        self.errand.rest();
        self.known = Some(new);
        true
    }

    /// What is on the bench.
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

fn sound(path: &str) -> Result<Sound, String> {
    let read = wav::read(Path::new(path)).map_err(|fault| format!("{path}: {fault}"))?;
    let name = Path::new(path).file_name();
    Ok(Sound {
        name: name.unwrap_or_default().to_string_lossy().into_owned(),
        rate: read.rate,
        channels: read.channels,
    })
}

fn read(recording: &str, dry: &str) -> Result<Recorded, Faults> {
    let recording = sound(recording);
    if dry.is_empty() {
        let recording = recording.map_err(|fault| vec![fault])?;
        let played = Sound {
            name: "the built-in phrase".into(),
            rate: recording.rate,
            channels: vec![phrase(recording.rate)],
        };
        let target = without_dry_track(&recording, &played).map_err(|unfit| unfit.0)?;
        return Ok(Recorded {
            target,
            dry: None,
            sound: recording,
        });
    }
    let (recording, dry) = match (recording, sound(dry)) {
        (Ok(recording), Ok(dry)) => (recording, dry),
        // Both faults at once, if there are two.
        (recording, dry) => return Err(recording.err().into_iter().chain(dry.err()).collect()),
    };
    let target = with_dry_track(&recording, &dry).map_err(|unfit| unfit.0)?;
    let sound = in_step(&recording, &dry, &target).map_err(|fault| vec![fault])?;
    Ok(Recorded {
        target,
        dry: Some(dry),
        sound,
    })
}
