//! Sizes that parts are sold in, and the margin that one buys: watts, volts, build.
//!
//! All of it is common practice without a source: twice the watts, a fifth more volts, the next
//! size up.

use super::marking::ELECTROLYTIC_FARADS;
use crate::advice::ratings::{SIZES, USUAL_VOLTS, assumed_volts};

/// A resistor is bought for so many times the watts that it meets.
pub const WATTS_MARGIN: f64 = 2.0;
/// A part is bought for so many times the volts that it meets.
pub const VOLTS_MARGIN: f64 = 1.2;

/// Smaller resistors are hard to handle on a tag board, W.
const LEAST_WATTS: f64 = 0.25;
/// Film and mica capacitors are not sold for less, V.
const LEAST_FILM_VOLTS: f64 = 100.0;
/// Largest capacitor of ceramic or mica, F.
const SMALL_FARADS: f64 = 1e-9;
/// A size counts as reached in spite of rounding.
const ROUNDING: f64 = 1e-9;

/// The next size of a resistor for the watts and volts that it meets, not below the size that was
/// there; none beyond the largest. Where no body is sure to take the volts, the watts decide.
pub fn resistor_watts(met_watts: f64, met_volts: f64, there: Option<f64>) -> Option<f64> {
    let least = (WATTS_MARGIN * met_watts).max(there.unwrap_or(LEAST_WATTS));
    let takes = |watts: f64| assumed_volts(watts) >= VOLTS_MARGIN * met_volts;
    let strong = one_body_takes(met_volts);
    let mut sizes = SIZES.into_iter();
    sizes.find(|w| *w >= least * (1.0 - ROUNDING) && (takes(*w) || !strong))
}

/// Whether one body takes the volts with margin.
pub fn one_body_takes(met_volts: f64) -> bool {
    let strongest = SIZES.into_iter().map(assumed_volts).fold(0.0, f64::max);
    VOLTS_MARGIN * met_volts <= strongest
}

/// The next voltage rating of a capacitor, not below the one that was there; none beyond the
/// largest.
pub fn capacitor_volts(farads: f64, met_volts: f64, there: Option<f64>) -> Option<f64> {
    let film = farads < ELECTROLYTIC_FARADS;
    let least = (VOLTS_MARGIN * met_volts).max(there.unwrap_or(0.0));
    let least = least.max(if film { LEAST_FILM_VOLTS } else { 0.0 });
    let mut sizes = USUAL_VOLTS.into_iter();
    sizes.find(|v| *v >= least * (1.0 - ROUNDING))
}

/// Build of a resistor of so many watts.
pub fn resistor_build(watts: f64) -> &'static str {
    match watts {
        w if w < 0.99 => "metal film",
        w if w < 4.9 => "metal oxide film",
        _ => "wire-wound, clear of the board",
    }
}

/// Build of a capacitor of so many farads.
pub fn capacitor_build(farads: f64) -> &'static str {
    match farads {
        f if f < SMALL_FARADS * (1.0 - ROUNDING) => "ceramic C0G, or mica",
        f if f < ELECTROLYTIC_FARADS => "polypropylene or polyester film",
        _ => "aluminium electrolytic",
    }
}
