//! A loudspeaker of a circuit file's own, and its table in the file.

use crate::circuit::text::quoted;
use crate::device::Loudspeaker;
use crate::device::loudspeaker::{RANGES, SENSITIVITY};
use std::fmt::Write;
use std::sync::Arc;

/// Keys that a data sheet does not tell; without them the coil loses nothing to eddy currents.
pub const LOSSES: [&str; 2] = ["lossy_henries", "lossy_ohms"];
/// Resistance of the losses where there are none, Ω: what it bypasses has no inductance.
pub const NO_LOSSES_OHMS: f64 = 1000.0;

/// A loudspeaker of the file's own.
#[derive(Clone, Debug, PartialEq)]
pub struct OwnLoudspeaker {
    /// The loudspeaker.
    pub driver: Arc<Loudspeaker>,
    /// Keys that the file does not state.
    pub assumed: Vec<&'static str>,
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
        if let Some(db) = driver.sensitivity_db {
            let _ = writeln!(text, "{} = {db}", SENSITIVITY.0);
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
