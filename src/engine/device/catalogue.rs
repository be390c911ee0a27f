//! The named valves, rectifiers and loudspeakers that come with the program.

use super::{Loudspeaker, RectifierFile, RectifierType, Valve, ValveFile};
use std::sync::Arc;

macro_rules! embedded {
    ($($path:literal),* $(,)?) => {
        &[$(($path, include_str!(concat!("../../../presets/", $path)))),*]
    };
}

/// The valve files, embedded: path below `presets/` and text.
pub const VALVE_FILES: &[(&str, &str)] = embedded![
    "valves/ecc81.toml",
    "valves/ecc82.toml",
    "valves/ecc83.toml",
    "valves/el34.toml",
    "valves/el84.toml",
    "valves/6l6gc.toml",
    "valves/6v6gt.toml"
];

/// The rectifier files, embedded.
pub const RECTIFIER_FILES: &[(&str, &str)] = embedded![
    "rectifiers/5ar4.toml",
    "rectifiers/ez80.toml",
    "rectifiers/silicon.toml",
    "rectifiers/5u4gb.toml",
    "rectifiers/5y3gt.toml",
    "rectifiers/ez81.toml",
];

/// The loudspeaker files, embedded.
pub const LOUDSPEAKER_FILES: &[(&str, &str)] = embedded![
    "loudspeakers/anvil-twelve.toml",
    "loudspeakers/breakwater-quad.toml",
    "loudspeakers/harbour-ten.toml",
    "loudspeakers/tin-ten.toml",
];

/// Reads embedded files, which a test has read before: a fault in one is a fault of the program.
fn read<T>(files: &[(&str, &str)], parse: impl Fn(&str) -> Result<T, String>) -> Vec<Arc<T>> {
    files
        .iter()
        .map(|(path, text)| Arc::new(parse(text).unwrap_or_else(|e| panic!("{path}: {e}"))))
        .collect()
}

/// Everything that a circuit may name.
#[derive(Clone, Debug, Default)]
pub struct Catalogue {
    /// Valve types.
    pub valves: Vec<Arc<Valve>>,
    /// Rectifier types.
    pub rectifiers: Vec<Arc<RectifierType>>,
    /// Loudspeakers.
    pub loudspeakers: Vec<Arc<Loudspeaker>>,
}

impl Catalogue {
    /// What comes with the program.
    pub fn built_in() -> Self {
        Catalogue {
            valves: read(VALVE_FILES, |text| Ok(ValveFile::parse(text)?.valve())),
            rectifiers: read(RECTIFIER_FILES, |text| {
                Ok(RectifierFile::parse(text)?.rectifier())
            }),
            loudspeakers: read(LOUDSPEAKER_FILES, Loudspeaker::parse),
        }
    }

    /// A valve by its type number or one of its other names, in any case.
    pub fn valve(&self, name: &str) -> Option<&Arc<Valve>> {
        self.valves.iter().find(|v| {
            v.name.eq_ignore_ascii_case(name) || v.also.iter().any(|a| a.eq_ignore_ascii_case(name))
        })
    }

    /// A rectifier by its type number.
    pub fn rectifier(&self, name: &str) -> Option<&Arc<RectifierType>> {
        self.rectifiers
            .iter()
            .find(|r| r.name.eq_ignore_ascii_case(name))
    }

    /// A loudspeaker by its name.
    pub fn loudspeaker(&self, name: &str) -> Option<&Arc<Loudspeaker>> {
        self.loudspeakers
            .iter()
            .find(|l| l.name.eq_ignore_ascii_case(name))
    }
}
