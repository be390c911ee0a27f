//! How hard the amp may be driven: a sine at 1 kHz at eight levels at once until it stands, its
//! harmonics by a Fourier transform over whole periods, and the input at which 1, 5 and 10 per cent
//! of distortion are reached.

use super::at_rest::Side;
use crate::circuit::PartKind;
use crate::device::Loudspeaker;
use crate::network::Network;
use crate::realtime::dispatch::Instructions;
use crate::realtime::{Processor, Settings};
use num_complex::Complex64;
use realfft::RealFftPlanner;
use serde::Serialize;
use std::f64::consts::{SQRT_2, TAU};

/// Frequency of the sine, Hz.
pub const HZ: f64 = 1000.0;
/// Rate of the samples, Hz; 48 a period.
const RATE: f64 = 48_000.0;
/// Samples looked at: 50 whole periods.
const WINDOW: usize = 2400;
/// Windows between two looks, and the longest wait, in looks: supplies settle within a second.
const WINDOWS_A_LOOK: usize = 2;
const MOST_LOOKS: usize = 25;
/// The fundamental stands when it moves by less than this share from look to look.
const STANDS: f64 = 1e-3;
/// Harmonics that are counted: up to 20 kHz.
const HARMONICS: usize = 20;
/// Levels of the first look, V r.m.s.: 1 mV and 3.2 times as much seven times over.
const LOWEST: f64 = 1e-3;
const RATIO: f64 = 3.2;
/// Rounds of ever nearer levels; a bracket of so small a ratio is near enough.
const ROUNDS: usize = 5;
const NEAR: f64 = 1.06;

/// Distortion that is asked for, per cent.
pub const PERCENTS: [f64; 3] = [1.0, 5.0, 10.0];

/// The amp at one level.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Level {
    /// At the jack, V r.m.s.
    pub input_volts: f64,
    /// What is heard, V r.m.s., all harmonics.
    pub output_volts: f64,
    /// Power into the loudspeaker, W, all harmonics; none without one.
    pub watts: Option<f64>,
    /// Harmonics over fundamental, per cent.
    pub distortion_percent: f64,
}

/// The drive at which a distortion is reached.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Limit {
    /// Distortion, per cent.
    pub percent: f64,
    /// The level; none when the distortion is never reached or always exceeded.
    pub at: Option<Level>,
    /// Why there is none.
    pub without: Option<Without>,
}

/// Why a limit was not found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Without {
    /// The lowest level distorts more already.
    ExceededAtLowest,
    /// The highest level distorts less.
    NeverReached,
}

/// What the sine showed.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Drive {
    /// Limits for [`PERCENTS`].
    pub limits: Vec<Limit>,
    /// Every level tried, rising.
    pub levels: Vec<Level>,
    /// Steps without a solution.
    pub held: u64,
}

/// Drives one circuit. `progress` is told the share that is done.
pub fn drive(network: &Network, side: &Side, progress: &mut dyn FnMut(f64)) -> Drive {
    let mut held = 0;
    let mut levels: Vec<Level> = Vec::new();
    let mut volts: [f64; 8] = std::array::from_fn(|i| LOWEST * RATIO.powi(i as i32));
    for round in 0..ROUNDS {
        let mut share = |done: f64| progress((round as f64 + done) / ROUNDS as f64);
        let (found, lost) = stand(network, side, volts, &mut share);
        held += lost;
        levels.extend(found);
        levels.sort_by(|a, b| a.input_volts.total_cmp(&b.input_volts));
        match next_levels(&levels) {
            Some(next) => volts = next,
            None => break,
        }
    }
    progress(1.0);
    Drive {
        limits: PERCENTS.iter().map(|&p| limit(&levels, p)).collect(),
        levels,
        held,
    }
}

/// The first two neighbouring levels with the distortion between them.
fn bracket(levels: &[Level], percent: f64) -> Option<[Level; 2]> {
    let first = levels
        .iter()
        .position(|l| l.distortion_percent >= percent)
        .filter(|&i| i > 0)?;
    Some([levels[first - 1], levels[first]])
}

/// The level between two at which the distortion is reached, straight in logarithms.
fn between([low, high]: [Level; 2], percent: f64) -> Level {
    let log = |f: fn(&Level) -> f64| [f(&low).max(1e-9).ln(), f(&high).max(1e-9).ln()];
    let [d0, d1] = log(|l| l.distortion_percent);
    let share = ((percent.ln() - d0) / (d1 - d0)).clamp(0.0, 1.0);
    let at = |f: fn(&Level) -> f64| {
        let [a, b] = log(f);
        (a + (b - a) * share).exp()
    };
    Level {
        input_volts: at(|l| l.input_volts),
        output_volts: at(|l| l.output_volts),
        watts: low
            .watts
            .and(high.watts)
            .map(|_| at(|l| l.watts.unwrap_or(0.0))),
        distortion_percent: percent,
    }
}

fn limit(levels: &[Level], percent: f64) -> Limit {
    let at = bracket(levels, percent).map(|b| between(b, percent));
    let first_exceeds = levels
        .first()
        .is_some_and(|l| l.distortion_percent >= percent);
    Limit {
        percent,
        without: match at {
            Some(_) => None,
            None if first_exceeds => Some(Without::ExceededAtLowest),
            None => Some(Without::NeverReached),
        },
        at,
    }
}

/// Eight levels within the brackets that are still too wide; none when all are near enough.
fn next_levels(levels: &[Level]) -> Option<[f64; 8]> {
    let wide = |&(_, [low, high]): &(f64, [Level; 2])| high.input_volts / low.input_volts > NEAR;
    let open: Vec<(f64, [Level; 2])> = PERCENTS
        .iter()
        .filter_map(|&p| bracket(levels, p).map(|b| (p, b)))
        .filter(wide)
        .collect();
    // Just below and above each estimate, so that the next bracket is narrow; then, where lanes
    // are left, at even ratios between the ends, should the estimate have missed.
    let near = open.iter().flat_map(|&(percent, ends)| {
        let guess = between(ends, percent).input_volts;
        let [low, high] = ends.map(|l| l.input_volts);
        let half = NEAR.sqrt() * 0.999;
        [guess / half, guess * half].map(|v| v.clamp(low * 1.001, high / 1.001))
    });
    let even = (1..9).flat_map(|n| {
        open.iter().map(move |(_, [low, high])| {
            low.input_volts * (high.input_volts / low.input_volts).powf(f64::from(n) / 9.0)
        })
    });
    let list: Vec<f64> = near.chain(even).take(8).collect();
    list.try_into().ok()
}

/// Drives eight lanes until they stand, and looks. The count is of steps without a solution.
fn stand(
    network: &Network,
    side: &Side,
    volts: [f64; 8],
    progress: &mut dyn FnMut(f64),
) -> ([Level; 8], u64) {
    let mut processor = Processor::<8>::new(
        network,
        [(&side.values, side.point.solution.as_slice()); 8],
        Settings {
            governor: None,
            ..Settings::live(RATE, 2)
        },
        Instructions::detect(),
    );
    let count = WINDOW * WINDOWS_A_LOOK;
    let sine: Vec<f64> = (0..count)
        .map(|i| SQRT_2 * (TAU * HZ * i as f64 / RATE).sin())
        .collect();
    let feed: [Vec<f64>; 8] = volts.map(|v| sine.iter().map(|s| v * s).collect());
    let mut take: [Vec<f64>; 8] = std::array::from_fn(|_| vec![0.0; count]);
    let mut last = [0.0; 8];
    let mut spectra = [[Complex64::ZERO; HARMONICS + 1]; 8];
    for look in 0..MOST_LOOKS {
        let inputs: [&[f64]; 8] = std::array::from_fn(|lane| feed[lane].as_slice());
        let mut outputs = take.each_mut().map(Vec::as_mut_slice);
        processor.process(&inputs, &mut outputs);
        let mut stands = look > 0;
        for lane in 0..8 {
            spectra[lane] = harmonics(&take[lane][count - WINDOW..]);
            let fundamental = spectra[lane][1].norm();
            stands &= (fundamental - last[lane]).abs() <= STANDS * fundamental;
            last[lane] = fundamental;
        }
        progress((look + 1) as f64 / MOST_LOOKS as f64);
        if stands {
            break;
        }
    }
    let siemens = siemens(side);
    let level = |lane: usize| {
        let spectrum = &spectra[lane];
        let square = |range: std::ops::RangeInclusive<usize>| -> f64 {
            range.map(|k| 0.5 * spectrum[k].norm_sqr()).sum()
        };
        let watts = siemens.as_ref().map(|siemens| {
            let of = |k: usize| 0.5 * spectrum[k].norm_sqr() * siemens(HZ * k as f64).re;
            (1..=HARMONICS).map(of).sum()
        });
        Level {
            input_volts: volts[lane],
            output_volts: square(1..=HARMONICS).sqrt(),
            watts,
            distortion_percent: 100.0 * (square(2..=HARMONICS) / square(1..=1)).sqrt(),
        }
    };
    (std::array::from_fn(level), processor.counts().held)
}

/// Amplitudes of the harmonics by number, the constant first; over whole periods no window is
/// needed.
fn harmonics(samples: &[f64]) -> [Complex64; HARMONICS + 1] {
    let transform = RealFftPlanner::<f64>::new().plan_fft_forward(samples.len());
    let mut input = samples.to_vec();
    let mut bins = transform.make_output_vec();
    // The lengths come from the plan itself.
    let done = transform.process(&mut input, &mut bins);
    debug_assert!(done.is_ok());
    let periods = (samples.len() as f64 * HZ / RATE).round() as usize;
    std::array::from_fn(|k| bins[k * periods] * (2.0 / samples.len() as f64))
}

/// Admittance of the loudspeaker that is heard, S by hertz; none if the output is another.
fn siemens(side: &Side) -> Option<impl Fn(f64) -> Complex64> {
    let part = side.circuit.output().loudspeaker?;
    let PartKind::Loudspeaker { driver, .. } = &side.circuit.part(part).kind else {
        return None;
    };
    let driver = driver.clone();
    Some(move |hz| 1.0 / impedance(&driver, hz))
}

/// Impedance of a driver, Ω, by the formula of [`Loudspeaker`].
pub fn impedance(driver: &Loudspeaker, hz: f64) -> Complex64 {
    let omega = TAU * hz;
    let coil = |henries: f64| Complex64::new(0.0, omega * henries);
    let lossy = if driver.lossy_henries > 0.0 && driver.lossy_ohms > 0.0 {
        1.0 / (1.0 / coil(driver.lossy_henries) + 1.0 / driver.lossy_ohms)
    } else {
        Complex64::ZERO
    };
    let motional = 1.0 / driver.motional_ohms()
        + Complex64::new(0.0, omega * driver.motional_farads())
        + 1.0 / coil(driver.motional_henries());
    driver.coil_ohms + coil(driver.coil_henries) + lossy + 1.0 / motional
}
