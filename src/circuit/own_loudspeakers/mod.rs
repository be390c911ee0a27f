//! The loudspeakers that a circuit file brings itself, and the one answer to which loudspeakers a
//! circuit can have.
//!
//! They stand in tables `[[loudspeaker]]`, which have the keys of a file in `presets/loudspeakers`.

mod read;

use super::Circuit;
use super::write::quoted;
use crate::device::loudspeaker::RANGES;
use crate::device::{Catalogue, Loudspeaker};
use std::fmt::Write;
use std::sync::Arc;

/// Most loudspeakers that one file may bring (own choice: each is worked out in full wherever a
/// loudspeaker can be chosen).
pub const MOST_OWN_LOUDSPEAKERS: usize = 16;
/// Keys that a data sheet does not tell; without them the coil loses nothing to eddy currents.
const LOSSES: [&str; 2] = ["lossy_henries", "lossy_ohms"];
/// Resistance of the losses where there are none, Ω: what it bypasses has no inductance.
const NO_LOSSES_OHMS: f64 = 1000.0;

/// A loudspeaker of the file's own.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct OwnLoudspeaker {
    pub driver: Arc<Loudspeaker>,
    /// Keys that the file does not state.
    assumed: Vec<&'static str>,
}

/// The loudspeakers that a circuit can have: those of the catalogue, then those of its own file.
#[derive(Clone, Copy, Debug)]
pub struct KnownLoudspeakers<'a> {
    catalogue: &'a Catalogue,
    own: &'a [OwnLoudspeaker],
}

impl<'a> KnownLoudspeakers<'a> {
    pub(super) fn new(catalogue: &'a Catalogue, own: &'a [OwnLoudspeaker]) -> Self {
        KnownLoudspeakers { catalogue, own }
    }

    /// All of them, always in the same order.
    pub fn all(self) -> impl Iterator<Item = &'a Arc<Loudspeaker>> + Clone {
        let own = self.own.iter().map(|own| &own.driver);
        self.catalogue.loudspeakers.iter().chain(own)
    }

    /// Their names.
    pub fn names(self) -> impl Iterator<Item = &'a str> + Clone {
        self.all().map(|driver| driver.name.as_str())
    }

    /// One by its name, in any case.
    pub fn find(self, name: &str) -> Option<&'a Arc<Loudspeaker>> {
        self.all().find(|l| l.name.eq_ignore_ascii_case(name))
    }
}

impl Circuit {
    /// The loudspeakers that the file brings itself, in its order.
    pub fn own_loudspeakers(&self) -> impl Iterator<Item = &Arc<Loudspeaker>> {
        self.own_loudspeakers.iter().map(|own| &own.driver)
    }

    /// The loudspeakers that this circuit can have. Whoever offers or looks up a loudspeaker asks
    /// here.
    pub fn known_loudspeakers<'a>(&'a self, catalogue: &'a Catalogue) -> KnownLoudspeakers<'a> {
        KnownLoudspeakers::new(catalogue, &self.own_loudspeakers)
    }
}

impl OwnLoudspeaker {
    /// As a table of a circuit file; what the file does not state is left out again.
    pub fn written(&self) -> String {
        let driver = &self.driver;
        let mut text = format!("\n[[loudspeaker]]\nname = {}\n", quoted(&driver.name));
        if !driver.about.is_empty() {
            let _ = writeln!(text, "about = {}", quoted(&driver.about));
        }
        let values = RANGES.iter().map(|(key, ..)| *key).zip(driver.values());
        for (key, value) in values.filter(|(key, _)| !self.assumed.contains(key)) {
            let _ = writeln!(text, "{key} = {value}");
        }
        if self.assumed.contains(&"acoustic") {
            return text;
        }
        text.push_str("acoustic = [\n");
        // The first one is the driver's own resonance, which is not written.
        for section in driver.acoustic.sections().iter().skip(1) {
            let keys = section.keys().into_iter();
            let keys: Vec<String> = keys
                .map(|(key, value)| format!("{key} = {value}"))
                .collect();
            let _ = writeln!(
                text,
                "    {{ {} = {{ {} }} }},",
                section.word(),
                keys.join(", ")
            );
        }
        text.push_str("]\n");
        text
    }

    /// A sentence for what is assumed.
    pub fn supplied(&self) -> Vec<String> {
        let name = &self.driver.name;
        let mut sentences = Vec::new();
        if self.assumed.contains(&LOSSES[0]) {
            sentences.push(format!(
                "{name}: lossy_henries and lossy_ohms are not stated; a coil without losses is \
                 assumed, whose impedance rises further in the treble than that of a real one."
            ));
        }
        if self.assumed.contains(&"acoustic") {
            sentences.push(format!(
                "{name}: acoustic is not stated; it is heard as even from its resonance up to 5 kHz \
                 and falling by 24 dB an octave above, as a guitar loudspeaker does on the whole."
            ));
        }
        sentences
    }
}
