//! Against print: complete circuits of two stages, and of a gain stage with a cathodyne.
//!
//! Gain and output at 5 % distortion at 1 kHz, both within 15 %, and response at 50 Hz, 10 kHz and
//! 20 kHz, within 1.5 dB. What print leaves open is assumed here, once for all circuits: 100 pF of
//! wiring and instrument from every anode and every output to ground (the printed fall at 20 kHz
//! asks for about that on top of the electrodes), and a generator without resistance.

use crate::printed::ledger::{Ledger, Miss, Within};
use crate::printed::sine::{output_at_distortion, steady};
use crate::printed::{Coupled, capacitor, idle, position, resistor, solved, supply, triode};
use crate::solved::Solved;
use engine::solve::SmallSignal;
use num_complex::Complex64;

/// Assumed capacitance of wiring and instruments, F.
const WIRING_FARADS: f64 = 100e-12;

fn wiring(nodes: &[&str]) -> String {
    nodes
        .iter()
        .enumerate()
        .map(|(i, node)| capacitor(&format!("CW{i}"), WIRING_FARADS, node, "gnd"))
        .collect()
}

/// Gain between two positions, complex.
fn gain(bench: &Solved, [positive, negative]: [usize; 2], hz: f64) -> Complex64 {
    let volts = SmallSignal::new(&bench.network, &bench.values, &bench.point).at(hz);
    volts[positive] - volts[negative]
}

fn decibels(bench: &Solved, heard: [usize; 2], hz: f64) -> f64 {
    20.0 * (gain(bench, heard, hz).norm() / gain(bench, heard, 1e3).norm()).log10()
}

/// Maker's circuit report VAD/313.64, seen: two ECC83 sections from 250 V, the first decoupled by
/// 22 kΩ and 2 µF, coupling 0.1 µF, cathodes bypassed with 50 µF, input leak 470 kΩ.
#[rustfmt::skip]
const CASCADES: [(f64, f64, f64, f64, f64, [f64; 3]); 6] = [
    // anode kΩ, grid leak kΩ, cathode kΩ, output V r.m.s. at 5 %, gain, dB at 50 Hz, 10 kHz, 20 kHz
    (100.0,  220.0, 1.5, 27.0, 2080.0, [0.1, -1.4,  -4.2]),
    (100.0,  470.0, 1.5, 31.0, 2420.0, [0.0, -1.8,  -4.7]),
    (220.0,  470.0, 3.3, 25.0, 2940.0, [0.1, -3.8,  -8.2]),
    (220.0, 1000.0, 3.3, 32.0, 3370.0, [0.0, -4.1,  -8.6]),
    (470.0, 1000.0, 6.8, 28.0, 3420.0, [0.1, -7.2, -12.0]),
    (470.0, 2200.0, 6.8, 32.0, 3590.0, [0.1, -7.3, -12.6]),
];

fn cascade(anode: f64, leak: f64, cathode: f64) -> Solved {
    let stage = |tag, nodes| Coupled {
        tag,
        valve: "ECC83",
        nodes,
        anode_ohms: anode,
        cathode_ohms: cathode,
        next_ohms: leak,
        coupling_farads: 0.1e-6,
    };
    let parts = [
        supply("HT", 250.0, "ht"),
        resistor("RD", 22e3, "ht", "ht1"),
        capacitor("CD", 2e-6, "ht1", "gnd"),
        resistor("RG", 470e3, "in", "gnd"),
        stage("1", ["ht1", "in", "g2"]).lines(),
        stage("2", ["ht", "g2", "out"]).lines(),
        wiring(&["a1", "a2"]),
    ];
    solved("out", &parts.concat())
}

const GAIN: &str = "this maker's stages have 8 to 15 % less gain than those of 1947 and 1953, and than his own \
    formula gives (VAD/513.5, p. 3-4); two stages square it";
const OUTPUT: &str = "a fifth to a third below the same maker's single stages with these loads (VAD/513.5: 39 to 45 V \
    r.m.s.), which are met; the cause is not known";

#[test]
fn two_stages() {
    let mut ledger = Ledger::default();
    for (anode, leak, cathode, output, gain_printed, [low, high, highest]) in CASCADES {
        let bench = cascade(1e3 * anode, 1e3 * leak, 1e3 * cathode);
        let heard = bench.network.output();
        let name = format!("{anode}k/{leak}k");
        let measured = gain(&bench, heard, 1e3).norm();
        ledger.add(
            format!("{name}: gain"),
            measured,
            gain_printed,
            Within::Percent(15.0),
        );
        let reading = output_at_distortion(&bench, heard, 5.0, 3.0 * output / gain_printed);
        ledger.add(
            format!("{name}: V at 5 %"),
            reading.volts_rms(),
            output,
            Within::Percent(15.0),
        );
        for (hz, printed) in [(50.0, low), (1e4, high), (2e4, highest)] {
            ledger.add(
                format!("{name}: dB at {hz} Hz"),
                decibels(&bench, heard, hz),
                printed,
                Within::Of(1.5),
            );
        }
    }
    ledger.settle(&[
        Miss {
            what: "100k/470k: gain",
            measured: 2818.14,
            why: GAIN,
        },
        Miss {
            what: "100k/470k: V at 5 %",
            measured: 37.82,
            why: OUTPUT,
        },
        Miss {
            what: "220k/470k: gain",
            measured: 3524.17,
            why: GAIN,
        },
        Miss {
            what: "220k/470k: V at 5 %",
            measured: 32.677,
            why: OUTPUT,
        },
        Miss {
            what: "220k/1000k: gain",
            measured: 4027.0,
            why: GAIN,
        },
        Miss {
            what: "220k/1000k: V at 5 %",
            measured: 41.295,
            why: OUTPUT,
        },
        Miss {
            what: "470k/1000k: gain",
            measured: 4367.59,
            why: GAIN,
        },
        Miss {
            what: "470k/1000k: V at 5 %",
            measured: 34.52,
            why: OUTPUT,
        },
        Miss {
            what: "470k/2200k: gain",
            measured: 4837.09,
            why: GAIN,
        },
        Miss {
            what: "470k/2200k: V at 5 %",
            measured: 43.66,
            why: OUTPUT,
        },
    ]);
}

/// The second valve of a phase inverter with equal loads in anode and cathode.
fn cathodyne(valve: &str, load: f64, bias: f64, leak: f64, next: f64, coupling: f64) -> String {
    [
        triode("V2", valve, "a2", "g2", "k2"),
        resistor("RA2", load, "a2", "ht"),
        resistor("RB2", bias, "k2", "m2"),
        resistor("RK2", load, "m2", "gnd"),
        resistor("RG2", leak, "g2", "m2"),
        capacitor("CA2", coupling, "a2", "oa"),
        resistor("RLA", next, "oa", "gnd"),
        capacitor("CK2", coupling, "k2", "ok"),
        resistor("RLK", next, "ok", "gnd"),
    ]
    .concat()
}

/// Maker's circuit report VAD/313.66, seen: ECC83 from 250 V, first stage 220 kΩ and 3.3 kΩ;
/// cathodyne with 100 kΩ in anode and cathode, its bias resistor 3.3 kΩ bypassed with 50 µF, its
/// grid leak 470 kΩ to the foot of the bias resistor; output leaks 220 kΩ. Coupling capacitors
/// are not in our copy: 0.1 µF as in the same maker's report 313.64.
#[test]
fn gain_stage_and_cathodyne() {
    let parts = [
        supply("HT", 250.0, "ht"),
        resistor("RG", 470e3, "in", "gnd"),
        triode("V1", "ECC83", "a1", "in", "k1"),
        resistor("RA1", 220e3, "a1", "ht"),
        resistor("RK1", 3.3e3, "k1", "gnd"),
        capacitor("CK1", 50e-6, "k1", "gnd"),
        capacitor("CC1", 0.1e-6, "a1", "g2"),
        cathodyne("ECC83", 100e3, 3.3e3, 470e3, 220e3, 0.1e-6),
        capacitor("CB2", 50e-6, "k2", "m2"),
        wiring(&["a1", "oa", "ok"]),
    ];
    let bench = solved("oa", &parts.concat());
    let heard = [position(&bench, "oa"), position(&bench, "ok")];
    let mut ledger = Ledger::default();
    ledger.add(
        "gain between the outputs",
        gain(&bench, heard, 1e3).norm(),
        108.0,
        Within::Percent(15.0),
    );
    let reading = output_at_distortion(&bench, heard, 5.0, 1.0);
    ledger.add(
        "V between the outputs at 5 %",
        reading.volts_rms(),
        54.0,
        Within::Percent(15.0),
    );
    for (hz, printed) in [(50.0, -0.2), (1e4, -0.4), (2e4, -1.5)] {
        ledger.add(
            format!("dB at {hz} Hz"),
            decibels(&bench, heard, hz),
            printed,
            Within::Of(1.5),
        );
    }
    ledger.settle(&[Miss {
        what: "gain between the outputs",
        measured: 130.37,
        why: GAIN,
    }]);
}

/// Electronic Tube Handbook sheet of ECC82, phase inverter with a capacitor to the cathodyne,
/// seen: first stage 220 kΩ, 3.9 kΩ with 50 µF; 0.01 µF; second 15 kΩ in the anode, 1 kΩ and
/// 14 kΩ in the cathode, leak 0.68 MΩ to their joint; loads 0.68 MΩ. The output coupling is not
/// in our copy: 0.01 µF too. No wiring capacitance: the sheet gives no response.
#[test]
fn ecc82_phase_inverter() {
    let mut ledger = Ledger::default();
    for (volts, first, second, output, gain_printed, distortion) in [
        (250.0, 0.82, 4.5, 13.0, 11.0, 1.5),
        (350.0, 1.16, 6.3, 20.0, 11.0, 1.5),
    ] {
        let parts = [
            supply("HT", volts, "ht"),
            resistor("RG", 1e6, "in", "gnd"),
            triode("V1", "ECC82", "a1", "in", "k1"),
            resistor("RA1", 220e3, "a1", "ht"),
            resistor("RK1", 3.9e3, "k1", "gnd"),
            capacitor("CK1", 50e-6, "k1", "gnd"),
            capacitor("CC1", 0.01e-6, "a1", "g2"),
            triode("V2", "ECC82", "a2", "g2", "k2"),
            resistor("RA2", 15e3, "a2", "ht"),
            resistor("RB2", 1e3, "k2", "m2"),
            resistor("RK2", 14e3, "m2", "gnd"),
            resistor("RG2", 0.68e6, "g2", "m2"),
            capacitor("CA2", 0.01e-6, "a2", "oa"),
            resistor("RLA", 0.68e6, "oa", "gnd"),
            capacitor("CO2", 0.01e-6, "k2", "ok"),
            resistor("RLK", 0.68e6, "ok", "gnd"),
        ];
        let bench = solved("oa", &parts.concat());
        let heard = bench.network.output();
        ledger.add(
            format!("{volts} V: first mA"),
            1e3 * idle(&bench, "V1").anode,
            first,
            Within::Percent(5.0),
        );
        ledger.add(
            format!("{volts} V: second mA"),
            1e3 * idle(&bench, "V2").anode,
            second,
            Within::Percent(5.0),
        );
        let measured = gain(&bench, heard, 1e3).norm();
        ledger.add(
            format!("{volts} V: gain"),
            measured,
            gain_printed,
            Within::Percent(15.0),
        );
        let reading = steady(&bench, output / measured, &[]);
        ledger.add(
            format!("{volts} V: distortion % at {output} V"),
            reading.distortion_percent(),
            distortion,
            Within::Of(2.0),
        );
    }
    const LAW: &str = "the fitted law is 5 to 7 % low at 110 V and -4.5 V";
    ledger.settle(&[
        Miss {
            what: "250 V: second mA",
            measured: 4.198,
            why: LAW,
        },
        Miss {
            what: "350 V: second mA",
            measured: 5.968,
            why: LAW,
        },
    ]);
}

/// The same sheets, two stages with a common cathode resistor, seen: 220 kΩ and 220 kΩ, 1.8 kΩ
/// with 50 µF, 0.68 MΩ. Coupling 0.01 µF as in the single stages.
#[test]
fn ecc82_cascade() {
    let mut ledger = Ledger::default();
    for (volts, total, output) in [(250.0, 1.66, 15.0), (350.0, 2.33, 25.0)] {
        let parts = [
            supply("HT", volts, "ht"),
            resistor("RG", 1e6, "in", "gnd"),
            triode("V1a", "ECC82", "a1", "in", "k"),
            resistor("RA1", 220e3, "a1", "ht"),
            capacitor("CC1", 0.01e-6, "a1", "g2"),
            resistor("RG2", 0.68e6, "g2", "gnd"),
            triode("V1b", "ECC82", "a2", "g2", "k"),
            resistor("RA2", 220e3, "a2", "ht"),
            capacitor("CC2", 0.01e-6, "a2", "out"),
            resistor("RL", 0.68e6, "out", "gnd"),
            resistor("RK", 1.8e3, "k", "gnd"),
            capacitor("CK", 50e-6, "k", "gnd"),
        ];
        let bench = solved("out", &parts.concat());
        let ma = 1e3 * (idle(&bench, "V1a").anode + idle(&bench, "V1b").anode);
        ledger.add(
            format!("{volts} V: both mA"),
            ma,
            total,
            Within::Percent(5.0),
        );
        let measured = gain(&bench, bench.network.output(), 1e3).norm();
        ledger.add(
            format!("{volts} V: gain"),
            measured,
            178.0,
            Within::Percent(15.0),
        );
        let reading = steady(&bench, output / measured, &[]);
        ledger.add(
            format!("{volts} V: distortion % at {output} V"),
            reading.distortion_percent(),
            2.0,
            Within::Of(2.0),
        );
    }
    const STAGES: &str = "178 is 13.3 a stage; the same sheets print 14.5 for this very stage";
    ledger.settle(&[Miss {
        what: "250 V: gain",
        measured: 204.76,
        why: STAGES,
    }]);
}
