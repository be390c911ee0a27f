//! Loudspeaker: derived quantities and impedance against a table worked by hand.

use engine::device::catalogue::LOUDSPEAKER_FILES;
use engine::device::{Acoustic, Catalogue, Loudspeaker};
use num_complex::Complex64;
use std::f64::consts::TAU;

/// The synthetic driver of the worked table; no source, computed from Small's circuit.
fn synthetic() -> Loudspeaker {
    Loudspeaker {
        name: "synthetic".into(),
        about: String::new(),
        rated_ohms: 8.0,
        coil_ohms: 6.5,
        coil_henries: 0.5e-3,
        lossy_henries: 0.0,
        lossy_ohms: 1.0,
        resonance_hz: 95.0,
        mechanical_q: 10.0,
        electrical_q: 1.3,
        rated_watts: 10.0,
        sensitivity_db: None,
        acoustic: Acoustic::default(),
    }
}

/// Impedance of the circuit that the struct describes, in complex numbers.
fn impedance(driver: &Loudspeaker, hz: f64) -> Complex64 {
    let s = Complex64::new(0.0, TAU * hz);
    let one = Complex64::new(1.0, 0.0);
    let lossy = s * driver.lossy_henries;
    let eddy = lossy * driver.lossy_ohms / (lossy + driver.lossy_ohms);
    let motional = one
        / (1.0 / driver.motional_ohms()
            + s * driver.motional_farads()
            + one / (s * driver.motional_henries()));
    driver.coil_ohms + s * driver.coil_henries + eddy + motional
}

/// The table gives five digits of the derived values and four to five of the impedance.
#[test]
fn the_worked_table_comes_out() {
    let driver = synthetic();
    assert!((driver.motional_ohms() - 50.0).abs() < 1e-9);
    assert!((driver.motional_farads() - 335.06e-6).abs() < 0.005e-6);
    assert!((driver.motional_henries() - 8.377e-3).abs() < 0.0005e-3);
    for (hz, ohms) in [
        (20.0, 6.627),
        (50.0, 7.747),
        (80.0, 17.107),
        (95.0, 56.501),
        (110.0, 18.920),
        (150.0, 8.508),
        (400.0, 6.532),
        (1000.0, 7.028),
        (5000.0, 16.912),
        (10000.0, 32.035),
    ] {
        let z = impedance(&driver, hz).norm();
        assert!((z - ohms).abs() <= 0.0006, "{hz} Hz: {z} for {ohms}");
    }
    assert!((impedance(&driver, 95.0).arg().to_degrees() - 0.30).abs() < 0.005);
    assert!((impedance(&driver, 1000.0).arg().to_degrees() - 22.26).abs() < 0.005);
}

/// Small's measurement: |Z| = Re·√r₀ at two frequencies whose product is the resonance squared.
#[test]
fn quality_factors_can_be_measured_back() {
    let mut driver = synthetic();
    driver.coil_henries = 0.0;
    let r0 = (driver.coil_ohms + driver.motional_ohms()) / driver.coil_ohms;
    let (f1, f2) = (82.022, 110.031);
    for hz in [f1, f2] {
        let z = impedance(&driver, hz).norm();
        assert!(
            (z / (driver.coil_ohms * r0.sqrt()) - 1.0).abs() < 2e-4,
            "{hz} Hz: {z}"
        );
    }
    let mechanical = driver.resonance_hz * r0.sqrt() / (f2 - f1);
    assert!((mechanical / driver.mechanical_q - 1.0).abs() < 1e-3);
    assert!((mechanical / (r0 - 1.0) / driver.electrical_q - 1.0).abs() < 1e-3);
}

#[test]
fn every_file_parses_and_is_plausible() {
    for (path, text) in LOUDSPEAKER_FILES {
        let driver = Loudspeaker::parse(text).unwrap_or_else(|e| panic!("{path}: {e}"));
        // IEC 60268-5, clause 16 (seen in a secondary copy): the least impedance within the rated
        // range is at least 0.8 of the rated impedance.
        let least = (20..20_000)
            .map(|hz| impedance(&driver, f64::from(hz)).norm())
            .fold(f64::INFINITY, f64::min);
        assert!(least >= 0.8 * driver.rated_ohms, "{path}: {least} Ω");
        assert!((60.0..130.0).contains(&driver.resonance_hz), "{path}");
        assert!(driver.rated_watts >= 10.0, "{path}");
    }
    assert_eq!(Catalogue::built_in().loudspeakers.len(), 4);
    assert!(Catalogue::built_in().loudspeaker("tin ten").is_some());
}

#[test]
fn an_unknown_key_is_refused() {
    let (_, text) = LOUDSPEAKER_FILES[0];
    let error = Loudspeaker::parse(&format!("colour = 3\n{text}")).unwrap_err();
    assert!(error.contains("colour"), "{error}");
}
