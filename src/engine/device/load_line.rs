//! One valve, or a matched pair, on a bench of ideal parts: what data sheets print.
//!
//! Quasi-static: no capacitance, ideal transformer, stiff supplies. Slow and obvious; it serves
//! the fits and their tests, not the sound.

use super::{TriodeLaw, ValveLaw};
use std::f64::consts::{SQRT_2, TAU};

/// Phases of the driving sine.
const PHASES: usize = 48;
/// Halvings of an interval of a kilovolt: down to 10⁻¹¹ V.
const HALVINGS: usize = 47;

/// Anode and screen current of any valve, A; `vs` of none ties a pentode's screen to its anode,
/// and then the anode current is the sum of both.
pub fn currents(law: &ValveLaw, va: f64, vs: Option<f64>, vg: f64) -> (f64, f64) {
    match (law, vs) {
        (ValveLaw::Triode(law), _) => (law.currents(va, vg).anode, 0.0),
        (ValveLaw::Pentode(law), Some(vs)) => {
            let i = law.currents(va, vs, vg);
            (i.anode, i.screen)
        }
        (ValveLaw::Pentode(law), None) => {
            let i = law.currents(va, va, vg);
            (i.anode + i.screen, 0.0)
        }
    }
}

/// The zero of a falling function between `low` and `high`.
fn bisect(mut low: f64, mut high: f64, falling: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if falling(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// The zero of a smooth falling function near `start` and `next`, by secants: few evaluations,
/// for functions that are themselves expensive. Ends where a step no longer matters.
fn secant(start: f64, next: f64, falling: impl Fn(f64) -> f64) -> f64 {
    let (mut x0, mut x1) = (start, next);
    let mut y0 = falling(x0);
    for _ in 0..40 {
        let y1 = falling(x1);
        if y1 == y0 || (x1 - x0).abs() <= 1e-12 * x1.abs() {
            break;
        }
        (x0, x1, y0) = (x1, x1 - y1 * (x1 - x0) / (y1 - y0), y1);
    }
    x1
}

/// Grid voltage that a cathode resistor of `ohms` sets, with the other voltages referred to the
/// cathode, V.
pub fn self_bias(law: &ValveLaw, va: f64, vs: Option<f64>, ohms: f64) -> f64 {
    -bisect(0.0, 200.0, |bias| {
        let (anode, screen) = currents(law, va, vs, -bias);
        (anode + screen) * ohms - bias
    })
}

/// Working point and gain of a resistance-coupled stage with bypassed cathode resistor.
#[derive(Clone, Copy, Debug)]
pub struct Stage {
    /// Anode current, A.
    pub anode_amps: f64,
    /// Anode voltage above the cathode, V.
    pub anode_volts: f64,
    /// Grid voltage below zero, V.
    pub grid_volts: f64,
    /// Voltage gain into the next grid leak, at middle frequencies.
    pub gain: f64,
}

/// Solves a resistance-coupled stage: resistances in Ω.
pub fn resistance_coupled(
    law: &TriodeLaw<f64>,
    supply_volts: f64,
    anode_ohms: f64,
    cathode_ohms: f64,
    next_leak_ohms: f64,
) -> Stage {
    let total = anode_ohms + cathode_ohms;
    let anode_amps = bisect(0.0, supply_volts / total, |i| {
        law.currents(supply_volts - i * total, -i * cathode_ohms)
            .anode
            - i
    });
    let anode_volts = supply_volts - anode_amps * total;
    let grid_volts = -anode_amps * cathode_ohms;
    let i = law.currents(anode_volts, grid_volts);
    let gain = i.anode_by_grid / (i.anode_by_anode + 1.0 / anode_ohms + 1.0 / next_leak_ohms);
    Stage {
        anode_amps,
        anode_volts,
        grid_volts,
        gain,
    }
}

/// How an output valve is set up.
#[derive(Clone, Copy, Debug)]
pub struct OutputStage {
    /// True for a matched pair in push-pull.
    pub push_pull: bool,
    /// Mean anode voltage, V.
    pub anode_volts: f64,
    /// Screen voltage, V; none ties it to the anode.
    pub screen_volts: Option<f64>,
    /// Bias.
    pub bias: Bias,
    /// Load of one valve, or from anode to anode, Ω.
    pub load_ohms: f64,
    /// Sine at each control grid, V rms.
    pub drive_volts: f64,
}

/// What sets the grid voltage of an output stage.
#[derive(Clone, Copy, Debug)]
pub enum Bias {
    /// Grid voltage, V.
    Fixed(f64),
    /// Bypassed cathode resistor of one valve, Ω; twice the value of one that a pair shares.
    Cathode(f64),
}

/// What an output stage does with a sine.
#[derive(Clone, Copy, Debug)]
pub struct Driven {
    /// Mean anode current of one valve, A.
    pub anode_amps: f64,
    /// Mean screen current of one valve, A.
    pub screen_amps: f64,
    /// Power into the load, fundamental only, W.
    pub watts: f64,
    /// Total harmonic distortion, %.
    pub distortion_percent: f64,
    /// Mean grid voltage, V.
    pub grid_volts: f64,
}

/// Solves an output stage at full drive.
pub fn driven(law: &ValveLaw, stage: &OutputStage) -> Driven {
    let solve = |grid_volts: f64| {
        if stage.push_pull {
            push_pull(law, stage, grid_volts)
        } else {
            single_ended(law, stage, grid_volts)
        }
    };
    match stage.bias {
        Bias::Fixed(grid_volts) => solve(grid_volts),
        Bias::Cathode(ohms) => {
            let idle = -self_bias(law, stage.anode_volts, stage.screen_volts, ohms);
            let bias = secant(idle, 1.05 * idle, |bias| {
                let d = solve(-bias);
                (d.anode_amps + d.screen_amps) * ohms - bias
            });
            solve(-bias)
        }
    }
}

fn grid_sine(stage: &OutputStage, phase: usize) -> f64 {
    stage.drive_volts * SQRT_2 * (TAU * (phase as f64 + 0.5) / PHASES as f64).sin()
}

fn push_pull(law: &ValveLaw, stage: &OutputStage, grid_volts: f64) -> Driven {
    // Each half of the primary sees a quarter of the anode-to-anode load for the difference of
    // the two anode currents.
    let ohms = stage.load_ohms / 4.0;
    let mut swing = [0.0; PHASES];
    let (mut anode, mut screen) = (0.0, 0.0);
    for (phase, swing) in swing.iter_mut().enumerate() {
        let sine = grid_sine(stage, phase);
        let pull = |v| {
            currents(
                law,
                stage.anode_volts - v,
                stage.screen_volts,
                grid_volts + sine,
            )
        };
        let push = |v| {
            currents(
                law,
                stage.anode_volts + v,
                stage.screen_volts,
                grid_volts - sine,
            )
        };
        let most = 1.5 * stage.anode_volts;
        *swing = bisect(-most, most, |v| (pull(v).0 - push(v).0) * ohms - v);
        let (a, s) = pull(*swing);
        anode += a / PHASES as f64;
        screen += s / PHASES as f64;
    }
    report(&swing, ohms, anode, screen, grid_volts)
}

fn single_ended(law: &ValveLaw, stage: &OutputStage, grid_volts: f64) -> Driven {
    // The transformer keeps the mean anode voltage at the supply: the mean current is whatever
    // makes the swing's mean zero. The mean of the valve's current rises slower than its guess.
    let solve = |mean: f64| {
        let mut swing = [0.0; PHASES];
        let (mut anode, mut screen) = (0.0, 0.0);
        for (phase, swing) in swing.iter_mut().enumerate() {
            let vg = grid_volts + grid_sine(stage, phase);
            let at = |v: f64| currents(law, stage.anode_volts - v, stage.screen_volts, vg);
            let most = 4.0 * stage.anode_volts;
            *swing = bisect(-most, most, |v| (at(v).0 - mean) * stage.load_ohms - v);
            let (a, s) = at(*swing);
            anode += a / PHASES as f64;
            screen += s / PHASES as f64;
        }
        (swing, anode, screen)
    };
    let idle = currents(law, stage.anode_volts, stage.screen_volts, grid_volts).0;
    let mean = secant(idle, 1.02 * idle, |mean| solve(mean).1 - mean);
    let (swing, anode, screen) = solve(mean);
    report(&swing, stage.load_ohms, anode, screen, grid_volts)
}

fn report(swing: &[f64; PHASES], ohms: f64, anode: f64, screen: f64, grid_volts: f64) -> Driven {
    let mut squares = [0.0; 10];
    for (harmonic, square) in squares.iter_mut().enumerate().skip(1) {
        let (mut re, mut im) = (0.0, 0.0);
        for (phase, v) in swing.iter().enumerate() {
            let angle = TAU * harmonic as f64 * (phase as f64 + 0.5) / PHASES as f64;
            re += v * angle.cos() * 2.0 / PHASES as f64;
            im += v * angle.sin() * 2.0 / PHASES as f64;
        }
        *square = re * re + im * im;
    }
    let fundamental = squares[1];
    let rest: f64 = squares[2..].iter().sum();
    Driven {
        anode_amps: anode,
        screen_amps: screen,
        watts: 0.5 * fundamental / ohms,
        distortion_percent: 100.0 * (rest / fundamental).sqrt(),
        grid_volts,
    }
}
