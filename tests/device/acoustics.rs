//! A loudspeaker's acoustic side: its sections against their closed forms, the driver's own
//! resonance against its electrical circuit, the files' ranges, the invented voicings.

use engine::device::acoustics::{Acoustic, DB_RANGE, MOST_SECTIONS, Section, UNITY_HZ};
use engine::device::{Catalogue, Loudspeaker};
use num_complex::Complex64;
use std::f64::consts::TAU;

const PLAIN: &str = r#"
name = "Plain"
about = "For a test."
rated_ohms = 8
coil_ohms = 6.5
coil_henries = 0
lossy_henries = 0
lossy_ohms = 1
resonance_hz = 95
mechanical_q = 10
electrical_q = 1.3
rated_watts = 20
"#;

fn read(acoustic: &str) -> Result<Loudspeaker, String> {
    Loudspeaker::parse(&format!("{PLAIN}acoustic = [{acoustic}]\n"))
}

/// The one section that a line states.
fn section(line: &str) -> Section {
    let driver = read(line).unwrap_or_else(|e| panic!("{line}: {e}"));
    driver.acoustic.sections()[1]
}

fn db(gain: Complex64) -> f64 {
    20.0 * gain.norm().log10()
}

fn close(found: f64, expected: f64, by: f64, what: &str) {
    assert!(
        (found - expected).abs() <= by,
        "{what}: {found} for {expected}"
    );
}

/// Decibels an octave of second-order sections far from their corner, and their gain at it, which
/// is the quality factor. At a hundredth of the corner the next term is 10⁻⁴ of the first or less.
#[test]
fn cuts_have_their_slope_and_their_quality_factor() {
    for (line, far, slope) in [
        ("{ low_cut = { hz = 100, q = 1.4 } }", 1.0, 12.04),
        ("{ roll_off = { hz = 100, q = 1.4 } }", 1e4, -12.04),
        ("{ open_back = { hz = 100 } }", 1.0, 6.02),
    ] {
        let section = section(line).analog();
        let octave = db(section.at(2.0 * far)) - db(section.at(far));
        close(octave, slope, 0.01, line);
        let corner = section.at(100.0).norm();
        let expected = if line.contains("q =") {
            1.4
        } else {
            0.5f64.sqrt()
        };
        close(corner, expected, 1e-12, line);
        let passed = section.at(if slope > 0.0 { 1e6 } else { 0.01 }).norm();
        close(passed, 1.0, 1e-7, line);
    }
}

/// The middle has all of the decibels, the two frequencies that are `hz/q` apart and have `hz`
/// for their geometric mean have half of them, and far away there are none.
#[test]
fn a_peak_has_its_height_and_width() {
    for (hz, q, height) in [(3000.0_f64, 2.0_f64, 8.0), (500.0, 0.9, -3.0)] {
        let line = format!("{{ peak = {{ hz = {hz}, q = {q}, db = {height} }} }}");
        let section = section(&line).analog();
        close(db(section.at(hz)), height, 1e-9, &line);
        let half_width = 0.5 / q;
        let upper = hz * (half_width + (1.0 + half_width * half_width).sqrt());
        for edge in [upper, hz * hz / upper] {
            close(db(section.at(edge)), 0.5 * height, 1e-9, &line);
        }
        close(db(section.at(hz / 1e4)), 0.0, 1e-4, &line);
        close(db(section.at(hz * 1e4)), 0.0, 1e-4, &line);
    }
}

#[test]
fn a_shelf_has_half_its_height_at_its_frequency() {
    let section = section("{ shelf = { hz = 2000, db = -6 } }").analog();
    close(db(section.at(2000.0)), -3.0, 1e-9, "middle");
    close(db(section.at(0.2)), 0.0, 1e-4, "below");
    close(db(section.at(2e7)), -6.0, 1e-4, "above");
}

/// The sound pressure of a driver goes with the acceleration of its cone, the cone's speed with
/// the volts across the motional branch: so the driver's own section must be the voltage division
/// of its electrical circuit times `s`, but for a constant. Without inductances the two are the same
/// function.
#[test]
fn the_drivers_own_section_follows_from_its_electrical_circuit() {
    let driver = read("").unwrap();
    assert_eq!(driver.acoustic.sections().len(), 1);
    let acceleration = |hz: f64| {
        let s = Complex64::new(0.0, TAU * hz);
        let motional = 1.0
            / (1.0 / driver.motional_ohms()
                + s * driver.motional_farads()
                + 1.0 / (s * driver.motional_henries()));
        s * motional / (motional + driver.coil_ohms)
    };
    let unity = acceleration(UNITY_HZ).norm();
    for hz in [20.0, 60.0, 95.0, 150.0, 400.0, 1000.0, 5000.0] {
        let expected = acceleration(hz) / unity;
        let found = driver.acoustic.at(hz);
        assert!(
            (found - expected).norm() < 1e-9 * expected.norm(),
            "{hz} Hz"
        );
    }
}

#[test]
fn every_loudspeaker_has_a_gain_of_one_at_the_common_frequency() {
    for driver in &Catalogue::built_in().loudspeakers {
        close(
            driver.acoustic.at(UNITY_HZ).norm(),
            1.0,
            1e-12,
            &driver.name,
        );
        let sections: Vec<_> = driver.acoustic.analog().collect();
        assert!(
            (3..=MOST_SECTIONS).contains(&sections.len()),
            "{}",
            driver.name
        );
        let product: Complex64 = sections.iter().map(|s| s.at(345.0)).product();
        assert_eq!(product, driver.acoustic.at(345.0));
        // Stable: no pole on the right.
        for section in sections {
            assert!(section.denominator.iter().all(|d| *d >= 0.0));
        }
    }
    assert_eq!(Acoustic::default().at(50.0), Complex64::ONE);
}

/// Own design intent, invented: what the four are told apart by.
#[test]
fn the_voicings_are_told_apart() {
    let catalogue = Catalogue::built_in();
    let level = |name: &str, hz: f64| db(catalogue.loudspeaker(name).unwrap().acoustic.at(hz));
    let top = |name: &str| {
        let hz = (1000..8000).step_by(20).map(f64::from);
        hz.max_by(|a, b| level(name, *a).total_cmp(&level(name, *b)))
            .unwrap()
    };
    let names = ["Tin Ten", "Harbour Ten", "Anvil Twelve", "Breakwater Quad"];
    assert!(
        (3000.0..4000.0).contains(&top("Tin Ten")),
        "{}",
        top("Tin Ten")
    );
    assert!(
        (1700.0..2400.0).contains(&top("Harbour Ten")),
        "{}",
        top("Harbour Ten")
    );
    assert!(
        (2200.0..3000.0).contains(&top("Anvil Twelve")),
        "{}",
        top("Anvil Twelve")
    );
    assert!(
        (2400.0..3200.0).contains(&top("Breakwater Quad")),
        "{}",
        top("Breakwater Quad")
    );
    assert!(level("Tin Ten", 4000.0) > level("Harbour Ten", 4000.0) + 6.0);
    assert!(level("Breakwater Quad", 60.0) > level("Tin Ten", 60.0) + 4.0);
    for name in names {
        // A guitar loudspeaker has nothing to say above and little below.
        assert!(
            level(name, 10_000.0) < level(name, top(name)) - 20.0,
            "{name}"
        );
        assert!(level(name, 20_000.0) < -30.0, "{name}");
        assert!(level(name, 30.0) < -10.0, "{name}");
        // And its middle is no hole.
        for hz in [200.0, 400.0, 800.0, 1600.0] {
            assert!(
                level(name, hz).abs() < 8.0,
                "{name} {hz} Hz {}",
                level(name, hz)
            );
        }
    }
}

#[test]
fn every_value_outside_its_range_is_told_at_once() {
    let error = read(
        "{ peak = { hz = 5, q = 40, db = 30 } }, { open_back = { hz = 120 } }, \
         { roll_off = { hz = 30000, q = 0.7 } }",
    )
    .unwrap_err();
    let lines: Vec<&str> = error.lines().collect();
    assert_eq!(
        lines,
        [
            "acoustic 1 (peak): hz is 5 Hz, outside 20 to 20000 Hz: write 20 or more",
            "acoustic 1 (peak): q is 40, outside 0.3 to 12: write 12 or less",
            "acoustic 1 (peak): db is 30 dB, outside -24 to 24 dB: write 24 or less",
            "acoustic 3 (roll_off): hz is 30000 Hz, outside 20 to 20000 Hz: write 20000 or less",
        ]
    );
    assert_eq!(DB_RANGE, [-24.0, 24.0]);
    let error = read("{ shelf = { hz = nan, db = 0 } }").unwrap_err();
    assert!(error.contains("write a number"), "{error}");
}

#[test]
fn electrical_values_have_ranges_too() {
    let text = format!("{PLAIN}acoustic = []\n");
    let text = text.replace("resonance_hz = 95", "resonance_hz = 5");
    let error = Loudspeaker::parse(&text.replace("coil_ohms = 6.5", "coil_ohms = 8.5"));
    let error = error.unwrap_err();
    let [range, coil] = error.lines().collect::<Vec<_>>()[..] else {
        panic!("{error}");
    };
    assert_eq!(
        range,
        "resonance_hz is 5 Hz, outside 20 to 400 Hz: write 20 or more"
    );
    assert!(
        coil.starts_with("coil_ohms is 8.5 Ω, more than rated_ohms, 8 Ω"),
        "{coil}"
    );
}

#[test]
fn too_many_sections_and_unknown_words_are_refused() {
    let line = "{ open_back = { hz = 120 } },";
    assert!(read(&line.repeat(MOST_SECTIONS - 1)).is_ok());
    let error = read(&line.repeat(MOST_SECTIONS)).unwrap_err();
    assert!(error.contains("8 sections; at most 7"), "{error}");
    for (line, word) in [
        ("{ bump = { hz = 120 } }", "bump"),
        (
            "{ peak = { hz = 120, q = 1, db = 1, colour = 2 } }",
            "colour",
        ),
        ("{ peak = { hz = 120, q = 1 } }", "db"),
    ] {
        let error = read(line).unwrap_err();
        assert!(error.contains(word), "{error}");
        // The line of the file is named as well.
        assert!(error.contains("line"), "{error}");
    }
    let error = Loudspeaker::parse(PLAIN).unwrap_err();
    assert!(error.contains("acoustic"), "{error}");
}
