//! The named valves, rectifiers and loudspeakers that come with the program.

use super::{Loudspeaker, Valve, ValveFile};
use std::sync::Arc;

/// A rectifier type.
#[derive(Clone, Debug, PartialEq)]
pub struct RectifierType {
    /// Type number, or "silicon".
    pub name: String,
    /// `K` of `i = K·v^1.5` for one anode, A/V^1.5; none for silicon.
    pub perveance: Option<f64>,
    /// Largest reservoir, F.
    pub reservoir_farads: Option<f64>,
    /// Largest mean output current, A.
    pub output_amps: Option<f64>,
    /// One line on where the numbers come from.
    pub provenance: String,
}

macro_rules! embedded {
    ($($path:literal),* $(,)?) => {
        &[$(($path, include_str!(concat!("../../presets/", $path)))),*]
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
        let valves = VALVE_FILES
            .iter()
            .map(|(path, text)| {
                let file = ValveFile::parse(text).unwrap_or_else(|e| panic!("{path}: {e}"));
                Arc::new(file.valve())
            })
            .collect();
        Catalogue {
            valves,
            rectifiers: Vec::new(),
            loudspeakers: vec![Arc::new(Loudspeaker {
                name: "Tin Ten".into(),
                about: "Invented bright 10-inch driver.".into(),
                rated_ohms: 8.0,
                coil_ohms: 6.4,
                coil_henries: 0.15e-3,
                lossy_henries: 0.5e-3,
                lossy_ohms: 12.0,
                resonance_hz: 95.0,
                mechanical_q: 10.0,
                electrical_q: 1.3,
                rated_watts: 25.0,
            })],
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
