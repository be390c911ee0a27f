//! A steady sine at the jack until the supplies have settled, and what all parts stand then.

use super::gauge::{Stress, StressGauge};
use crate::analysis::drive::HZ;
use crate::analysis::performance::{Bins, Gauge};
use crate::network::Network;
use crate::numeric::parallel::GoOn;
use crate::realtime::dispatch::Instructions;
use crate::realtime::{Processor, Settings};
use crate::solve::solved::SolvedCircuit;
use std::f64::consts::{SQRT_2, TAU};

/// Rate of the samples, Hz; 48 a period.
const RATE: f64 = 48_000.0;
/// Samples between two readings: no divisor of the period, so that five periods are read at every
/// one of their 48 samples.
const READ_EVERY: usize = 5;
/// Readings of a window: 50 whole periods.
const READS: usize = 480;
/// The longest wait, in windows of 50 ms: supplies settle within a second.
const MOST_WINDOWS: usize = 20;
/// The supplies stand when the power in the anodes moves by less than this share from window to
/// window: the watts of a report have two digits.
const STANDS: f64 = 2e-3;
/// What all parts stand on a steady sine at 1 kHz.
#[derive(Clone, Debug, PartialEq)]
pub struct SineStress {
    /// At the jack, V r.m.s.
    pub input_volts: f64,
    /// What they stand.
    pub stress: Stress,
}

/// Drives one circuit with `input_volts` (r.m.s.) of 1 kHz until it stands. `go_on` is told the
/// share that is done and answers whether to go on; none when it says no.
pub fn sine_stress(
    network: &Network,
    side: &SolvedCircuit,
    input_volts: f64,
    go_on: GoOn<'_>,
) -> Option<SineStress> {
    let gauge = StressGauge::new(network, &side.circuit);
    let settings = Settings {
        governor: None,
        ..Settings::live(RATE, 1)
    };
    let mut processor = Processor::<1>::new(
        network,
        [(&side.values, side.point.solution.as_slice())],
        settings,
        Instructions::detect(),
    );
    let peak = SQRT_2
        * if input_volts.is_finite() {
            input_volts
        } else {
            0.0
        };
    let mut figures = vec![0.0; gauge.count()];
    let mut sample: u64 = 0;
    let mut last = f64::NAN;
    for window in 1..=MOST_WINDOWS {
        let mut sums = vec![0.0; gauge.count()];
        let mut low = vec![f64::INFINITY; gauge.count()];
        let mut high = vec![f64::NEG_INFINITY; gauge.count()];
        for _ in 0..READS {
            let feed: [f64; READ_EVERY] = std::array::from_fn(|i| {
                peak * (TAU * HZ * (sample + i as u64) as f64 / RATE).sin()
            });
            let mut take = [0.0; READ_EVERY];
            processor.process(&[&feed], &mut [&mut take]);
            sample += READ_EVERY as u64;
            gauge.read(side, &|position| processor.volts(0, position), &mut figures);
            for (i, &figure) in figures.iter().enumerate() {
                sums[i] += figure;
                low[i] = low[i].min(figure);
                high[i] = high[i].max(figure);
            }
        }
        if !go_on(window as f64 / MOST_WINDOWS as f64) {
            return None;
        }
        let one = |figures: Vec<f64>| figures.into_iter().map(|f| vec![f]).collect();
        let stress = gauge.stress(&Bins {
            mean: one(sums.into_iter().map(|s| s / READS as f64).collect()),
            low: one(low),
            high: one(high),
        });
        let watts: f64 = stress.parts.iter().map(|p| p.screen_watts + p.watts).sum();
        if (watts - last).abs() <= STANDS * watts || window == MOST_WINDOWS {
            return Some(SineStress {
                input_volts,
                stress,
            });
        }
        last = watts;
    }
    None
}
