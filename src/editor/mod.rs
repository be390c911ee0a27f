//! The editor: reports become pictures, gestures become edits. It knows no plugin framework; what
//! it may see and do is the trait [`edit::Edit`].
//!
//! Left to right is cause to effect, top to bottom the signal's way. No work of length is done on
//! the window's thread: analyses run in [`analyses::worker`], files in [`files::thread`].

mod analyses;
mod cabinet;
mod controls;
mod curve;
pub mod edit;
mod editing;
mod effect;
mod files;
mod fit;
mod guitar;
mod history;
mod job_sheet;
mod layout;
mod levels;
mod loads;
mod panel;
mod panels;
mod parts;
mod readings;
mod safety;
mod schematic;
mod settings;
mod spectrum;
mod spread;
mod theme;
mod top;
mod valves;
mod view;
mod widgets;
mod window;

pub use window::Editor;

#[cfg(test)]
mod tests {
    use super::Editor;

    #[test]
    fn a_window_may_move_between_threads() {
        fn may_move<T: Send>() {}
        may_move::<Editor>();
    }
}
