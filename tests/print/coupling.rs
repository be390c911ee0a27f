//! Against print: the makers' tables of resistance-coupled stages with ECC83 and ECC82.
//!
//! Cathode resistors are bypassed with 50 µF and the coupling is 0.01 µF, as the handbook sheets
//! print them; tables that print neither get the same. Gain is measured at 1 kHz and small
//! signals unless a row's output is named.

use crate::printed::ledger::{Ledger, Miss, Within};
use crate::printed::sine::{output_at_distortion, steady};
use crate::printed::{Coupled, capacitor, gain_at, idle, resistor, solved, supply};
use crate::solved::Solved;

const COUPLING_FARADS: f64 = 0.01e-6;
const GRID_LEAK_OHMS: f64 = 1e6;

fn stage(valve: &'static str, supply_volts: f64, anode: f64, cathode: f64, next: f64) -> Solved {
    let stage = Coupled {
        tag: "1",
        valve,
        nodes: ["ht", "g", "out"],
        anode_ohms: anode,
        cathode_ohms: cathode,
        next_ohms: next,
        coupling_farads: COUPLING_FARADS,
    };
    // Grid current then moves the bias, as it does on the bench.
    let grid =
        capacitor("CI", COUPLING_FARADS, "in", "g") + &resistor("RI", GRID_LEAK_OHMS, "g", "gnd");
    solved(
        "out",
        &[supply("HT", supply_volts, "ht"), grid, stage.lines()].concat(),
    )
}

/// Gain at the drive that would give `peak` volts with the printed gain.
fn gain_at_output(bench: &Solved, peak: f64, printed_gain: f64) -> f64 {
    let drive = peak / printed_gain * 0.5_f64.sqrt();
    steady(bench, drive, &[]).volts_rms() / drive
}

/// Resistance-coupled tables of 12AX7: maker's tentative data, plate 1932, 1 December 1947, seen.
/// Gain at 5 V r.m.s. out, less in the rows of 90 V.
#[rustfmt::skip]
const ECC83_1947: [(f64, f64, f64, f64, f64); 9] = [
    // supply V, anode load kΩ, next leak kΩ, cathode Ω, gain
    ( 90.0, 100.0,  220.0,  4700.0, 35.0), ( 90.0, 220.0,  470.0,  7400.0, 45.0), ( 90.0, 470.0, 1000.0, 13000.0, 52.0),
    (180.0, 100.0,  220.0,  2000.0, 47.0), (180.0, 220.0,  470.0,  3500.0, 59.0), (180.0, 470.0, 1000.0,  6700.0, 66.0),
    (300.0, 100.0,  220.0,  1500.0, 52.0), (300.0, 220.0,  470.0,  2800.0, 65.0), (300.0, 470.0, 1000.0,  5200.0, 73.0),
];

/// Another maker's application report VAD/513.5, March 1950, p. 3, seen. The gain goes with the
/// printed peak output: the report's own small-signal formula on p. 3-4 gives 66 where this table
/// gives 57. The output is taken as the one at 5 % distortion, this maker's limit elsewhere.
#[rustfmt::skip]
const ECC83_1950: [(f64, f64, f64, f64, f64, f64); 12] = [
    // supply V, anode load kΩ, next leak kΩ, cathode Ω, output V peak, gain
    (100.0, 100.0, 220.0,  4700.0,  6.0, 35.0), (100.0, 100.0,  470.0,  4800.0,  8.0, 41.0),
    (100.0, 220.0, 220.0,  7000.0,  6.0, 39.0), (100.0, 220.0,  470.0,  7400.0,  9.0, 45.0),
    (100.0, 470.0, 470.0, 12000.0,  9.0, 48.0), (100.0, 470.0, 1000.0, 13000.0, 11.0, 52.0),
    (250.0, 100.0, 220.0,  1500.0, 47.0, 43.0), (250.0, 100.0,  470.0,  1700.0, 55.0, 47.0),
    (250.0, 220.0, 220.0,  2200.0, 45.0, 49.0), (250.0, 220.0,  470.0,  2800.0, 57.0, 54.0),
    (250.0, 470.0, 470.0,  4300.0, 51.0, 57.0), (250.0, 470.0, 1000.0,  5200.0, 64.0, 61.0),
];

type Stage1953 = (f64, f64, f64, f64, f64, f64, f64, f64);
type Stage1950 = (f64, f64, f64, f64);

/// Electronic Tube Handbook sheets of ECC83, 1953 to 1955: cathode resistor and current from a
/// secondary copy, the rest from memory. Next leak 330 kΩ with 100 kΩ, 680 kΩ with 220 kΩ.
#[rustfmt::skip]
const ECC83_1953: [Stage1953; 10] = [
    // supply V, anode load kΩ, next leak kΩ, cathode Ω, anode mA, output V r.m.s., gain, distortion %
    (200.0, 100.0, 330.0, 1800.0, 0.65, 20.0, 50.0, 4.8), (250.0, 100.0, 330.0, 1500.0, 0.86, 26.0, 54.5, 3.9),
    (300.0, 100.0, 330.0, 1200.0, 1.11, 30.0, 57.0, 2.7), (350.0, 100.0, 330.0, 1000.0, 1.40, 36.0, 61.0, 2.2),
    (400.0, 100.0, 330.0,  820.0, 1.72, 38.0, 63.0, 1.7),
    (200.0, 220.0, 680.0, 3300.0, 0.36, 24.0, 56.5, 4.6), (250.0, 220.0, 680.0, 2700.0, 0.48, 28.0, 66.5, 3.4),
    (300.0, 220.0, 680.0, 2200.0, 0.63, 36.0, 72.0, 2.6), (350.0, 220.0, 680.0, 1500.0, 0.85, 37.0, 75.5, 1.6),
    (400.0, 220.0, 680.0, 1200.0, 1.02, 38.0, 76.5, 1.1),
];

#[test]
fn ecc83_small_signal_gains_of_1947() {
    let mut ledger = Ledger::default();
    for (ht, ra, next, rk, gain) in ECC83_1947 {
        let bench = stage("ECC83", ht, 1e3 * ra, rk, 1e3 * next);
        let name = format!("{ht} V {ra}k/{next}k: gain");
        ledger.add(
            name,
            gain_at(&bench, "out", 1e3),
            gain,
            Within::Percent(12.0),
        );
    }
    ledger.settle(&[]);
}

#[test]
fn ecc83_gains_and_outputs_of_1950() {
    let mut ledger = Ledger::default();
    for (ht, ra, next, rk, peak, gain) in ECC83_1950 {
        let bench = stage("ECC83", ht, 1e3 * ra, rk, 1e3 * next);
        let name = format!("{ht} V {ra}k/{next}k");
        let measured = gain_at_output(&bench, peak, gain);
        ledger.add(
            format!("{name}: gain at {peak} V peak"),
            measured,
            gain,
            Within::Percent(12.0),
        );
        let heard = bench.network.output();
        let reading = output_at_distortion(&bench, heard, 5.0, 2.5 * peak / gain);
        ledger.add(
            format!("{name}: V peak at 5 %"),
            reading.harmonics[0],
            peak,
            Within::Percent(15.0),
        );
    }
    const WHOLE: &str = "printed to a whole volt, 6.5 would be within";
    ledger.settle(&[
        Miss {
            what: "100 V 220k/220k: V peak at 5 %",
            measured: 7.0,
            why: WHOLE,
        },
        Miss {
            what: "250 V 100k/470k: V peak at 5 %",
            measured: 46.59,
            why: "with 100 kΩ at 250 V outputs are 14 to 15 % low; this one is just out",
        },
    ]);
}

/// The same report's worked example, p. 3-4, seen: 250 V, 470 kΩ and 470 kΩ, 4.3 kΩ. A gain of 66
/// from µ and ra; 33 V peak out of 0.5 V peak in. The gain is 72.5 at -0.8 V and 57 at -1.8 V,
/// 15.5 a volt, which makes a second harmonic of ¼·15.5/66·0.5 = 2.9 % (the report writes about
/// 6 %, twice what its own gains give).
#[test]
fn ecc83_worked_example_of_1950() {
    let mut ledger = Ledger::default();
    let bench = stage("ECC83", 250.0, 470e3, 4.3e3, 470e3);
    ledger.add(
        "anode mA",
        1e3 * idle(&bench, "V1").anode,
        0.3,
        Within::Percent(5.0),
    );
    let gain = gain_at(&bench, "out", 1e3);
    ledger.add("gain", gain, 66.0, Within::Percent(12.0));
    let reading = steady(&bench, 33.0 / gain * 0.5_f64.sqrt(), &[]);
    ledger.add(
        "second harmonic %",
        reading.harmonic_percent(2),
        2.9,
        Within::Of(0.5),
    );
    ledger.settle(&[]);
}

#[test]
fn ecc83_stages_of_1953() {
    let mut ledger = Ledger::default();
    for (ht, ra, next, rk, ma, output, gain, distortion) in ECC83_1953 {
        let bench = stage("ECC83", ht, 1e3 * ra, rk, 1e3 * next);
        let name = format!("{ht} V {ra}k/{next}k");
        let drive = output / gain_at(&bench, "out", 1e3);
        let reading = steady(&bench, drive, &[]);
        ledger.add(
            format!("{name}: anode mA"),
            1e3 * idle(&bench, "V1").anode,
            ma,
            Within::Percent(5.0),
        );
        ledger.add(
            format!("{name}: gain"),
            gain_at(&bench, "out", 1e3),
            gain,
            Within::Percent(12.0),
        );
        ledger.add(
            format!("{name}: distortion %"),
            reading.distortion_percent(),
            distortion,
            Within::Of(2.0),
        );
    }
    const MEMORY: &str = "print from memory; the rows from 300 V up are within 3.5 %";
    ledger.settle(&[
        Miss {
            what: "200 V 220k/680k: anode mA",
            measured: 0.3805,
            why: MEMORY,
        },
        Miss {
            what: "250 V 220k/680k: anode mA",
            measured: 0.5059,
            why: MEMORY,
        },
    ]);
}

/// Electronic Tube Handbook sheets 2 and 3 of ECC82 (coupling 0.01 µF, cathode 50 µF, grid leak
/// 1 MΩ), seen. One gain is printed for all supplies; output and distortion are at the onset of
/// grid current.
struct Ecc82 {
    anode_kilohms: f64,
    next_kilohms: f64,
    cathode_ohms: f64,
    gain: f64,
    /// mA, V r.m.s., % by supply.
    rows: [(f64, f64, f64); 7],
}

const ECC82_SUPPLIES: [f64; 7] = [100.0, 150.0, 200.0, 250.0, 300.0, 350.0, 400.0];

#[rustfmt::skip]
const ECC82: [Ecc82; 3] = [
    Ecc82 { anode_kilohms: 47.0, next_kilohms: 150.0, cathode_ohms: 1200.0, gain: 13.5, rows: [
        (1.20, 11.0, 5.6), (1.82, 18.0, 6.1), (2.41, 26.0, 6.3), (3.02, 34.0, 6.4), (3.65, 43.0, 6.5), (4.30, 51.0, 6.6), (5.00, 59.0, 6.7)] },
    Ecc82 { anode_kilohms: 100.0, next_kilohms: 330.0, cathode_ohms: 2200.0, gain: 14.0, rows: [
        (0.66, 10.0, 4.8), (0.98, 17.0, 5.6), (1.30, 25.0, 5.8), (1.63, 32.0, 5.9), (1.97, 41.0, 6.0), (2.30, 49.0, 6.1), (2.62, 57.0, 6.2)] },
    Ecc82 { anode_kilohms: 220.0, next_kilohms: 680.0, cathode_ohms: 3900.0, gain: 14.5, rows: [
        (0.33, 8.0, 4.0), (0.50, 15.0, 4.4), (0.66, 22.0, 4.7), (0.82, 28.0, 4.8), (0.98, 36.0, 4.9), (1.16, 43.0, 5.0), (1.31, 50.0, 5.1)] },
];

/// Another maker's application report VAD/513.4, August 1950, p. 3, seen. The gain goes with the
/// printed peak output.
#[rustfmt::skip]
const ECC82_1950: [(f64, f64, [Stage1950; 6]); 3] = [
    // supply V, gain; anode load kΩ, next leak kΩ, cathode Ω, output V peak
    (100.0, 11.0, [(47.0, 100.0, 1800.0, 11.0), (47.0, 220.0, 2000.0, 14.0), (100.0, 220.0, 3800.0, 15.0),
        (100.0, 470.0, 4700.0, 18.0), (220.0, 470.0, 9500.0, 20.0), (220.0, 1000.0, 11500.0, 24.0)]),
    (200.0, 12.0, [(47.0, 100.0, 1200.0, 26.0), (47.0, 220.0, 1400.0, 29.0), (100.0, 220.0, 2800.0, 33.0),
        (100.0, 470.0, 3600.0, 40.0), (220.0, 470.0, 8300.0, 44.0), (220.0, 1000.0, 10000.0, 54.0)]),
    (300.0, 12.0, [(47.0, 100.0, 1200.0, 52.0), (47.0, 220.0, 1500.0, 68.0), (100.0, 220.0, 3000.0, 68.0),
        (100.0, 470.0, 4000.0, 80.0), (220.0, 470.0, 8800.0, 82.0), (220.0, 1000.0, 11000.0, 92.0)]),
];

#[test]
fn ecc82_stages_of_the_handbook_sheets() {
    let mut ledger = Ledger::default();
    for table in ECC82 {
        for (ht, (ma, output, distortion)) in ECC82_SUPPLIES.into_iter().zip(table.rows) {
            let bench = stage(
                "ECC82",
                ht,
                1e3 * table.anode_kilohms,
                table.cathode_ohms,
                1e3 * table.next_kilohms,
            );
            let name = format!("{ht} V {}k/{}k", table.anode_kilohms, table.next_kilohms);
            let gain = gain_at(&bench, "out", 1e3);
            let reading = steady(&bench, output / gain, &[]);
            ledger.add(
                format!("{name}: anode mA"),
                1e3 * idle(&bench, "V1").anode,
                ma,
                Within::Percent(3.0),
            );
            ledger.add(
                format!("{name}: gain"),
                gain,
                table.gain,
                Within::Percent(12.0),
            );
            ledger.add(
                format!("{name}: distortion %"),
                reading.distortion_percent(),
                distortion,
                Within::Of(2.0),
            );
        }
    }
    ledger.settle(&[]);
}

#[test]
fn ecc82_gains_at_full_output_of_1950() {
    let mut ledger = Ledger::default();
    for (ht, gain, rows) in ECC82_1950 {
        for (anode, next, cathode, peak) in rows {
            let bench = stage("ECC82", ht, 1e3 * anode, cathode, 1e3 * next);
            let name = format!("{ht} V {anode}k/{next}k: gain at {peak} V peak");
            // The handbook sheets print another gain for the same anode load.
            let other = ECC82.iter().find(|t| t.anode_kilohms == anode);
            let printed = [gain, other.expect("all three loads are there").gain];
            let measured = gain_at_output(&bench, peak, gain);
            ledger.add_any(name, measured, &printed, Within::Percent(12.0));
        }
    }
    ledger.settle(&[]);
}
