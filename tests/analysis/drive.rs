//! The clean limit against the plain transient oracle: a sine at the level that the sweep names
//! makes the distortion that it names.

use crate::solved::Solved;
use engine::analysis::drive::{HZ, drive, impedance};
use engine::circuit::built_in_circuit;
use engine::device::Catalogue;
use engine::solve::Transient;
use engine::solve::solved::SolvedAmp;
use std::f64::consts::{SQRT_2, TAU};

/// Steps of the oracle a second, 384 a period: its own error in the harmonics falls with the square
/// and is below a hundredth of a per cent here.
const STEPS: f64 = 384_000.0;

/// Distortion in per cent of the oracle's output after so many seconds, and its r.m.s.
fn oracle(bench: &Solved, volts: f64, seconds: f64) -> (f64, f64) {
    let mut transient = Transient::new(&bench.network, &bench.values, &bench.point, 1.0 / STEPS);
    let count = (seconds * STEPS) as usize;
    // The last fifty periods.
    let window = (50.0 * STEPS / HZ) as usize;
    let mut sums = [[0.0f64; 2]; 21];
    for i in 1..=count {
        let phase = TAU * HZ * i as f64 / STEPS;
        let heard = transient.step(SQRT_2 * volts * phase.sin()).unwrap();
        if i > count - window {
            for (k, sum) in sums.iter_mut().enumerate().skip(1) {
                let (sin, cos) = (phase * k as f64).sin_cos();
                sum[0] += heard * cos;
                sum[1] += heard * sin;
            }
        }
    }
    let powers: Vec<f64> = sums
        .iter()
        .map(|[c, s]| 2.0 * (c * c + s * s) / (window as f64).powi(2))
        .collect();
    let above: f64 = powers[2..].iter().sum();
    (
        100.0 * (above / powers[1]).sqrt(),
        (above + powers[1]).sqrt(),
    )
}

#[test]
fn the_oracle_distorts_as_much_at_the_clean_limit() {
    let triode =
        std::fs::read_to_string(crate::top::top().join("tests/circuits/one_triode.toml")).unwrap();
    let whole = built_in_circuit("bradawl").unwrap().text;
    for (name, text, seconds) in [("one triode", triode.as_str(), 0.6), ("whole", whole, 0.9)] {
        let circuit = engine::circuit::read(text, &Catalogue::built_in()).unwrap();
        let amp = SolvedAmp::new(&circuit, None).unwrap();
        let found = drive(&amp.network, &amp.as_found, &mut |_| {});
        assert_eq!(found.unsolved, 0);
        let bench = Solved::new(circuit);
        for limit in &found.limits[..2] {
            let level = limit.at.unwrap_or_else(|| panic!("{name}: {limit:?}"));
            let (percent, volts) = oracle(&bench, level.input_volts, seconds);
            println!(
                "{name}: {} % at {level:?}; oracle {percent} %, {volts} V",
                limit.percent
            );
            // The sweep stops at brackets of 6 % in level; straight in logarithms within one, it
            // errs by a small share of that.
            assert!(
                (percent / limit.percent - 1.0).abs() < 0.05,
                "{name}: {percent} %"
            );
            assert!(
                (volts / level.output_volts - 1.0).abs() < 0.01,
                "{name}: {volts} V"
            );
        }
    }
}

/// Small's circuit: coil resistance alone at direct current, plus `Re·Qms/Qes` at resonance but for
/// the coil's inductance.
#[test]
fn the_impedance_that_watts_rest_on() {
    let catalogue = Catalogue::built_in();
    let driver = catalogue.loudspeaker("Tin Ten").unwrap();
    let low = impedance(driver, 0.1);
    assert!((low.re / driver.coil_ohms - 1.0).abs() < 1e-3, "{low}");
    let at = impedance(driver, driver.resonance_hz);
    let expected = driver.coil_ohms + driver.motional_ohms();
    assert!((at.re / expected - 1.0).abs() < 0.01, "{at} {expected}");
    assert!(impedance(driver, 10e3).im > 0.0);
}
