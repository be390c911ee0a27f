//! Harmonics against waveforms worked by hand, and the sums of decibels.

use crate::printed::{resistor, solved, source, supply, triode};
use engine::analysis::drive::harmonics::{PERIOD, spectrum};
use engine::analysis::drive::{Drive, DriveOptions, drive_with};
use engine::solve::solved::SolvedAmp;
use engine::units::dbu_from_volts;
use std::f64::consts::{PI, TAU};

/// Fourier coefficient of a sine of amplitude 1 cut at ±`cut`, of an odd order above 1, by
/// integration over a quarter: `4/π·(½·(sin (n−1)θ/(n−1) − sin (n+1)θ/(n+1)) + cut·cos nθ/n)` with
/// `sin θ = cut`.
fn clipped(cut: f64, order: f64) -> f64 {
    let theta = cut.asin();
    let rising = ((order - 1.0) * theta).sin() / (order - 1.0)
        - ((order + 1.0) * theta).sin() / (order + 1.0);
    4.0 / PI * (0.5 * rising + cut * (order * theta).cos() / order)
}

#[test]
fn a_clipped_sine() {
    for cut in [0.9, 0.7, 0.5] {
        let samples: Vec<f64> = (0..5 * PERIOD)
            .map(|i| (TAU * i as f64 / PERIOD as f64).sin().clamp(-cut, cut))
            .collect();
        let found = spectrum(&samples).map(|v| v.norm());
        // 48 samples a period fold the harmonics about 48 and 96 onto these; a corner of the slope
        // cos θ at four places has harmonics of at most 4/π·cos θ/n².
        let folded =
            4.0 / PI * cut.asin().cos() * 2.0 * (1.0 / 41.0f64.powi(2) + 1.0 / 89.0f64.powi(2));
        for order in [3, 5, 7] {
            let expected = clipped(cut, order as f64).abs();
            assert!(
                (found[order] - expected).abs() < folded,
                "{cut} {order}: {} {expected}",
                found[order]
            );
        }
        let theta: f64 = cut.asin();
        let first = 2.0 / PI * (theta + cut * theta.cos());
        assert!((found[1] - first).abs() < folded);
        assert!(found[2].max(found[4]) < 1e-12);
    }
}

fn played(parts: &str, volts: f64) -> Drive {
    let bench = solved("a", parts);
    let amp = SolvedAmp::new(&bench.circuit, None).expect("an operating point");
    let asked = DriveOptions {
        played_volts: Some(volts),
        ..DriveOptions::default()
    };
    drive_with(&amp.network, &amp.as_found, asked, &mut |_| true).expect("nobody gives up")
}

/// A triode without a load to speak of is a square law about its bias, `i = i0 + i'·v + ½·i''·v²`,
/// whose second harmonic is `¼·i''/i'·peak` of the first; derivatives by differences.
#[test]
fn second_harmonic_of_a_square_law() {
    let parts = [
        supply("HT", 250.0, "ht"),
        source("VB", 1.5, "k", "gnd"),
        triode("V1", "ECC83", "a", "in", "k"),
        resistor("RA", 1.0, "ht", "a"),
    ]
    .concat();
    let circuit = solved("a", &parts);
    let law = &circuit.values.devices.triodes[0].law;
    let slope = |vg: f64| law.currents(248.5, vg).anode_by_grid;
    let curvature = (slope(-1.499) - slope(-1.501)) / 2e-3;
    for rms in [0.02, 0.04] {
        let peak = rms * std::f64::consts::SQRT_2;
        let expected = 20.0 * (0.25 * curvature / slope(-1.5) * peak).log10();
        let found = played(&parts, rms).harmonics_played.expect("harmonics");
        assert!((found.level.input_volts - rms).abs() < 1e-12);
        // The next term bends the first harmonic by less than a hundredth.
        let second = found.db[0].expect("a second harmonic");
        assert!((second - expected).abs() < 0.1, "{second} {expected}");
        // Nothing else to speak of: total and second agree, of the whole signal.
        let ratio = 10f64.powf(second / 20.0);
        let total = 100.0 * ratio / (1.0 + ratio * ratio).sqrt();
        assert!((found.level.distortion_percent / total - 1.0).abs() < 0.01);
    }
}

#[test]
fn decibels_over_the_reference() {
    // 1 mW in 600 Ω.
    assert!(dbu_from_volts(0.774_596_669).abs() < 1e-8);
    // 20·lg 2 and 20·lg 10.
    assert!((dbu_from_volts(2.0 * 0.774_596_669) - 6.020_599_913).abs() < 1e-8);
    assert!((dbu_from_volts(0.077_459_666_9) + 20.0).abs() < 1e-8);
}

/// A plain divider distorts nowhere and draws no grid current: no limit is named, nothing panics.
#[test]
fn what_never_distorts() {
    let parts = resistor("R1", 1e5, "in", "a") + &resistor("R2", 1e5, "a", "gnd");
    let found = played(&parts, 0.1);
    assert!(found.limits.iter().all(|l| l.at.is_none()));
    assert_eq!(found.grid_current.valve, None);
    assert!((found.harmonics_played.unwrap().level.output_volts - 0.05).abs() < 1e-6);
}

/// Hostile levels are not played.
#[test]
fn a_level_that_is_no_number() {
    let parts = resistor("R1", 1e5, "in", "a") + &resistor("R2", 1e5, "a", "gnd");
    for volts in [f64::NAN, f64::INFINITY, 0.0, -1.0] {
        assert_eq!(played(&parts, volts).harmonics_played, None);
    }
}
