//! Against print: the regulation of a valve rectifier with reservoir.
//!
//! Print draws ripple and all; the rectifier here is averaged over the half-period, which is what
//! a reservoir without end would do.

use crate::printed::ledger::{Ledger, Within};
use crate::printed::{capacitor, resistor, solved, volts};

/// Per cent of the printed voltage. No bar is set for these rows; a plain model of our own,
/// stepped in time with its ripple, came within 2 to 4.5 %, and the chart was read to 3 V.
const CLOSE: f64 = 5.0;

/// Reservoir voltage at a mean current, by search for the load that draws it.
fn reservoir_volts(winding: f64, limiting: f64, amps: f64) -> f64 {
    let at = |ohms: f64| {
        let parts = [
            format!(
                "V1 = {{ rectifier = \"EZ80\", winding = \"{winding} V\", winding_resistance = \"{limiting}\", to = \"ht\" }}\n"
            ),
            capacitor("C1", 50e-6, "ht", "gnd"),
            resistor("R1", ohms, "ht", "gnd"),
            resistor("R2", 1e6, "in", "gnd"),
        ];
        volts(&solved("ht", &parts.concat()), "ht")
    };
    let (mut low, mut high) = (100.0_f64, 22e6);
    if at(high) / high >= amps {
        return at(high);
    }
    while high - low > 1e-6 * high {
        let middle = (low * high).sqrt();
        if at(middle) / middle > amps {
            low = middle;
        } else {
            high = middle;
        }
    }
    at(low)
}

/// EZ80: maker's data sheet, August 1963, p. 1, seen. Full wave, 50 µF, 90 mA; V r.m.s. a half,
/// least limiting resistance of each anode in Ω, V out.
const FULL_LOAD: [(f64, f64, f64); 4] = [
    (250.0, 125.0, 265.0),
    (275.0, 175.0, 285.0),
    (300.0, 215.0, 310.0),
    (350.0, 300.0, 360.0),
];

/// The same sheet, regulation chart on p. 4, read from the scan to 3 V: V out at 0, 20, 40, 60
/// and 80 mA. The chart does not name the limiting resistance; the least of p. 1 is assumed.
const CHART: [(f64, f64, [f64; 5]); 3] = [
    (350.0, 300.0, [495.0, 450.0, 418.0, 392.0, 370.0]),
    (275.0, 175.0, [389.0, 357.0, 333.0, 312.0, 294.0]),
    (250.0, 125.0, [354.0, 327.0, 305.0, 288.0, 273.0]),
];

#[test]
fn ez80_regulation() {
    let mut ledger = Ledger::default();
    for (winding, limiting, printed) in FULL_LOAD {
        let measured = reservoir_volts(winding, limiting, 0.09);
        ledger.add(
            format!("{winding} V, 90 mA: V"),
            measured,
            printed,
            Within::Percent(CLOSE),
        );
    }
    for (winding, limiting, printed) in CHART {
        for (step, printed) in printed.into_iter().enumerate() {
            let ma = 20.0 * step as f64;
            let measured = reservoir_volts(winding, limiting, 1e-3 * ma);
            ledger.add(
                format!("{winding} V, {ma} mA: V"),
                measured,
                printed,
                Within::Percent(CLOSE),
            );
        }
    }
    ledger.settle(&[]);
}
