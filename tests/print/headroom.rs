//! Against print: the makers' three clean limits, read from the report that users see.
//!
//! Output where grid current sets in (0.3 µA in the sheets of the 1950s, "the grid-current point" in
//! the table of 1947, which gives no figure for it), and output at 5 % distortion. Outputs are held to
//! 15 %, as in the other tests against print.

use crate::printed::ledger::{Ledger, Miss, Within};
use crate::printed::{Coupled, capacitor, idle, resistor, solved, supply};
use crate::solved::Solved;
use engine::analysis::drive::{Drive, drive};
use engine::solve::solved::{SolvedAmp, SolvedCircuit};

/// The stage of the tables: 0.01 µF and 1 MΩ before the grid, cathode bypassed with 50 µF.
fn stage(valve: &'static str, supply_volts: f64, anode: f64, cathode: f64, next: f64) -> Solved {
    let stage = Coupled {
        tag: "1",
        valve,
        nodes: ["ht", "g", "out"],
        anode_ohms: anode,
        cathode_ohms: cathode,
        next_ohms: next,
        coupling_farads: 0.01e-6,
    };
    let grid = capacitor("CI", 0.01e-6, "in", "g") + &resistor("RI", 1e6, "g", "gnd");
    solved(
        "out",
        &[supply("HT", supply_volts, "ht"), grid, stage.lines()].concat(),
    )
}

fn report(bench: &Solved) -> Drive {
    let amp = SolvedAmp::new(&bench.circuit, None).expect("an operating point");
    let side: &SolvedCircuit = &amp.as_found;
    let drive = drive(&amp.network, side, &mut |_| {});
    assert_eq!((drive.unsolved, drive.restless), (0, 0));
    drive
}

/// Electronic Tube Handbook sheets 2 and 3 of ECC82, seen: output at +0.3 µA of grid current, V
/// r.m.s., by supply.
#[rustfmt::skip]
const ECC82: [(f64, f64, f64, [f64; 7]); 3] = [
    // anode load kΩ, next leak kΩ, cathode Ω
    ( 47.0, 150.0, 1200.0, [11.0, 18.0, 26.0, 34.0, 43.0, 51.0, 59.0]),
    (100.0, 330.0, 2200.0, [10.0, 17.0, 25.0, 32.0, 41.0, 49.0, 57.0]),
    (220.0, 680.0, 3900.0, [ 8.0, 15.0, 22.0, 28.0, 36.0, 43.0, 50.0]),
];
const ECC82_SUPPLIES: [f64; 7] = [100.0, 150.0, 200.0, 250.0, 300.0, 350.0, 400.0];

#[test]
fn ecc82_output_at_the_onset_of_grid_current() {
    let mut ledger = Ledger::default();
    for (anode, next, cathode, outputs) in ECC82 {
        for (ht, output) in ECC82_SUPPLIES.into_iter().zip(outputs) {
            let drive = report(&stage("ECC82", ht, 1e3 * anode, cathode, 1e3 * next));
            assert_eq!(drive.grid_current.valve.as_deref(), Some("V1"));
            ledger.add(
                format!("{ht} V {anode}k/{next}k: V r.m.s."),
                drive.grid_current.at.expect("an onset").output_volts,
                output,
                Within::Percent(15.0),
            );
        }
    }
    const LOW: &str =
        "at 100 V the bias is 1.3 to 1.4 V: 0.2 V in where grid current sets in is 15 %";
    ledger.settle(&[Miss {
        what: "100 V 220k/680k: V r.m.s.",
        measured: 9.657,
        why: LOW,
    }]);
}

/// Resistance-coupled table of 12AX7: maker's tentative data, plate 1932, 1 December 1947, seen: output
/// at the grid-current point, V r.m.s.
#[rustfmt::skip]
const ECC83_1947: [(f64, f64, f64, f64, f64); 9] = [
    // supply V, anode load kΩ, next leak kΩ, cathode Ω, output
    ( 90.0, 100.0,  220.0,  4700.0,  4.0), ( 90.0, 220.0,  470.0,  7400.0,  6.0), ( 90.0, 470.0, 1000.0, 13000.0,  8.0),
    (180.0, 100.0,  220.0,  2000.0, 18.0), (180.0, 220.0,  470.0,  3500.0, 24.0), (180.0, 470.0, 1000.0,  6700.0, 28.0),
    (300.0, 100.0,  220.0,  1500.0, 40.0), (300.0, 220.0,  470.0,  2800.0, 49.0), (300.0, 470.0, 1000.0,  5200.0, 54.0),
];

#[test]
fn ecc83_output_at_the_grid_current_point() {
    let mut ledger = Ledger::default();
    for (ht, anode, next, cathode, output) in ECC83_1947 {
        let drive = report(&stage("ECC83", ht, 1e3 * anode, cathode, 1e3 * next));
        ledger.add(
            format!("{ht} V {anode}k/{next}k: V r.m.s."),
            drive.grid_current.at.expect("an onset").output_volts,
            output,
            Within::Percent(15.0),
        );
    }
    const POINT: &str = "print's grid-current point lies 0.46 to 0.8 V below the cathode (see the test of \
        it), the 0.3 µA of our law, from measured sections of another make, at 0.37 V";
    ledger.settle(&[
        Miss {
            what: "90 V 100k/220k: V r.m.s.",
            measured: 13.686,
            why: POINT,
        },
        Miss {
            what: "90 V 220k/470k: V r.m.s.",
            measured: 18.605,
            why: POINT,
        },
        Miss {
            what: "90 V 470k/1000k: V r.m.s.",
            measured: 22.456,
            why: POINT,
        },
        Miss {
            what: "180 V 100k/220k: V r.m.s.",
            measured: 24.943,
            why: POINT,
        },
        Miss {
            what: "180 V 220k/470k: V r.m.s.",
            measured: 33.046,
            why: POINT,
        },
        Miss {
            what: "180 V 470k/1000k: V r.m.s.",
            measured: 39.727,
            why: POINT,
        },
        Miss {
            what: "300 V 470k/1000k: V r.m.s.",
            measured: 64.075,
            why: POINT,
        },
    ]);
}

/// Where the peaks of the printed output leave the grid against the cathode: √2·output/gain of the
/// table less the bias at rest. That is 0.46 to 0.8 V below the cathode, within the 1.3 V that the
/// sheets of the 1950s allow for 0.3 µA; our law draws that current 0.37 V below it, which is why the
/// outputs above come too high, the more so the smaller the bias.
#[test]
fn the_printed_grid_current_point() {
    const GAINS: [f64; 9] = [35.0, 45.0, 52.0, 47.0, 59.0, 66.0, 52.0, 65.0, 73.0];
    let mut points = Vec::new();
    for ((ht, anode, next, cathode, output), gain) in ECC83_1947.into_iter().zip(GAINS) {
        let bench = stage("ECC83", ht, 1e3 * anode, cathode, 1e3 * next);
        let bias = cathode * idle(&bench, "V1").anode;
        points.push(output * std::f64::consts::SQRT_2 / gain - bias);
    }
    let bench = stage("ECC83", 300.0, 100e3, 1500.0, 220e3);
    let grid = &bench.values.devices.triodes[0].law.grid;
    let volts = (-1000..0).map(|v| 1e-3 * f64::from(v));
    let ours = volts.into_iter().find(|&v| grid.at(v).current >= 0.3e-6);
    println!("printed points {points:.2?} V, our law's {ours:.2?} V");
    let ours = ours.expect("it draws current");
    assert!(
        points.iter().all(|&v| v > -1.3 && v < ours),
        "{points:?} {ours}"
    );
}

/// Maker's circuit report VAD/313.64, seen: two ECC83 sections from 250 V, the first decoupled by 22 kΩ
/// and 2 µF, coupling 0.1 µF, cathodes bypassed with 50 µF, input leak 470 kΩ; largest output at 5 %,
/// V r.m.s. Wiring of 100 pF assumed, as in the test of the whole circuits.
#[rustfmt::skip]
const CASCADES: [(f64, f64, f64, f64); 6] = [
    // anode kΩ, grid leak kΩ, cathode kΩ, output
    (100.0,  220.0, 1.5, 27.0), (100.0,  470.0, 1.5, 31.0), (220.0,  470.0, 3.3, 25.0),
    (220.0, 1000.0, 3.3, 32.0), (470.0, 1000.0, 6.8, 28.0), (470.0, 2200.0, 6.8, 32.0),
];

#[test]
fn cascades_at_five_per_cent() {
    let mut ledger = Ledger::default();
    for (anode, leak, cathode, output) in CASCADES {
        let stage = |tag, nodes| Coupled {
            tag,
            valve: "ECC83",
            nodes,
            anode_ohms: 1e3 * anode,
            cathode_ohms: 1e3 * cathode,
            next_ohms: 1e3 * leak,
            coupling_farads: 0.1e-6,
        };
        let parts = [
            supply("HT", 250.0, "ht"),
            resistor("RD", 22e3, "ht", "ht1"),
            capacitor("CD", 2e-6, "ht1", "gnd"),
            resistor("RG", 470e3, "in", "gnd"),
            stage("1", ["ht1", "in", "g2"]).lines(),
            stage("2", ["ht", "g2", "out"]).lines(),
            capacitor("CW1", 100e-12, "a1", "gnd"),
            capacitor("CW2", 100e-12, "a2", "gnd"),
        ];
        let drive = report(&solved("out", &parts.concat()));
        let limit = drive.limit(5.0).and_then(|l| l.at).expect("a limit");
        ledger.add(
            format!("{anode}k/{leak}k: V at 5 %"),
            limit.output_volts,
            output,
            Within::Percent(15.0),
        );
    }
    const OUTPUT: &str = "as in the test of the whole circuits, which reads another instrument; the cause is not known";
    ledger.settle(&[
        Miss {
            what: "100k/470k: V at 5 %",
            measured: 37.817,
            why: OUTPUT,
        },
        Miss {
            what: "220k/470k: V at 5 %",
            measured: 32.713,
            why: OUTPUT,
        },
        Miss {
            what: "220k/1000k: V at 5 %",
            measured: 41.320,
            why: OUTPUT,
        },
        Miss {
            what: "470k/1000k: V at 5 %",
            measured: 34.413,
            why: OUTPUT,
        },
        Miss {
            what: "470k/2200k: V at 5 %",
            measured: 43.547,
            why: OUTPUT,
        },
    ]);
}
