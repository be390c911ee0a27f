//! The bench of the tests against print: its instruments read right, and its ledger can fail.

use crate::printed::ledger::{Ledger, Miss, Within};
use crate::printed::sine::{STEPS, TONE_HZ, steady, steady_in_steps};
use crate::printed::{capacitor, gain_at, idle, resistor, solved, source, supply, triode};

/// Three rows: one met, one out by per cent, one out by an amount.
fn ledger() -> Ledger {
    let mut ledger = Ledger::default();
    ledger.add("met", 10.4, 10.0, Within::Percent(5.0));
    ledger.add("out by 6 %", 10.6, 10.0, Within::Percent(5.0));
    ledger.add("out by 3", 8.0, 5.0, Within::Of(2.0));
    ledger
}

const SIX: Miss = Miss {
    what: "out by 6 %",
    measured: 10.6,
    why: "made so",
};
const THREE: Miss = Miss {
    what: "out by 3",
    measured: 8.0,
    why: "made so",
};

#[test]
fn ledger_takes_exactly_what_is_measured() {
    ledger().settle(&[SIX, THREE]);
}

#[test]
fn ledger_takes_the_nearest_of_several_makers() {
    let mut ledger = Ledger::default();
    ledger.add_any("gain", 12.5, &[11.0, 14.0], Within::Percent(12.0));
    ledger.settle(&[]);
}

#[test]
#[should_panic(expected = "gain: 12.5000, printed 14")]
fn ledger_refuses_what_is_near_no_maker() {
    let mut ledger = Ledger::default();
    ledger.add_any("gain", 12.5, &[10.0, 14.0], Within::Percent(10.0));
    ledger.settle(&[]);
}

#[test]
#[should_panic(expected = "out by 3: 8.0000, printed 5")]
fn ledger_refuses_a_miss_that_is_not_listed() {
    ledger().settle(&[SIX]);
}

#[test]
#[should_panic(expected = "out by 3: 8.0000, listed as 8.1")]
fn ledger_refuses_a_miss_that_has_changed() {
    ledger().settle(&[
        SIX,
        Miss {
            measured: 8.1,
            ..THREE
        },
    ]);
}

#[test]
#[should_panic(expected = "met is met: take it off the list")]
fn ledger_refuses_a_listed_row_that_is_met() {
    ledger().settle(&[
        SIX,
        THREE,
        Miss {
            what: "met",
            measured: 10.4,
            why: "",
        },
    ]);
}

#[test]
#[should_panic(expected = "nothing is listed but not measured")]
fn ledger_refuses_a_listed_row_that_is_not_there() {
    ledger().settle(&[
        SIX,
        THREE,
        Miss {
            what: "nothing",
            measured: 1.0,
            why: "",
        },
    ]);
}

/// Without a valve the steady sine is the small-signal gain, but for the bilinear transform's
/// bend of the frequency, (ωh)²/12 = 2e-4.
#[test]
fn steady_sine_of_a_linear_circuit() {
    let parts = [
        resistor("R1", 10e3, "in", "out"),
        capacitor("C1", 15.9e-9, "out", "gnd"),
        resistor("R2", 100e3, "out", "gnd"),
    ];
    let bench = solved("out", &parts.concat());
    let reading = steady(&bench, 2.0, &[]);
    let expected = 2.0 * gain_at(&bench, "out", TONE_HZ);
    assert!(
        (reading.volts_rms() / expected - 1.0).abs() < 3e-4,
        "{}",
        reading.volts_rms()
    );
    assert!(
        reading.distortion_percent() < 1e-3,
        "{}",
        reading.distortion_percent()
    );
}

/// A triode far above cut-off without load: its second harmonic is that of its law,
/// `i(v) = i0 + i'·v + ½·i''·v²`, so `d2 = ¼·i''/i'·peak`, with derivatives by differences.
#[test]
fn distortion_of_a_small_signal_follows_the_law() {
    let parts = [
        supply("HT", 250.0, "ht"),
        source("VB", 1.5, "k", "gnd"),
        triode("V1", "ECC83", "a", "in", "k"),
        resistor("RA", 1.0, "ht", "a"),
    ];
    let bench = solved("a", &parts.concat());
    let law = &bench.values.devices.triodes[0].law;
    let slope = |vg: f64| law.currents(248.5, vg).anode_by_grid;
    let (middle, step) = (-1.5, 1e-3);
    let curvature = (slope(middle + step) - slope(middle - step)) / (2.0 * step);
    let rms = 0.02;
    let expected = 25.0 * curvature / slope(middle) * rms * std::f64::consts::SQRT_2;
    let reading = steady(&bench, rms, &["V1"]);
    let measured = reading.harmonic_percent(2);
    assert!(
        (measured / expected - 1.0).abs() < 0.01,
        "{measured} {expected}"
    );
    let rest = idle(&bench, "V1").anode;
    let mean = rest + 0.5 * curvature * rms * rms;
    assert!((reading.amps[0].anode - mean).abs() < 0.01 * (mean - rest));
}

/// Four times the steps change no figure by anything that the bars would notice.
#[test]
fn steps_are_fine_enough() {
    let parts = [
        supply("HT", 250.0, "ht"),
        triode("V1", "ECC83", "a", "in", "k"),
        resistor("RA", 100e3, "ht", "a"),
        resistor("RK", 1.5e3, "k", "gnd"),
        capacitor("CK", 10e-6, "k", "gnd"),
        capacitor("CC", 10e-9, "a", "out"),
        resistor("RL", 220e3, "out", "gnd"),
    ];
    let bench = solved("out", &parts.concat());
    let heard = bench.network.output();
    let coarse = steady(&bench, 0.7, &["V1"]);
    let fine = steady_in_steps(4 * STEPS, &bench, heard, 0.7, &["V1"]);
    assert!((coarse.volts_rms() / fine.volts_rms() - 1.0).abs() < 1e-3);
    assert!((coarse.distortion_percent() - fine.distortion_percent()).abs() < 0.01);
    assert!((coarse.amps[0].anode / fine.amps[0].anode - 1.0).abs() < 1e-3);
}
