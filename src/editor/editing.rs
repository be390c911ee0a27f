//! The hands: every edit of a number goes through here, so that each becomes a gesture for the host
//! and a step of the history.

use super::edit::Edit;
use super::history::{Entry, History, Side};
use crate::live::{AdjustableKind, LiveAmp};

/// A drag that has begun.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Gesture {
    adjustable: usize,
    side: Side,
    before: f64,
    /// Written last. A host may take its time to give a number back, so it is not read again.
    latest: f64,
}

/// What the hands remember from frame to frame.
#[derive(Clone, Debug, Default)]
pub struct EditingState {
    /// Undo and redo.
    pub history: History,
    gesture: Option<Gesture>,
    amp: String,
}

impl EditingState {
    /// Forgets the steps if another amp is on the bench, and a drag that it cut off.
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

/// The hands for one frame.
pub struct Editing<'a> {
    /// What the window may do.
    pub edit: &'a dyn Edit,
    /// The amp on the bench.
    pub amp: &'a LiveAmp,
    /// Seconds of the window's clock.
    pub now: f64,
    /// Undo, redo and the drag in hand.
    pub state: &'a mut EditingState,
}

impl Editing<'_> {
    /// A number as it stands.
    pub fn value(&self, adjustable: usize, side: Side) -> f64 {
        match side {
            Side::AsFound => self.amp.as_found(adjustable),
            Side::Proposed => self.edit.proposed(adjustable),
        }
    }

    /// Whether a part is proposed otherwise than found.
    pub fn differs(&self, adjustable: usize) -> bool {
        let [a, p] = [Side::AsFound, Side::Proposed].map(|side| self.value(adjustable, side));
        !self.amp.adjustables()[adjustable].same(a, p)
    }

    fn write(&self, adjustable: usize, side: Side, value: f64) {
        match side {
            Side::AsFound => self.edit.set_as_found(adjustable, value),
            Side::Proposed => self.edit.set(adjustable, value),
        }
    }

    fn write_whole(&self, adjustable: usize, side: Side, value: f64) {
        if side == Side::Proposed {
            self.edit.begin(adjustable);
        }
        self.write(adjustable, side, value);
        if side == Side::Proposed {
            self.edit.end(adjustable);
        }
    }

    /// Begins a drag.
    pub fn begin(&mut self, adjustable: usize, side: Side) {
        self.end();
        let before = self.value(adjustable, side);
        if side == Side::Proposed {
            self.edit.begin(adjustable);
        }
        self.state.gesture = Some(Gesture {
            adjustable,
            side,
            before,
            latest: before,
        });
    }

    /// Whether this number is being dragged; its value before.
    pub fn dragging(&self, adjustable: usize, side: Side) -> Option<f64> {
        let gesture = self.state.gesture?;
        (gesture.adjustable == adjustable && gesture.side == side).then_some(gesture.before)
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
            self.write(gesture.adjustable, gesture.side, value);
        }
    }

    /// Ends the drag: one step of the history.
    pub fn end(&mut self) {
        let Some(gesture) = self.state.gesture.take() else {
            return;
        };
        let Gesture {
            adjustable,
            side,
            before,
            latest: after,
        } = gesture;
        if side == Side::Proposed {
            self.edit.end(adjustable);
        }
        let adjustable = &self.amp.adjustables()[adjustable];
        if !adjustable.same(before, after) {
            let id = adjustable.id.clone();
            self.state.history.push(vec![Entry {
                id,
                side,
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
            side,
            before,
            ..
        } = gesture;
        self.write(adjustable, side, before);
        if side == Side::Proposed {
            self.edit.end(adjustable);
        }
    }

    /// Sets one number: one step.
    pub fn set(&mut self, adjustable: usize, side: Side, value: f64) {
        self.set_many(&[(adjustable, side, value)]);
    }

    /// Sets one number; with others just before it, one step.
    pub fn nudge(&mut self, adjustable: usize, side: Side, value: f64) {
        let one = &self.amp.adjustables()[adjustable];
        let (before, after) = (self.value(adjustable, side), one.clamped(value));
        if one.same(before, after) {
            return;
        }
        self.write_whole(adjustable, side, after);
        let entry = Entry {
            id: one.id.clone(),
            side,
            before,
            after,
        };
        self.state.history.push_or_merge(entry, self.now);
    }

    /// Sets many numbers: one step.
    pub fn set_many(&mut self, changes: &[(usize, Side, f64)]) {
        self.end();
        let mut entries = Vec::new();
        for (adjustable, side, value) in self.in_order(changes.to_vec()) {
            let one = &self.amp.adjustables()[adjustable];
            let (before, after) = (self.value(adjustable, side), one.clamped(value));
            if one.same(before, after) {
                continue;
            }
            self.write_whole(adjustable, side, after);
            entries.push(Entry {
                id: one.id.clone(),
                side,
                before,
                after,
            });
        }
        self.state.history.push(entries);
    }

    /// The order in which changes are made: parts come in before their values and go out after them,
    /// since a host may have one parameter for both.
    fn in_order(&self, mut changes: Vec<(usize, Side, f64)>) -> Vec<(usize, Side, f64)> {
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
    fn replay(&mut self, changes: Vec<(String, Side, f64)>) {
        let known = changes
            .into_iter()
            .filter_map(|(id, side, value)| Some((self.amp.find(&id)?, side, value)))
            .collect();
        for (adjustable, side, value) in self.in_order(known) {
            self.write_whole(adjustable, side, value);
        }
    }

    /// Every part as found again; the player's knobs stay.
    pub fn revert_all(&mut self) {
        let changes: Vec<_> = self.changed_parts();
        let changes: Vec<_> = changes
            .iter()
            .map(|&adjustable| {
                (
                    adjustable,
                    Side::Proposed,
                    self.value(adjustable, Side::AsFound),
                )
            })
            .collect();
        self.set_many(&changes);
    }

    /// What is proposed becomes what the amp has.
    pub fn adopt(&mut self, adjustables: &[usize]) {
        let changes: Vec<_> = adjustables
            .iter()
            .map(|&adjustable| {
                (
                    adjustable,
                    Side::AsFound,
                    self.value(adjustable, Side::Proposed),
                )
            })
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
        let back = entries.into_iter().map(|e| (e.id, e.side, e.before));
        self.replay(back.collect());
    }

    /// Does a step again.
    pub fn redo(&mut self) {
        self.end();
        let entries = self.state.history.redo().unwrap_or_default();
        let forth = entries.into_iter().map(|e| (e.id, e.side, e.after));
        self.replay(forth.collect());
    }
}
