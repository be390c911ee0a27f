//! The editor: reports become pictures, gestures become edits. It knows no plugin framework; what
//! it may see and do is the trait [`edit::Edit`].

pub mod edit;

/// The window.
#[derive(Default)]
pub struct Editor {}

impl Editor {
    /// A window.
    pub fn new() -> Self {
        Editor {}
    }

    /// Draws it.
    pub fn ui(&mut self, ui: &mut egui::Ui, edit: &dyn edit::Edit) {
        ui.label(edit.amp().circuit().name());
    }
}
