//! The electrodes of a valve.

use serde::Serialize;

/// An electrode of a valve.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Electrode {
    /// Anode.
    Anode,
    /// Screen grid.
    Screen,
    /// Control grid.
    Grid,
    /// Cathode.
    Cathode,
}

impl Electrode {
    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Electrode::Anode => "anode",
            Electrode::Screen => "screen",
            Electrode::Grid => "grid",
            Electrode::Cathode => "cathode",
        }
    }
}

impl std::fmt::Display for Electrode {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.name())
    }
}
