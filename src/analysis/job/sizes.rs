//! Sizes that parts are sold in, and the margin that one buys: watts, volts, build.
//!
//! All of it is common practice without a source: twice the watts, a fifth more volts, the next
//! size up.

/// A resistor is bought for so many times the watts that it meets.
pub const WATTS_MARGIN: f64 = 2.0;
/// A part is bought for so many times the volts that it meets.
pub const VOLTS_MARGIN: f64 = 1.2;

/// Resistors, W.
const WATTS: [f64; 14] = [
    0.125, 0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 15.0, 20.0, 25.0, 50.0, 100.0,
];
/// Capacitors, V.
const VOLTS: [f64; 15] = [
    16.0, 25.0, 35.0, 50.0, 63.0, 100.0, 160.0, 200.0, 250.0, 400.0, 450.0, 500.0, 630.0, 1000.0,
    1600.0,
];
/// Direct volts that a resistor's body of so many watts takes, from memory: small film types on
/// makers' sheets; makers differ by a half.
const BODY: [(f64, f64); 4] = [(0.25, 250.0), (0.5, 350.0), (1.0, 500.0), (2.0, 500.0)];
/// Film and mica capacitors are not sold for less at these values, V.
const LEAST_FILM_VOLTS: f64 = 100.0;
/// Largest capacitor of ceramic, mica or polystyrene, F.
const SMALL_FARADS: f64 = 1e-9;

/// The next size of a resistor for watts and volts met, and not below the size that was there;
/// none beyond the largest.
pub fn resistor_watts(met_watts: f64, met_volts: f64, there: Option<f64>) -> Option<f64> {
    let least = (WATTS_MARGIN * met_watts).max(there.unwrap_or(0.25));
    let volts = VOLTS_MARGIN * met_volts;
    let body = |watts: f64| {
        let fits = BODY.iter().rev().find(|(w, _)| watts >= *w);
        fits.map_or(BODY[0].1, |(_, v)| *v)
    };
    // Where no body takes the volts, size does not help; the report says so beside it.
    let large = |watts: f64| body(watts) >= volts.min(BODY[3].1);
    let sizes = WATTS.into_iter();
    sizes
        .filter(|w| *w >= least * (1.0 - 1e-9))
        .find(|w| large(*w))
}

/// Whether one body takes the volts with margin.
pub fn one_body_takes(met_volts: f64) -> bool {
    VOLTS_MARGIN * met_volts <= BODY[3].1
}

/// The next voltage rating of a capacitor, and not below the one that was there; none beyond the
/// largest.
pub fn capacitor_volts(farads: f64, met_volts: f64, there: Option<f64>) -> Option<f64> {
    let film = farads < super::marking::ELECTROLYTIC_FARADS;
    let least = (VOLTS_MARGIN * met_volts).max(there.unwrap_or(0.0));
    let least = least.max(if film { LEAST_FILM_VOLTS } else { 0.0 });
    VOLTS.into_iter().find(|v| *v >= least * (1.0 - 1e-9))
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
        f if f < SMALL_FARADS * (1.0 - 1e-9) => "ceramic C0G, or mica",
        f if f < super::marking::ELECTROLYTIC_FARADS => "polypropylene or polyester film",
        _ => "aluminium electrolytic",
    }
}
