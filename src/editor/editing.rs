//! Every edit of a number goes through here, so that each becomes a gesture for the host
//! and a step of the history.

use super::edit::Edit;
use super::history::{Entry, History, Version};
use crate::live::{AdjustableKind, LiveAmp};

/// A drag that has begun.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Gesture {
    adjustable: usize,
    version: Version,
    before: f64,
    /// Written last. A host may take its time to give a number back, so it is not read again.
    latest: f64,
}

/// What is remembered from frame to frame.
#[derive(Clone, Debug, Default)]
pub struct EditingState {
    /// Undo and redo.
    pub history: History,
    gesture: Option<Gesture>,
    amp: String,
}

impl EditingState {
    /// Forgets the steps if another amp is loaded, and a drag that it cut off.
    pub fn follow(&mut self, amp: &LiveAmp) {
        if self.amp != amp.circuit().name() {
            self.amp = amp.circuit().name().into();
            self.history.clear();
            self.gesture = None;
        }
        if self
            .gesture
            .is_some_and(|g| g.adjustable >= amp.adjustables().len())
        {
            self.gesture = None;
        }
    }
}

/// Edits in one frame.
pub struct Editing<'a> {
    /// What the window may do.
    pub edit: &'a dyn Edit,
    /// The loaded amp.
    pub amp: &'a LiveAmp,
    /// Seconds of the window's clock.
    pub now: f64,
    /// Undo, redo and the drag in hand.
    pub state: &'a mut EditingState,
}

impl Editing<'_> {
    /// A number as it stands.
    pub fn value(&self, adjustable: usize, version: Version) -> f64 {
        match version {
            Version::AsFound => self.amp.as_found(adjustable),
            Version::Proposed => self.edit.proposed(adjustable),
        }
    }

    /// Whether a part is proposed otherwise than found.
    pub fn differs(&self, adjustable: usize) -> bool {
        let [a, p] =
            [Version::AsFound, Version::Proposed].map(|version| self.value(adjustable, version));
        !self.amp.adjustables()[adjustable].same(a, p)
    }

    fn write(&self, adjustable: usize, version: Version, value: f64) {
        match version {
            Version::AsFound => self.edit.set_as_found(adjustable, value),
            Version::Proposed => self.edit.set(adjustable, value),
        }
    }

    fn write_whole(&self, adjustable: usize, version: Version, value: f64) {
        if version == Version::Proposed {
            self.edit.begin(adjustable);
        }
        self.write(adjustable, version, value);
        if version == Version::Proposed {
            self.edit.end(adjustable);
        }
    }

    /// Begins a drag.
    pub fn begin(&mut self, adjustable: usize, version: Version) {
        self.end();
        let before = self.value(adjustable, version);
        if version == Version::Proposed {
            self.edit.begin(adjustable);
        }
        self.state.gesture = Some(Gesture {
            adjustable,
            version,
            before,
            latest: before,
        });
    }

    /// Whether this number is being dragged; its value before.
    pub fn dragging(&self, adjustable: usize, version: Version) -> Option<f64> {
        let gesture = self.state.gesture?;
        (gesture.adjustable == adjustable && gesture.version == version).then_some(gesture.before)
    }

    /// Moves the number that is being dragged.
    pub fn drag(&mut self, value: f64) {
        let Some(mut gesture) = self.state.gesture else {
            return;
        };
        let value = self.amp.adjustables()[gesture.adjustable].clamped(value);
        if value != gesture.latest {
            gesture.latest = value;
            self.state.gesture = Some(gesture);
            self.write(gesture.adjustable, gesture.version, value);
        }
    }

    /// Ends the drag: one step of the history.
    pub fn end(&mut self) {
        let Some(gesture) = self.state.gesture.take() else {
            return;
        };
        let Gesture {
            adjustable,
            version,
            before,
            latest: after,
        } = gesture;
        if version == Version::Proposed {
            self.edit.end(adjustable);
        }
        let adjustable = &self.amp.adjustables()[adjustable];
        if !adjustable.same(before, after) {
            let id = adjustable.id.clone();
            self.state.history.push(vec![Entry {
                id,
                version,
                before,
                after,
            }]);
        }
    }

    /// Ends the drag and gives the old value back.
    pub fn cancel(&mut self) {
        let Some(gesture) = self.state.gesture.take() else {
            return;
        };
        let Gesture {
            adjustable,
            version,
            before,
            ..
        } = gesture;
        self.write(adjustable, version, before);
        if version == Version::Proposed {
            self.edit.end(adjustable);
        }
    }

    /// Sets one number: one step.
    pub fn set(&mut self, adjustable: usize, version: Version, value: f64) {
        self.set_many(&[(adjustable, version, value)]);
    }

    /// Sets one number; with others just before it, one step.
    pub fn nudge(&mut self, adjustable: usize, version: Version, value: f64) {
        let one = &self.amp.adjustables()[adjustable];
        let (before, after) = (self.value(adjustable, version), one.clamped(value));
        if one.same(before, after) {
            return;
        }
        self.write_whole(adjustable, version, after);
        let entry = Entry {
            id: one.id.clone(),
            version,
            before,
            after,
        };
        self.state.history.push_or_merge(entry, self.now);
    }

    /// Sets many numbers: one step.
    pub fn set_many(&mut self, changes: &[(usize, Version, f64)]) {
        self.end();
        let mut entries = Vec::new();
        for (adjustable, version, value) in self.in_order(changes.to_vec()) {
            let one = &self.amp.adjustables()[adjustable];
            let (before, after) = (self.value(adjustable, version), one.clamped(value));
            if one.same(before, after) {
                continue;
            }
            self.write_whole(adjustable, version, after);
            entries.push(Entry {
                id: one.id.clone(),
                version,
                before,
                after,
            });
        }
        self.state.history.push(entries);
    }

    /// The order in which changes are made: parts come in before their values and go out after them,
    /// since a host may have one parameter for both.
    fn in_order(&self, mut changes: Vec<(usize, Version, f64)>) -> Vec<(usize, Version, f64)> {
        changes.sort_by_key(|&(adjustable, _, value)| {
            match self.amp.adjustables()[adjustable].kind {
                AdjustableKind::Fitted if value > 0.5 => 0,
                AdjustableKind::Fitted => 2,
                _ => 1,
            }
        });
        changes
    }

    /// Makes changes of the history.
    fn replay(&mut self, changes: Vec<(String, Version, f64)>) {
        let known = changes
            .into_iter()
            .filter_map(|(id, version, value)| Some((self.amp.find(&id)?, version, value)))
            .collect();
        for (adjustable, version, value) in self.in_order(known) {
            self.write_whole(adjustable, version, value);
        }
    }

    /// Every part as found again; the player's knobs stay.
    pub fn revert_all(&mut self) {
        self.copy(&self.changed_parts(), Version::AsFound, Version::Proposed);
    }

    /// What is proposed becomes what the amp has.
    pub fn adopt(&mut self, adjustables: &[usize]) {
        self.copy(adjustables, Version::Proposed, Version::AsFound);
    }

    /// Gives one version the numbers of the other: one step.
    pub fn copy(&mut self, adjustables: &[usize], from: Version, to: Version) {
        let numbers = adjustables.iter();
        let changes: Vec<_> = numbers
            .map(|&adjustable| (adjustable, to, self.value(adjustable, from)))
            .collect();
        self.set_many(&changes);
    }

    /// The parts and contacts that are proposed otherwise than found; the player's knobs, which turn
    /// both amps, are not among them.
    pub fn changed_parts(&self) -> Vec<usize> {
        let adjustables = self.amp.adjustables().iter().enumerate();
        adjustables
            .filter(|(adjustable, one)| {
                one.kind != AdjustableKind::Turn && self.differs(*adjustable)
            })
            .map(|(adjustable, _)| adjustable)
            .collect()
    }

    /// Takes a step back.
    pub fn undo(&mut self) {
        self.end();
        let entries = self.state.history.undo().unwrap_or_default();
        let back = entries.into_iter().map(|e| (e.id, e.version, e.before));
        self.replay(back.collect());
    }

    /// Does a step again.
    pub fn redo(&mut self) {
        self.end();
        let entries = self.state.history.redo().unwrap_or_default();
        let forth = entries.into_iter().map(|e| (e.id, e.version, e.after));
        self.replay(forth.collect());
    }
}
