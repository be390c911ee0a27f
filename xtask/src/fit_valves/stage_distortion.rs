//! Distortion of a resistance-coupled triode stage at a stated output: quasi-static, without grid
//! current, a table's row in and per cent out.

use engine::device::TriodeLaw;
use engine::device::load_line::resistance_coupled;
use std::f64::consts::{SQRT_2, TAU};

/// Phases of the sine.
const PHASES: usize = 32;
/// Halvings of the anode's range: down to a microvolt.
const HALVINGS: usize = 34;
/// Rounds in which mean anode voltage and bias follow the signal; each takes most of the rest away.
const ROUNDS: usize = 6;

/// One row of a table.
pub struct Coupled {
    /// Supply, V.
    pub supply_volts: f64,
    /// Anode load, Ω.
    pub anode_ohms: f64,
    /// Cathode resistor, bypassed, Ω.
    pub cathode_ohms: f64,
    /// Grid leak of the next stage, Ω.
    pub next_leak_ohms: f64,
    /// Output that the small-signal gain would give, V rms.
    pub output_volts: f64,
}

/// Harmonics 2 to 8 together, per cent of the fundamental.
pub fn distortion_percent(law: &TriodeLaw<f64>, row: &Coupled) -> f64 {
    let rest = resistance_coupled(
        law,
        row.supply_volts,
        row.anode_ohms,
        row.cathode_ohms,
        row.next_leak_ohms,
    );
    let peak = SQRT_2 * row.output_volts / rest.gain;
    let (mut mean, mut bias) = (rest.anode_volts, -rest.grid_volts);
    let mut volts = [0.0; PHASES];
    for _ in 0..ROUNDS {
        let mut amps = 0.0;
        for (phase, volt) in volts.iter_mut().enumerate() {
            let grid = peak * angle(phase).sin() - bias;
            let spare = |v: f64| {
                (row.supply_volts - bias - v) / row.anode_ohms
                    - (v - mean) / row.next_leak_ohms
                    - law.currents(v, grid).anode
            };
            let (mut low, mut high) = (0.0, 1.3 * row.supply_volts);
            for _ in 0..HALVINGS {
                let middle = 0.5 * (low + high);
                if spare(middle) > 0.0 {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            *volt = 0.5 * (low + high);
            amps += law.currents(*volt, grid).anode / PHASES as f64;
        }
        mean = volts.iter().sum::<f64>() / PHASES as f64;
        bias = amps * row.cathode_ohms;
    }
    let square = |harmonic: usize| {
        let at = |phase: usize| harmonic as f64 * angle(phase);
        let sum = |part: fn(f64) -> f64| -> f64 {
            let terms = volts.iter().enumerate();
            terms.map(|(phase, v)| v * part(at(phase))).sum()
        };
        sum(f64::cos).powi(2) + sum(f64::sin).powi(2)
    };
    100.0 * ((2..=8).map(square).sum::<f64>() / square(1)).sqrt()
}

fn angle(phase: usize) -> f64 {
    TAU * (phase as f64 + 0.5) / PHASES as f64
}
