//! One history of part and control edits, for undo and redo. Entries name their adjustable by its
//! id, so that they outlive a reload of the same amp.

pub use crate::solve::solved::Version;

/// One number that changed.
#[derive(Clone, Debug, PartialEq)]
pub struct Entry {
    /// The adjustable's id.
    pub id: String,
    /// Which of its numbers.
    pub version: Version,
    /// The number before.
    pub before: f64,
    /// And after.
    pub after: f64,
}

/// What one undo takes back.
#[derive(Clone, Debug, PartialEq)]
struct Step {
    entries: Vec<Entry>,
    /// When, in seconds of the window's clock, if more of the kind may be merged into it.
    open_since: Option<f64>,
}

/// Steps kept.
const MOST_STEPS: usize = 500;

/// Notches of the wheel within this many seconds of one another are one step (own choice).
const MERGE_SECONDS: f64 = 0.8;

/// The history.
#[derive(Clone, Debug, Default)]
pub struct History {
    done: Vec<Step>,
    undone: Vec<Step>,
}

impl History {
    /// Adds a step; what was undone is gone then.
    pub fn push(&mut self, entries: Vec<Entry>) {
        self.add(Step {
            entries,
            open_since: None,
        });
    }

    /// Adds one number at `now` seconds, into the last step if that is one of the same adjustable
    /// just before.
    pub fn push_or_merge(&mut self, entry: Entry, now: f64) {
        if self.undone.is_empty()
            && let Some(last) = self.done.last_mut()
            && last.open_since.is_some_and(|t| now - t < MERGE_SECONDS)
            && let [before] = &mut last.entries[..]
            && before.id == entry.id
            && before.version == entry.version
        {
            before.after = entry.after;
            last.open_since = Some(now);
            return;
        }
        self.add(Step {
            entries: vec![entry],
            open_since: Some(now),
        });
    }

    fn add(&mut self, step: Step) {
        if step.entries.is_empty() {
            return;
        }
        self.undone.clear();
        self.done.push(step);
        if self.done.len() > MOST_STEPS {
            self.done.remove(0);
        }
    }

    /// Takes the last step back: its entries, to be set to `before`.
    pub fn undo(&mut self) -> Option<Vec<Entry>> {
        let step = self.done.pop()?;
        let entries = step.entries.clone();
        self.undone.push(step);
        Some(entries)
    }

    /// Does a step again: its entries, to be set to `after`.
    pub fn redo(&mut self) -> Option<Vec<Entry>> {
        let step = self.undone.pop()?;
        let entries = step.entries.clone();
        self.done.push(Step {
            open_since: None,
            ..step
        });
        Some(entries)
    }

    /// How many steps can be undone.
    pub fn undoable(&self) -> usize {
        self.done.len()
    }

    /// How many steps can be done again.
    pub fn redoable(&self) -> usize {
        self.undone.len()
    }

    /// Forgets everything, when another amp comes.
    pub fn clear(&mut self) {
        *self = History::default();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entry(id: &str, before: f64, after: f64) -> Entry {
        Entry {
            id: id.into(),
            version: Version::Proposed,
            before,
            after,
        }
    }

    #[test]
    fn undo_then_redo_then_a_new_step() {
        let mut history = History::default();
        history.push(vec![entry("R1", 1.0, 2.0)]);
        history.push(vec![entry("R2", 3.0, 4.0)]);
        assert_eq!(history.undo().unwrap()[0].id, "R2");
        assert_eq!(history.redo().unwrap()[0].after, 4.0);
        history.undo();
        history.push(vec![entry("R3", 5.0, 6.0)]);
        assert!(history.redo().is_none());
        assert_eq!(history.undoable(), 2);
    }

    #[test]
    fn quick_notches_are_one_step_and_slow_ones_are_not() {
        let mut history = History::default();
        history.push_or_merge(entry("R1", 1.0, 2.0), 10.0);
        history.push_or_merge(entry("R1", 2.0, 3.0), 10.3);
        history.push_or_merge(entry("R2", 1.0, 3.0), 10.4);
        history.push_or_merge(entry("R2", 3.0, 4.0), 20.0);
        assert_eq!(history.undoable(), 3);
        history.undo();
        history.undo();
        let first = history.undo().unwrap();
        assert_eq!((first[0].before, first[0].after), (1.0, 3.0));
    }
}
