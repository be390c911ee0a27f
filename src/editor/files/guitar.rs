//! The file of a guitar of the owner's own: its path, and what was wrong with it.

use super::thread::{FileThread, Order};
use crate::editor::edit::{Edit, PluginSetting};
use crate::live::jack_guitar::{JackGuitar, OwnGuitar};
use std::path::PathBuf;

/// See the module.
#[derive(Default)]
pub struct GuitarFile {
    /// The path, as typed or chosen.
    pub path: String,
    /// What was wrong, in sentences; empty where nothing was.
    pub told: String,
}

impl GuitarFile {
    /// Opens a file.
    pub fn open(&mut self, path: PathBuf, thread: &FileThread) {
        self.path = path.display().to_string();
        thread.order(Order::OpenGuitar(path));
    }

    /// A guitar is in the jack at once; one that cannot be read leaves the last one.
    pub fn opened(&mut self, read: Result<OwnGuitar, String>, edit: &dyn Edit) {
        match read {
            Ok(own) => {
                self.told.clear();
                edit.set_own_guitar(Some(own));
                edit.set_setting(PluginSetting::Guitar, JackGuitar::Own as usize as f64);
            }
            Err(fault) => self.told = fault,
        }
    }
}
