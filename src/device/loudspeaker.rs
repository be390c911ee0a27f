//! Loudspeaker: its electrical side, as small-signal driver parameters.

use serde::Deserialize;

/// A driver as its amplifier sees it.
///
/// `Z = Re + jωLe + (jωL2 ∥ R2) + (1/Res + jωCmes + 1/(jωLces))⁻¹` with
/// `Cmes = Qms/(2π·fs·Res)`, `Lces = Res/(2π·fs·Qms)`, `Res = Re·Qms/Qes`: R. H. Small,
/// "Direct-Radiator Loudspeaker System Analysis", JAES 20(5), 383–395, 1972 (from memory).
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Loudspeaker {
    /// Name in the catalogue.
    pub name: String,
    /// One sentence for the owner.
    pub about: String,
    /// Rated impedance, Ω.
    pub rated_ohms: f64,
    /// Resistance of the voice coil, Ω.
    pub coil_ohms: f64,
    /// Series inductance of the voice coil, H.
    pub coil_henries: f64,
    /// Part of the coil inductance that eddy currents bypass, H.
    pub lossy_henries: f64,
    /// What they bypass it with, Ω.
    pub lossy_ohms: f64,
    /// Resonance, Hz.
    pub resonance_hz: f64,
    /// Mechanical quality factor at resonance.
    pub mechanical_q: f64,
    /// Electrical quality factor at resonance.
    pub electrical_q: f64,
    /// Power rating, W.
    pub rated_watts: f64,
}

impl Loudspeaker {
    /// Reads the text of a file in `presets/loudspeakers`.
    ///
    /// # Errors
    /// A sentence that says what is wrong and where.
    pub fn parse(text: &str) -> Result<Loudspeaker, String> {
        toml::from_str(text).map_err(|e| e.to_string())
    }

    /// Resistance of the motional branch at resonance, Ω.
    pub fn motional_ohms(&self) -> f64 {
        self.coil_ohms * self.mechanical_q / self.electrical_q
    }
    /// Capacitance that stands for the moving mass, F.
    pub fn motional_farads(&self) -> f64 {
        self.mechanical_q / (std::f64::consts::TAU * self.resonance_hz * self.motional_ohms())
    }
    /// Inductance that stands for the compliance, H.
    pub fn motional_henries(&self) -> f64 {
        self.motional_ohms() / (std::f64::consts::TAU * self.resonance_hz * self.mechanical_q)
    }
}
