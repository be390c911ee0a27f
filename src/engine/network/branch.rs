//! Linear branches: what stands between nodes, and its companion in each kind of solve.
//!
//! A branch sees `u = Σ cₖ·vₖ` over its terminals and carries `i`, which leaves terminal `k` as
//! `cₖ·i`. Its stamp is therefore the symmetric `g·c·cᵀ`. A resistor has `c = (1, −1)`; a winding
//! on a core whose flux gives `e` volts over the whole primary has `c = (1, −1, −share)`, which
//! makes an ideal transformer without an unknown current.

use num_complex::Complex64;

/// What a branch is made of; fixed for a topology.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BranchKind {
    /// Conductance, possibly with a source in series.
    Resistive,
    /// Capacitance.
    Capacitive,
    /// Resistance in series with an inductance that may have a damping conductance across it.
    Coil,
}

/// Which piece of its part a branch is; fixed for a topology.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Piece {
    /// All of it.
    Whole,
    /// A pot's track between the high end and the wiper.
    UpperTrack,
    /// A pot's track between the wiper and the low end.
    LowerTrack,
    /// A valve's capacitance.
    AnodeToGrid,
    /// A valve's capacitance.
    GridToCathode,
    /// A valve's capacitance.
    AnodeToCathode,
    /// A valve's capacitance.
    ScreenToCathode,
    /// A transformer's winding between two taps, counted from 1.
    PrimarySection(usize),
    /// A transformer's winding between two taps, counted from 1.
    SecondarySection(usize),
    /// A transformer's magnetising inductance.
    Inductance,
    /// A transformer's core loss.
    CoreLoss,
    /// A transformer's capacitance at an end of the primary, counted from 1.
    WindingCapacitance(usize),
    /// A loudspeaker's eddy-current losses.
    CoilLosses,
    /// A loudspeaker's voice coil.
    Coil,
    /// A loudspeaker's suspension losses.
    SuspensionLosses,
    /// A loudspeaker's moving mass.
    MovingMass,
    /// A loudspeaker's compliance.
    Compliance,
}

impl Piece {
    /// The branch's name for a person, from the part's designator.
    pub fn label(self, designator: &str) -> String {
        let words = match self {
            Piece::Whole => return designator.to_owned(),
            Piece::UpperTrack => "upper",
            Piece::LowerTrack => "lower",
            Piece::AnodeToGrid => "anode to grid",
            Piece::GridToCathode => "grid to cathode",
            Piece::AnodeToCathode => "anode to cathode",
            Piece::ScreenToCathode => "screen to cathode",
            Piece::PrimarySection(at) => return format!("{designator} primary section {at}"),
            Piece::SecondarySection(at) => return format!("{designator} secondary section {at}"),
            Piece::Inductance => "inductance",
            Piece::CoreLoss => "core loss",
            Piece::WindingCapacitance(at) => {
                return format!("{designator} winding capacitance {at}");
            }
            Piece::CoilLosses => "coil losses",
            Piece::Coil => "coil",
            Piece::SuspensionLosses => "suspension losses",
            Piece::MovingMass => "moving mass",
            Piece::Compliance => "compliance",
        };
        format!("{designator} {words}")
    }
}

/// Values of one branch, SI units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum BranchValue {
    /// Conductance (S) and the source (V) in series with it, positive towards the first terminal.
    Resistive { siemens: f64, volts: f64 },
    /// Capacitance (F).
    Capacitive { farads: f64 },
    /// Series resistance (Ω), inductance (H), conductance across the inductance (S).
    Coil {
        ohms: f64,
        henries: f64,
        damping: f64,
    },
}

/// Trapezoidal companion: `i = g·u − J` with `J = from_volts·u₋ + from_amps·i₋ + constant`, the
/// values one step before marked `₋` (C.-W. Ho, A. Ruehli, P. Brennan, IEEE Trans. CAS 22(6),
/// 1975, section on companion networks).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Companion {
    /// Conductance, S.
    pub siemens: f64,
    /// Weight of the last voltage, S.
    pub from_volts: f64,
    /// Weight of the last current.
    pub from_amps: f64,
    /// Current of a constant source, A.
    pub constant: f64,
}

/// Least resistance of a coil, Ω, so that an inductance alone has a finite conductance at 0 Hz.
const LEAST_COIL_OHMS: f64 = 1e-6;

impl BranchValue {
    /// A resistor of `ohms`.
    pub fn resistor(ohms: f64) -> Self {
        BranchValue::Resistive {
            siemens: 1.0 / ohms,
            volts: 0.0,
        }
    }

    /// A coil; `damping_ohms` may be infinite.
    pub fn coil(ohms: f64, henries: f64, damping_ohms: f64) -> Self {
        BranchValue::Coil {
            ohms: ohms.max(LEAST_COIL_OHMS),
            henries,
            damping: 1.0 / damping_ohms,
        }
    }

    /// Which kind these values belong to.
    pub fn kind(&self) -> BranchKind {
        match self {
            BranchValue::Resistive { .. } => BranchKind::Resistive,
            BranchValue::Capacitive { .. } => BranchKind::Capacitive,
            BranchValue::Coil { .. } => BranchKind::Coil,
        }
    }

    /// The same branch with its conductance, capacitance or inductance `factor` times as large.
    pub fn scaled(&self, factor: f64) -> Self {
        match *self {
            BranchValue::Resistive { siemens, volts } => BranchValue::Resistive {
                siemens: siemens * factor,
                volts,
            },
            BranchValue::Capacitive { farads } => BranchValue::Capacitive {
                farads: farads * factor,
            },
            BranchValue::Coil {
                ohms,
                henries,
                damping,
            } => BranchValue::Coil {
                ohms,
                henries: henries * factor,
                damping,
            },
        }
    }

    /// The same branch with the source in it `factor` times as strong.
    pub fn driven(&self, factor: f64) -> Self {
        match *self {
            BranchValue::Resistive { siemens, volts } => BranchValue::Resistive {
                siemens,
                volts: volts * factor,
            },
            other => other,
        }
    }

    /// The same branch with its part left out.
    pub fn absent(&self) -> Self {
        match self {
            BranchValue::Resistive { .. } => BranchValue::Resistive {
                siemens: 0.0,
                volts: 0.0,
            },
            BranchValue::Capacitive { .. } => BranchValue::Capacitive { farads: 0.0 },
            BranchValue::Coil { .. } => BranchValue::Coil {
                ohms: 1e15,
                henries: 0.0,
                damping: 0.0,
            },
        }
    }

    /// At 0 Hz.
    pub fn at_rest(&self) -> Companion {
        let siemens = match *self {
            BranchValue::Resistive { siemens, .. } => siemens,
            BranchValue::Capacitive { .. } => 0.0,
            BranchValue::Coil { ohms, .. } => 1.0 / ohms,
        };
        Companion {
            siemens,
            from_volts: 0.0,
            from_amps: 0.0,
            constant: self.source(),
        }
    }

    fn source(&self) -> f64 {
        match *self {
            BranchValue::Resistive { siemens, volts } => siemens * volts,
            _ => 0.0,
        }
    }

    /// For one trapezoidal step of `step` seconds.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn companion(&self, step: f64) -> Companion {
        match *self {
            BranchValue::Resistive { siemens, .. } => Companion {
                siemens,
                from_volts: 0.0,
                from_amps: 0.0,
                constant: self.source(),
            },
            BranchValue::Capacitive { farads } => {
                let siemens = 2.0 * farads / step;
                Companion {
                    siemens,
                    from_volts: siemens,
                    from_amps: 1.0,
                    constant: 0.0,
                }
            }
            BranchValue::Coil { ohms, henries, .. } if henries <= 0.0 => Companion {
                siemens: 1.0 / ohms,
                from_volts: 0.0,
                from_amps: 0.0,
                constant: 0.0,
            },
            BranchValue::Coil {
                ohms,
                henries,
                damping,
            } => {
                // Across the inductance stands w = u − R·i, through it flows i − D·w, and the
                // trapezoid gives i = (D + g)·w + (g·w₋ + (i − D·w)₋) with g = h/2L.
                let inductive = step / (2.0 * henries);
                let together = damping + inductive;
                let scale = 1.0 / (1.0 + ohms * together);
                let behind = inductive - damping;
                Companion {
                    siemens: together * scale,
                    from_volts: -behind * scale,
                    from_amps: -(1.0 - behind * ohms) * scale,
                    constant: 0.0,
                }
            }
        }
    }

    /// Complex conductance at angular frequency `omega`, rad/s.
    pub fn admittance(&self, omega: f64) -> Complex64 {
        self.admittance_at(Complex64::new(0.0, omega))
    }

    /// Complex conductance at complex frequency `s`, rad/s: for what grows or dies away as `exp(s·t)`.
    pub fn admittance_at(&self, s: Complex64) -> Complex64 {
        match *self {
            BranchValue::Resistive { siemens, .. } => Complex64::new(siemens, 0.0),
            BranchValue::Capacitive { farads } => s * farads,
            BranchValue::Coil {
                ohms,
                henries,
                damping,
            } => {
                let reactance = s * henries;
                (reactance / (reactance * damping + 1.0) + ohms).inv()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Drives a branch with `u = cos ωt` in steps and returns its complex admittance, which for
    /// the trapezoidal rule is the analogue one at `(2/h)·tan(ωh/2)`.
    #[test]
    fn stepped_branches_have_the_admittance_of_the_bilinear_transform() {
        let (step, omega) = (1e-5, 9000.0);
        let warped = 2.0 / step * (omega * step / 2.0_f64).tan();
        for value in [
            BranchValue::resistor(4.7e3),
            BranchValue::Capacitive { farads: 22e-9 },
            BranchValue::coil(120.0, 8e-3, 22e3),
            BranchValue::coil(6.4, 0.5e-3, 12.0),
            BranchValue::coil(6.4, 0.0, f64::INFINITY),
        ] {
            let companion = value.companion(step);
            let (mut volts, mut amps) = (0.0, 0.0);
            let mut sum = Complex64::new(0.0, 0.0);
            let settle = 200_000;
            let count = 20_000 * 7;
            for n in 0..settle + count {
                let phase = omega * step * n as f64;
                let u = phase.cos();
                let history =
                    companion.from_volts * volts + companion.from_amps * amps + companion.constant;
                amps = companion.siemens * u - history;
                volts = u;
                if n >= settle {
                    // A Hann window keeps the leakage of an incomplete period out.
                    let w =
                        1.0 - (std::f64::consts::TAU * (n - settle) as f64 / count as f64).cos();
                    sum += Complex64::from_polar(2.0 * amps * w / count as f64, -phase);
                }
            }
            let expected = value.admittance(warped);
            assert!(
                (sum - expected).norm() < 1e-6 * expected.norm(),
                "{value:?}: {sum} {expected}"
            );
        }
    }
}
