//! A sine through eight circuits of one topology until each stands.
//!
//! Supplies, bias and coupling capacitors need up to a second; here they are taken at once to where
//! the mean currents of a few periods say that they are bound for ([`super::average`]), time after
//! time until the harmonics of what is heard no longer change. What fits no straight correction
//! is waited for. [`Pace::Plain`] only waits, and is what the quick way is held against.

use super::average::{Average, LANES};
use super::harmonics::{HARMONICS, PERIOD, RATE, spectrum};
use crate::network::{Companion, Network};
use crate::realtime::dispatch::Instructions;
use crate::realtime::{Processor, Settings, Storage};
use crate::solve::solved::SolvedCircuit;
use num_complex::Complex64;
use std::f64::consts::{PI, SQRT_2, TAU};

/// Periods over which the sine is faded in, so that it hardly rings the loudspeaker's resonance.
const FADE: usize = 4;
/// Periods that fast parts of the circuit are given after each correction.
const GAP: usize = 3;
/// Periods that are read to judge a lane.
const READ: usize = 2;
/// Corrections before those that do not stand are waited for.
const CORRECTIONS: usize = 12;
/// A lane stands when no harmonic moves by more than this share of the fundamental between two
/// readings: a hundredth of the 1 % that is the finest thing looked for.
const STANDS: f64 = 1e-4;
/// Waiting: periods between two readings, and most readings. Supplies settle within a second.
const WAIT: usize = 100;
const LONGEST: usize = 25;

/// How the circuits are brought to stand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pace {
    /// Slow voltages are taken where they are bound for.
    Quick,
    /// The sine just goes on.
    Plain,
}

/// A circuit and its drive.
#[derive(Clone, Copy, Debug)]
pub struct Driven<'a> {
    /// The circuit at rest.
    pub side: &'a SolvedCircuit,
    /// At the jack, V r.m.s.
    pub volts: f64,
    /// Mean voltages to begin with, by position; those at rest if none.
    pub start: Option<&'a [f64]>,
}

/// A lane that stands, or was given up.
#[derive(Clone, Debug)]
pub struct Steady {
    /// At the jack, V r.m.s.
    pub volts: f64,
    /// Amplitudes of what is heard by number of the harmonic, V.
    pub spectrum: [Complex64; HARMONICS + 1],
    /// Largest grid currents within the last periods, A: triodes, then pentodes.
    pub grid_amps: Vec<f64>,
    /// Mean voltages that it is bound for, by position, ground last: no coil of them has volts
    /// that its resistance does not take. None where they could not be found.
    pub bound_for: Option<Vec<f64>>,
    /// Whether it stands.
    pub stands: bool,
}

/// Steps without a solution, and periods played.
#[derive(Clone, Copy, Debug, Default)]
pub struct Effort {
    /// Steps without a solution.
    pub unsolved: u64,
    /// Periods of the sine, all lanes at once.
    pub periods: usize,
}

struct Run<'a> {
    network: &'a Network,
    driven: [Driven<'a>; LANES],
    processor: Processor<LANES>,
    companions: Vec<Vec<Companion>>,
    storing: Vec<Storage>,
    averages: Vec<Average>,
    periods: usize,
}

/// Plays until all lanes stand. `go_on` is told the share of the longest that it may take; none
/// when it says no.
pub fn steady(
    network: &Network,
    driven: [Driven; LANES],
    pace: Pace,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Option<(Vec<Steady>, Effort)> {
    let mut run = Run::new(network, driven);
    let mut lanes: Vec<Steady> = Vec::new();
    let quick = if pace == Pace::Quick { CORRECTIONS } else { 0 };
    run.play(FADE);
    for round in 0..quick + LONGEST {
        if !go_on(round as f64 / (quick + LONGEST) as f64) {
            return None;
        }
        run.play(if round < quick { GAP } else { WAIT - READ });
        lanes = run.read(&lanes);
        if lanes.iter().all(|lane| lane.stands) {
            break;
        }
        if round < quick {
            run.correct(&lanes);
        }
    }
    let effort = Effort {
        unsolved: run.processor.counts().unsolved,
        periods: run.periods,
    };
    Some((lanes, effort))
}

impl<'a> Run<'a> {
    fn new(network: &'a Network, driven: [Driven<'a>; LANES]) -> Self {
        let mut processor = Processor::<LANES>::new(
            network,
            driven.map(|d| (&d.side.values, d.side.point.solution.as_slice())),
            Settings {
                governor: None,
                ..Settings::live(RATE, 1)
            },
            Instructions::detect(),
        );
        for (lane, driven) in driven.iter().enumerate() {
            if let Some(start) = driven.start {
                let idle = &driven.side.point.solution;
                let way: Vec<f64> = start.iter().zip(idle).map(|(to, from)| to - from).collect();
                processor.shift(lane, &way);
            }
        }
        let storing = processor.storages();
        let companions = |d: &Driven| d.side.values.branches.iter().map(|b| b.at_rest()).collect();
        Run {
            averages: vec![Average::new(network, storing.len()); LANES],
            companions: driven.iter().map(companions).collect(),
            network,
            driven,
            processor,
            storing,
            periods: 0,
        }
    }

    /// The sine's next sample, faded in.
    fn sample(&self, index: usize) -> f64 {
        let fade = (index as f64 / (FADE * PERIOD) as f64).min(1.0);
        let phase = (index % PERIOD) as f64 / PERIOD as f64;
        SQRT_2 * (TAU * phase).sin() * 0.5 * (1.0 - (PI * fade).cos())
    }

    /// Plays on for so many periods.
    fn play(&mut self, periods: usize) {
        let mut take = [[0.0; PERIOD]; LANES];
        for _ in 0..periods {
            let start = self.periods * PERIOD;
            let sine: Vec<f64> = (0..PERIOD).map(|i| self.sample(start + i)).collect();
            let feed = self
                .driven
                .map(|d| sine.iter().map(|s| d.volts * s).collect::<Vec<f64>>());
            let inputs: [&[f64]; LANES] = std::array::from_fn(|lane| feed[lane].as_slice());
            let mut outputs = take.each_mut().map(|lane| lane.as_mut_slice());
            self.processor.process(&inputs, &mut outputs);
            self.periods += 1;
        }
    }

    /// Plays on for [`READ`] periods and reads everything.
    fn read(&mut self, last: &[Steady]) -> Vec<Steady> {
        self.averages.iter_mut().for_each(Average::clear);
        let mut heard: [Vec<f64>; LANES] = std::array::from_fn(|_| Vec::new());
        let start = self.periods * PERIOD;
        for index in start..start + READ * PERIOD {
            let sine = self.sample(index);
            let feed = self.driven.map(|d| [d.volts * sine]);
            let inputs: [&[f64]; LANES] = std::array::from_fn(|lane| feed[lane].as_slice());
            let mut take = [[0.0]; LANES];
            let mut outputs = take.each_mut().map(|lane| lane.as_mut_slice());
            self.processor.process(&inputs, &mut outputs);
            for lane in 0..LANES {
                heard[lane].push(take[lane][0]);
                self.averages[lane].read(self.driven[lane].side, &self.processor, lane);
            }
        }
        self.periods += READ;
        let lane = |lane: usize| {
            let spectrum = spectrum(&heard[lane]);
            let stands = last.get(lane).is_some_and(|last| {
                let moved = spectrum[1..].iter().zip(&last.spectrum[1..]);
                let limit = STANDS * spectrum[1].norm();
                moved.into_iter().all(|(a, b)| (a - b).norm() <= limit)
            });
            Steady {
                volts: self.driven[lane].volts,
                spectrum,
                grid_amps: self.averages[lane].grid_amps(),
                bound_for: self.averages[lane].target(self.network, &self.companions[lane]),
                stands,
            }
        };
        (0..LANES).map(lane).collect()
    }

    /// Takes every lane to where it is bound for.
    fn correct(&mut self, lanes: &[Steady]) {
        for (lane, steady) in lanes.iter().enumerate() {
            let Some(target) = &steady.bound_for else {
                continue;
            };
            let average = &self.averages[lane];
            let mean = average.volts();
            let way: Vec<f64> = target
                .iter()
                .zip(&mean)
                .map(|(to, from)| to - from)
                .collect();
            let stored = self.storing.iter().zip(average.stored_amps());
            let amps = stored.map(|(storage, from)| {
                // Where it is bound for no capacitor carries a current.
                let &Storage::Coil(branch) = storage else {
                    return -from;
                };
                let terminals = &self.network.branches()[branch].terminals;
                let volts: f64 = terminals.iter().map(|&(at, c)| c * target[at]).sum();
                self.companions[lane][branch].siemens * volts - from
            });
            let amps: Vec<f64> = amps.collect();
            self.processor.displace(lane, &way, &amps);
        }
    }
}
