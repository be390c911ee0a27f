//! From averaged spectra to a response on the grid, with coherence and standard deviation.
//!
//! The estimate is H1 = Sxy/Sxx: noise at the output does not bias it (J. Bendat, A. Piersol, Random
//! Data, 4th ed., chapters 6 and 9; from memory). Windows are added as vectors, line by line; the
//! lines of a grid band as powers, since within a band the phase of an amp and of the air in front
//! of its loudspeaker turns and vectors would cancel.

use super::response::{MOST_DEVIATION_DB, POINTS_AN_OCTAVE, USABLE_SHARE};
use super::spectra::{Spectra, Sums, total};

/// Independent averages that a half-overlapping Hann window counts for. Neighbours share 1/6 of
/// their weighting, so that K of them have the variance of K/(1 + 2/36) (own derivation, after
/// Welch 1967).
pub const INDEPENDENT: f64 = 1.0 / (1.0 + 2.0 / 36.0);
/// Likewise the products of lines side by side and two apart hang together by (2/3)² and (1/6)².
const BESIDE: [f64; 2] = [4.0 / 9.0, 1.0 / 36.0];
/// A line whose power lies so far below a neighbour's is that one's skirt, dB: two lines away, the
/// Hann window's own skirt has fallen by 31 dB or more, one away by 6.
const SKIRT_DB: f64 = 20.0;
/// How far a neighbour's skirt is looked for, lines.
const SKIRT_LINES: usize = 3;

/// A response on the grid; every vector as long as the grid.
#[derive(Clone, Debug, PartialEq)]
pub struct Transfer {
    /// Level, dB.
    pub db: Vec<f64>,
    /// One standard deviation, dB.
    pub deviation_db: Vec<f64>,
    /// Coherence, its bias taken off, from 0 to 1.
    pub coherence: Vec<f64>,
    /// Whether the input has something of its own to say at this frequency.
    pub sounding: Vec<bool>,
    /// How many windows were averaged.
    pub windows: usize,
}

/// Power of one band.
#[derive(Clone, Copy, Default)]
struct Band {
    /// Input.
    input: f64,
    /// Output.
    output: f64,
    /// Output that follows from the input.
    coherent: f64,
}

/// The lines of a transform that stand for a frequency: those within half a grid step of it, or
/// the nearest one.
fn lines(hz: f64, spacing: f64) -> std::ops::RangeInclusive<usize> {
    let half = 2f64.powf(0.5 / f64::from(POINTS_AN_OCTAVE));
    let [low, high] = [hz / half, hz * half].map(|edge| edge / spacing);
    match (low.ceil() as usize, high.floor() as usize) {
        (low, high) if low <= high => low..=high,
        _ => {
            let nearest = (hz / spacing).round() as usize;
            nearest..=nearest
        }
    }
}

fn band(sums: &Sums, lines: std::ops::RangeInclusive<usize>, averages: f64) -> Band {
    let mut band = Band::default();
    for k in lines {
        let (input, output) = (sums.input[k], sums.output[k]);
        if input > 0.0 {
            let coherent = sums.cross[k].norm_sqr() / input;
            band.input += input;
            band.output += output;
            // Chance alone lets 1/n of what is not coherent look so; n − 1 of n are left over.
            band.coherent += coherent - (output - coherent).max(0.0) / (averages - 1.0);
        }
    }
    band
}

fn db_of(band: Band) -> Option<f64> {
    (band.coherent > 0.0 && band.input > 0.0).then(|| 10.0 * (band.coherent / band.input).log10())
}

/// Relative standard deviation of the amplitude in a band, after Bendat and Piersol's
/// √((1 − γ²)/(2·n·γ²)), the lines of the band weighted by what they bring.
fn deviation(sums: &Sums, lines: std::ops::RangeInclusive<usize>, averages: f64) -> f64 {
    let mut coherent_sum = 0.0;
    let products: Vec<f64> = lines
        .map(|k| {
            let (input, output) = (sums.input[k], sums.output[k]);
            let coherent = match input > 0.0 {
                true => sums.cross[k].norm_sqr() / input,
                false => 0.0,
            };
            coherent_sum += coherent;
            let rest = (output - coherent).max(0.0) * averages / (averages - 1.0);
            (coherent * rest).sqrt()
        })
        .collect();
    let mut variance: f64 = products.iter().map(|p| p * p).sum();
    for (apart, share) in BESIDE.iter().enumerate() {
        let pairs = products.iter().zip(products.iter().skip(apart + 1));
        variance += 2.0 * share * pairs.map(|(a, b)| a * b).sum::<f64>();
    }
    match coherent_sum > 0.0 {
        true => (0.5 * variance / averages).sqrt() / coherent_sum,
        false => f64::INFINITY,
    }
}

/// Decibels of a relative deviation of amplitude.
const DB_OF_SHARE: f64 = 20.0 / std::f64::consts::LN_10;

/// The response that groups of windows show on a grid of frequencies in hertz.
///
/// The deviation is the larger of two: the textbook's formula, which supposes noise that does not
/// follow the playing, and the jackknife over the groups (B. Efron, The Jackknife, 1982; from
/// memory), which supposes nothing.
pub fn transfer(spectra: &Spectra, groups: &[Sums], hz: &[f64]) -> Transfer {
    let spacing = f64::from(spectra.rate) / spectra.length as f64;
    let sums = total(groups);
    let averages = (INDEPENDENT * sums.windows as f64).max(2.0);
    let without: Vec<Sums> = groups
        .iter()
        .filter(|group| group.windows > 0 && group.windows < sums.windows)
        .map(|group| {
            let mut rest = sums.clone();
            rest -= group;
            rest
        })
        .collect();
    let mut result = Transfer {
        db: Vec::new(),
        deviation_db: Vec::new(),
        coherence: Vec::new(),
        sounding: Vec::new(),
        windows: sums.windows,
    };
    let last = sums.input.len() - 1;
    for &hz in hz {
        let lines = lines(hz, spacing);
        if *lines.end() as f64 > USABLE_SHARE * last as f64 {
            result.db.push(0.0);
            result.deviation_db.push(MOST_DEVIATION_DB);
            result.coherence.push(0.0);
            result.sounding.push(false);
            continue;
        }
        let whole = band(&sums, lines.clone(), averages);
        let coherence = match whole.output > 0.0 {
            true => (whole.coherent / whole.output).clamp(0.0, 1.0),
            false => 0.0,
        };
        let formula = DB_OF_SHARE * deviation(&sums, lines.clone(), averages);
        let left_out: Vec<Option<f64>> = without
            .iter()
            .map(|rest| {
                let averages = (INDEPENDENT * rest.windows as f64).max(2.0);
                db_of(band(rest, lines.clone(), averages))
            })
            .collect();
        let deviation = formula.max(jackknife(&left_out));
        result.db.push(db_of(whole).unwrap_or(0.0));
        result.deviation_db.push(match deviation.is_finite() {
            true => deviation.min(MOST_DEVIATION_DB),
            false => MOST_DEVIATION_DB,
        });
        result.coherence.push(coherence);
        result.sounding.push(speaks(&sums, lines));
    }
    result
}

/// Standard deviation by the jackknife from the estimates with one group left out each; without
/// bound where one of them does not exist.
fn jackknife(left_out: &[Option<f64>]) -> f64 {
    let count = left_out.len() as f64;
    let Some(values) = left_out.iter().copied().collect::<Option<Vec<f64>>>() else {
        return f64::INFINITY;
    };
    let mean = values.iter().sum::<f64>() / count.max(1.0);
    let squares: f64 = values.iter().map(|v| (v - mean).powi(2)).sum();
    ((count - 1.0).max(0.0) / count.max(1.0) * squares).sqrt()
}

/// Whether the band has a line that is not merely the skirt of a stronger one beside it.
fn speaks(sums: &Sums, mut lines: std::ops::RangeInclusive<usize>) -> bool {
    lines.any(|k| {
        let around = k.saturating_sub(SKIRT_LINES)..(k + SKIRT_LINES + 1).min(sums.input.len());
        let strongest = sums.input[around].iter().fold(0.0, |m: f64, &p| m.max(p));
        sums.input[k] > 0.0 && sums.input[k] >= strongest * 10f64.powf(-SKIRT_DB / 10.0)
    })
}
