//! Against print: the textbook formulas of valve stages.
//!
//! In two steps. First the formula, written as the textbooks have it, gives the worked figures
//! for stated constants of the valve (worked by hand; formulas: F. Langford-Smith, ed., Radiotron
//! Designer's Handbook, 4th edition, 1953, ch. 12, from memory). Then the network, solved from a
//! circuit file, agrees with the same formula at the constants that the fitted valve has at its
//! own operating point. Electrode capacitances are in the network and not in the formulas; at
//! 100 Hz they change a gain by less than 1e-6, at 1 kHz by less than 1e-4.

use crate::printed::{
    Constants, capacitor, constants, gain_at, position, resistor, solved, source, supply, triode,
};
use engine::solve::SmallSignal;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// Share by which a network may differ from a formula that leaves out electrode capacitances,
/// the jack's 1 Ω and the reactance of the coupling capacitors.
const CLOSE: f64 = 1e-4;
/// The largest capacitor that a file may hold, F: a short circuit from 1 Hz on.
const SHORT_FARADS: f64 = 10e-3;
const TEXTBOOK: Constants = Constants {
    mu: 100.0,
    ra: 62.5e3,
};

fn parallel(a: f64, b: f64) -> f64 {
    a * b / (a + b)
}

#[track_caller]
fn near(measured: f64, expected: f64, share: f64) {
    let off = (measured - expected).abs();
    assert!(
        off <= share * expected.abs(),
        "{measured} is not {expected}"
    );
}

/// A worked figure, printed with `digits` after the point.
#[track_caller]
fn worked(value: f64, printed: f64, digits: i32) {
    let off = (value - printed).abs();
    assert!(
        off <= 0.5001 * 10f64.powi(-digits),
        "{value} is not {printed}"
    );
}

/// Gain of a stage with load `r` and `rk` in the cathode without a bypass.
fn stage_gain(c: Constants, r: f64, rk: f64) -> f64 {
    c.mu * r / (r + c.ra + (c.mu + 1.0) * rk)
}

const SUPPLY: f64 = 300.0;
const ANODE_OHMS: f64 = 100e3;
const CATHODE_OHMS: f64 = 1.5e3;

fn one_stage(next: f64, bypass: Option<f64>, stopper: Option<f64>) -> crate::solved::Solved {
    let grid = if stopper.is_some() { "g1" } else { "in" };
    let parts = [
        supply("HT", SUPPLY, "ht"),
        resistor("RG", 1e6, "in", "gnd"),
        stopper.map_or(String::new(), |ohms| resistor("RS", ohms, "in", "g1")),
        triode("V1", "ECC83", "a1", grid, "k1"),
        resistor("RA", ANODE_OHMS, "a1", "ht"),
        resistor("RK", CATHODE_OHMS, "k1", "gnd"),
        bypass.map_or(String::new(), |farads| capacitor("CK", farads, "k1", "gnd")),
        capacitor("CC", SHORT_FARADS, "a1", "out"),
        resistor("RL", next, "out", "gnd"),
    ];
    solved("out", &parts.concat())
}

#[test]
fn gain_with_and_without_cathode_bypass() {
    for (next, with, without) in [
        (1e6, 59.26, 29.82),
        (470e3, 56.88, 27.81),
        (220e3, 52.38, 24.31),
    ] {
        let load = parallel(ANODE_OHMS, next);
        worked(stage_gain(TEXTBOOK, load, 0.0), with, 2);
        worked(stage_gain(TEXTBOOK, load, CATHODE_OHMS), without, 2);
        let bypassed = one_stage(next, Some(SHORT_FARADS), None);
        let own = constants(&bypassed, "V1");
        near(
            gain_at(&bypassed, "out", 100.0),
            stage_gain(own, load, 0.0),
            CLOSE,
        );
        let bare = one_stage(next, None, None);
        near(
            gain_at(&bare, "out", 100.0),
            stage_gain(own, load, CATHODE_OHMS),
            CLOSE,
        );
    }
}

/// Measured as on the bench: one ampere into the output, the input at rest.
#[test]
fn output_impedance() {
    let bare = |c: Constants| parallel(ANODE_OHMS, c.ra + (c.mu + 1.0) * CATHODE_OHMS);
    let bypassed = |c: Constants| parallel(ANODE_OHMS, c.ra);
    worked(1e-3 * bypassed(TEXTBOOK), 38.46, 2);
    worked(1e-3 * bare(TEXTBOOK), 68.15, 2);
    let next = 1e6;
    for (bypass, formula) in [
        (None, &bare as &dyn Fn(Constants) -> f64),
        (Some(SHORT_FARADS), &bypassed),
    ] {
        let bench = one_stage(next, bypass, None);
        let at = position(&bench, "out");
        let mut current = vec![Complex64::ZERO; bench.network.unknowns() + 1];
        current[at] = Complex64::ONE;
        let small = SmallSignal::new(&bench.network, &bench.values, &bench.point);
        let measured = small.driven(100.0, current)[at].norm();
        near(
            measured,
            parallel(next, formula(constants(&bench, "V1"))),
            CLOSE,
        );
    }
}

/// Corners of the step in response that a bypassed cathode resistor makes, Hz.
fn shelf(c: Constants, load: f64, farads: f64) -> (f64, f64) {
    let zero = 1.0 / (TAU * CATHODE_OHMS * farads);
    (
        zero,
        zero * (1.0 + (c.mu + 1.0) * CATHODE_OHMS / (load + c.ra)),
    )
}

fn shelf_gain(c: Constants, load: f64, farads: f64, hz: f64) -> f64 {
    let (zero, pole) = shelf(c, load, farads);
    let step = Complex64::new(1.0, hz / zero) / Complex64::new(1.0, hz / pole);
    stage_gain(c, load, CATHODE_OHMS) * step.norm()
}

#[test]
fn cathode_shelf() {
    let load = parallel(ANODE_OHMS, 1e6);
    for (microfarads, zero, pole, digits) in [
        (0.68, 156.0, 310.1, 1),
        (1.0, 106.1, 210.9, 1),
        (2.2, 48.2, 95.9, 1),
        (4.7, 22.6, 44.9, 1),
        (25.0, 4.24, 8.44, 2),
    ] {
        let farads = 1e-6 * microfarads;
        let (z, p) = shelf(TEXTBOOK, load, farads);
        worked(z, zero, digits);
        worked(p, pole, digits);
        let bench = one_stage(1e6, Some(farads), None);
        let own = constants(&bench, "V1");
        for hz in [10.0, 82.4, 220.0, 1000.0] {
            near(
                gain_at(&bench, "out", hz),
                shelf_gain(own, load, farads, hz),
                CLOSE,
            );
        }
    }
    worked(shelf_gain(TEXTBOOK, load, 0.68e-6, 82.4), 32.59, 2);
    worked(shelf_gain(TEXTBOOK, load, 0.68e-6, 1000.0), 57.28, 2);
    worked(shelf_gain(TEXTBOOK, load, 25e-6, 82.4), 59.03, 2);
}

/// Capacitances of ECC83 without shield, F: three makers' sheets of 1947, 1950 and 1960, seen.
const GRID_CATHODE: f64 = 1.6e-12;
const GRID_ANODE: f64 = 1.7e-12;

/// Input capacitance of a stage (J. Miller, Bulletin of the Bureau of Standards, 1919, from
/// memory).
fn miller_farads(gain: f64) -> f64 {
    GRID_CATHODE + GRID_ANODE * (1.0 + gain)
}

/// Where `hz` lies in `low..high` with the level from the jack to the grid 3.01 dB down.
fn corner(bench: &crate::solved::Solved, node: &str, low: f64, high: f64) -> f64 {
    let (mut low, mut high) = (low, high);
    while high - low > 1e-6 * high {
        let middle = (low * high).sqrt();
        if gain_at(bench, node, middle) > 0.5_f64.sqrt() {
            low = middle;
        } else {
            high = middle;
        }
    }
    low
}

#[test]
fn miller_effect() {
    let stopper = 68e3;
    for (gain, picofarads, kilohertz) in
        [(45.0, 79.8, 29.3), (50.0, 88.3, 26.5), (60.0, 105.3, 22.2)]
    {
        worked(1e12 * miller_farads(gain), picofarads, 1);
        worked(1e-3 / (TAU * stopper * miller_farads(gain)), kilohertz, 1);
    }
    let bench = one_stage(1e6, Some(SHORT_FARADS), Some(stopper));
    let expected = 1.0
        / (TAU
            * stopper
            * miller_farads(gain_at(&bench, "out", 100.0) / gain_at(&bench, "g1", 100.0)));
    // The formula takes the gain as real and constant. At the corner it has turned by f·2π·R·C,
    // with 38 kΩ and about 2 pF 1.4 %, which puts a like share of conductance beside the capacitance.
    near(corner(&bench, "g1", 1e3, 1e6), expected, 0.015);
}

/// Gains to the two anodes of a long-tailed pair, the first inverted. With `d = ra + R` of each
/// side, tail `t`: `vk = t·µ₁/d₁ / (1 + t·((µ₁+1)/d₁ + (µ₂+1)/d₂))`.
fn long_tailed(first: Constants, second: Constants, loads: [f64; 2], tail: f64) -> [f64; 2] {
    let per = |c: Constants, load: f64| 1.0 / (c.ra + load);
    let (p1, p2) = (per(first, loads[0]), per(second, loads[1]));
    let cathode =
        tail * first.mu * p1 / (1.0 + tail * ((first.mu + 1.0) * p1 + (second.mu + 1.0) * p2));
    let amps1 = (first.mu - (first.mu + 1.0) * cathode) * p1;
    let amps2 = -(second.mu + 1.0) * cathode * p2;
    [-amps1 * loads[0], -amps2 * loads[1]]
}

#[test]
fn long_tailed_pair() {
    let ecc81 = Constants { mu: 60.0, ra: 15e3 };
    for (valve, book, r1, r2, tail, next, first, second) in [
        ("ECC83", TEXTBOOK, 100e3, 100e3, 10e3, 1e6, -31.72, 27.54),
        ("ECC83", TEXTBOOK, 82e3, 100e3, 10e3, 1e6, -27.92, 29.07),
        ("ECC83", TEXTBOOK, 82e3, 100e3, 10e3, 220e3, -25.06, 25.52),
        ("ECC83", TEXTBOOK, 100e3, 100e3, 22e3, 1e6, -30.62, 28.64),
        ("ECC81", ecc81, 47e3, 47e3, 10e3, 220e3, -22.54, 20.71),
    ] {
        let loads = [parallel(r1, next), parallel(r2, next)];
        let [a, b] = long_tailed(book, book, loads, tail);
        worked(a, first, 2);
        worked(b, second, 2);
        // Both grids stand above ground by enough for a milliampere or two through the tail.
        let raised = if tail > 15e3 { 36.0 } else { 20.0 };
        let parts = [
            supply("HT", 350.0, "ht"),
            source("B1", raised, "g1", "in"),
            source("B2", raised, "g2", "gnd"),
            triode("V1a", valve, "a1", "g1", "k"),
            triode("V1b", valve, "a2", "g2", "k"),
            resistor("RA1", r1, "a1", "ht"),
            resistor("RA2", r2, "a2", "ht"),
            resistor("RT", tail, "k", "gnd"),
            capacitor("C1", SHORT_FARADS, "a1", "o1"),
            resistor("RL1", next, "o1", "gnd"),
            capacitor("C2", SHORT_FARADS, "a2", "o2"),
            resistor("RL2", next, "o2", "gnd"),
        ];
        let bench = solved("o1", &parts.concat());
        let own = |v| constants(&bench, v);
        let [a, b] = long_tailed(own("V1a"), own("V1b"), loads, tail);
        let small = SmallSignal::new(&bench.network, &bench.values, &bench.point).at(100.0);
        near(small[position(&bench, "o1")].re, a, CLOSE);
        near(small[position(&bench, "o2")].re, b, CLOSE);
    }
}

/// Gain from grid to either output of a cathodyne with equal loads.
fn cathodyne(c: Constants, load: f64) -> f64 {
    c.mu * load / (c.ra + (c.mu + 2.0) * load)
}

#[test]
fn cathodyne_inverter() {
    worked(cathodyne(TEXTBOOK, 68.75e3), 0.9717, 4);
    worked(
        cathodyne(
            Constants {
                mu: 17.0,
                ra: 7.7e3,
            },
            15e3,
        ),
        0.8712,
        4,
    );
    for (load, raised) in [(68.75e3, 60.0), (100e3, 60.0), (22e3, 40.0)] {
        let parts = [
            supply("HT", 300.0, "ht"),
            source("B1", raised, "g1", "in"),
            triode("V1", "ECC83", "a1", "g1", "k1"),
            resistor("RA", load, "a1", "ht"),
            resistor("RK", load, "k1", "gnd"),
        ];
        let bench = solved("k1", &parts.concat());
        let expected = cathodyne(constants(&bench, "V1"), load);
        near(gain_at(&bench, "a1", 100.0), expected, CLOSE);
        near(gain_at(&bench, "k1", 100.0), expected, CLOSE);
    }
}

/// Coupling corners, Hz: capacitor, grid leak, source resistance.
#[test]
fn coupling_corner() {
    for (farads, leak, source, printed, digits) in [
        (22e-9, 1e6, 0.0, 7.234, 3),
        (22e-9, 470e3, 0.0, 15.39, 2),
        (100e-9, 220e3, 0.0, 7.234, 3),
        (22e-9, 1e6, 38.5e3, 6.966, 3),
    ] {
        let expected = 1.0 / (TAU * farads * (leak + source));
        worked(expected, printed, digits);
        let parts = [
            resistor("RS", f64::max(source, 1.0), "in", "a"),
            capacitor("C1", farads, "a", "out"),
            resistor("RG", leak, "out", "gnd"),
        ];
        let bench = solved("out", &parts.concat());
        let level = |hz| gain_at(&bench, "out", hz) / gain_at(&bench, "out", 1e6);
        near(level(expected), 0.5_f64.sqrt(), CLOSE);
    }
}

/// Drop of gain by feedback: `A/(1 + A·β)`, figures worked by hand. The network's amplifier is a
/// stage whose cathode resistor feeds a share `β = Rk/R` of its output back.
#[test]
fn feedback_lowers_gain() {
    let closed = |a: f64, beta: f64| a / (1.0 + a * beta);
    worked(closed(1000.0, 0.01), 90.91, 2);
    worked(20.0 * (1000.0 / closed(1000.0, 0.01)).log10(), 20.83, 2);
    for (decibels, loop_gain, digits) in [
        (3.0, 0.4125, 4),
        (6.0, 0.9953, 4),
        (10.0, 2.162, 3),
        (20.0, 9.0, 4),
    ] {
        worked(10f64.powf(decibels / 20.0) - 1.0, loop_gain, digits);
    }
    let load = parallel(ANODE_OHMS, 1e6);
    let open = one_stage(1e6, Some(SHORT_FARADS), None);
    let bare = one_stage(1e6, None, None);
    // The grid sees vk itself, the anode circuit vk as well, hence (µ + 1)/µ.
    let beta = CATHODE_OHMS / load * (1.0 + 1.0 / constants(&open, "V1").mu);
    near(
        gain_at(&bare, "out", 100.0),
        closed(gain_at(&open, "out", 100.0), beta),
        CLOSE,
    );
}
