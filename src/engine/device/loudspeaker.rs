//! Loudspeaker: its electrical side, as small-signal driver parameters; its acoustic side is
//! [`Acoustic`].

use super::acoustics::{Acoustic, ValueFault, range_fault};
use serde::Deserialize;

/// Keys with range and unit (own choice: from the smallest practice amp's driver to a large
/// cabinet, with room on both sides).
pub const RANGES: [(&str, [f64; 2], &str); 9] = [
    ("rated_ohms", [2.0, 64.0], " Ω"),
    ("coil_ohms", [1.0, 64.0], " Ω"),
    ("coil_henries", [0.0, 0.02], " H"),
    ("lossy_henries", [0.0, 0.02], " H"),
    ("lossy_ohms", [0.1, 1000.0], " Ω"),
    ("resonance_hz", [20.0, 400.0], " Hz"),
    ("mechanical_q", [0.5, 40.0], ""),
    ("electrical_q", [0.1, 10.0], ""),
    ("rated_watts", [1.0, 1000.0], " W"),
];

/// Key, range and unit of what may be left out: the level at 1 m for 2.83 V at the terminals.
pub const SENSITIVITY: (&str, [f64; 2], &str) = ("sensitivity_db", [75.0, 115.0], " dB");

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
    /// Sound pressure level at 1 m for 2.83 V at the terminals, dB; none where it is unknown.
    #[serde(default)]
    pub sensitivity_db: Option<f64>,
    /// What a microphone hears of it.
    pub acoustic: Acoustic,
}

impl Loudspeaker {
    /// Reads the text of a file in `presets/loudspeakers`.
    ///
    /// # Errors
    /// What is wrong and where: the first fault of the writing, or every value outside its range,
    /// a line each.
    pub fn parse(text: &str) -> Result<Loudspeaker, String> {
        let driver: Loudspeaker = toml::from_str(text).map_err(|e| e.to_string())?;
        let faults = driver.faults();
        if !faults.is_empty() {
            return Err(faults.join("\n"));
        }
        Ok(driver.with_own_resonance())
    }

    /// With the driver's own resonance in front of what a file states of its acoustic side.
    pub fn with_own_resonance(self) -> Loudspeaker {
        let acoustic =
            self.acoustic
                .of_driver(self.resonance_hz, self.mechanical_q, self.electrical_q);
        Loudspeaker { acoustic, ..self }
    }

    /// Its values in the order of [`RANGES`].
    pub fn values(&self) -> [f64; RANGES.len()] {
        [
            self.rated_ohms,
            self.coil_ohms,
            self.coil_henries,
            self.lossy_henries,
            self.lossy_ohms,
            self.resonance_hz,
            self.mechanical_q,
            self.electrical_q,
            self.rated_watts,
        ]
    }

    fn faults(&self) -> Vec<String> {
        let named = RANGES.iter().zip(self.values());
        let mut faults: Vec<String> = named
            .filter_map(|(&(key, range, unit), value)| {
                range_fault(value, range, unit).map(|fault| format!("{key} {fault}"))
            })
            .collect();
        let (key, range, unit) = SENSITIVITY;
        let sensitivity = self
            .sensitivity_db
            .and_then(|db| range_fault(db, range, unit));
        faults.extend(sensitivity.map(|fault| format!("{key} {fault}")));
        let coil = coil_fault(self.coil_ohms, self.rated_ohms);
        faults.extend(coil.map(|fault| format!("coil_ohms {fault}")));
        faults.extend(self.acoustic.faults());
        faults
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

/// A fault if the coil alone has more resistance than the whole loudspeaker is rated at.
pub fn coil_fault(coil_ohms: f64, rated_ohms: f64) -> Option<ValueFault> {
    (coil_ohms > rated_ohms).then(|| ValueFault {
        message: format!("is {coil_ohms} Ω, more than rated_ohms, {rated_ohms} Ω"),
        remedy: "write what a meter shows across the loudspeaker, which is less than its rating"
            .into(),
    })
}
