//! What the parts list remembers from frame to frame.

use super::value::ValueState;
use crate::editor::view::View;
use crate::live::LiveAmp;

/// What the list remembers from frame to frame.
#[derive(Clone, Debug, Default)]
pub struct ListState {
    /// What is searched for.
    pub search: String,
    /// Whether only changed parts are shown.
    pub only_changed: bool,
    /// Adjustable of the row under the pointer.
    pub hovered: Option<usize>,
    /// The values that are being typed.
    pub values: ValueState,
    /// The part that was brought into view last: one that is selected elsewhere is looked for once.
    pub in_view: Option<String>,
}

impl ListState {
    /// The row that is looked at: under the pointer, else selected.
    pub fn looked_at(&self, amp: &LiveAmp, view: &View) -> Option<usize> {
        let selected = view.selected.as_ref().and_then(|id| amp.find(id));
        self.hovered.or(selected)
    }
}
