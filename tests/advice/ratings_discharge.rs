//! What stays charged, against hand-worked cases: bleed resistors, chains, separate supplies.

use crate::printed::{capacitor, resistor, supply};
use crate::ratings_fixture::{circuit, near, report};
use engine::advice::ratings::duration;

/// Seconds to 60 V and joules of one capacitor behind a bleed resistor, worked by hand as
/// R·C·ln(V/60) and C·V²/2: 47 µF, 450 V, 220k: 20.8 s, 4.76 J, and three more.
#[test]
fn a_bleed_resistor_empties_a_reservoir() {
    for (farads, volts, ohms, seconds, joules) in [
        (47e-6, 450.0, 220e3, 20.8, 4.76),
        (100e-6, 350.0, 220e3, 38.8, 6.13),
        (150e-6, 450.0, 100e3, 30.2, 15.2),
        (50e-6, 400.0, 470e3, 44.6, 4.0),
    ] {
        // The supply stands for a rectifier that blocks when the amp is off. The worst voltage is
        // at mains 10 % high.
        let parts = supply("HT", volts / 1.1, "ht")
            + &capacitor("C1", farads, "ht", "gnd")
            + &resistor("R1", ohms, "ht", "gnd");
        let found = report(&circuit(&parts));
        let [reservoir] = found.reservoirs.as_slice() else {
            panic!("one reservoir: {:?}", found.reservoirs)
        };
        // Figures worked by hand have three digits.
        near(reservoir.volts, volts, 1e-4);
        near(reservoir.joules, joules, 2e-3);
        let took = reservoir.seconds.expect("it empties");
        near(took, seconds, 3e-3);
        // The steps themselves err by less than a thousandth.
        near(took, ohms * farads * (volts / 60.0).ln(), 1e-3);
        assert_eq!(reservoir.through, ["R1"]);
        assert!(reservoir.in_words.contains("through R1"));
    }
}

/// Two capacitors and two resistors in a chain have two time constants; the exact course is the sum
/// of two exponentials.
#[test]
fn a_chain_of_capacitors_empties_by_its_own_time_constants() {
    let (volts, c1, c2, r1, r2) = (400.0, 47e-6, 22e-6, 100e3, 150e3);
    let parts = supply("HT", volts / 1.1, "h1")
        + &capacitor("C1", c1, "h1", "gnd")
        + &resistor("R1", r1, "h1", "h2")
        + &capacitor("C2", c2, "h2", "gnd")
        + &resistor("R2", r2, "h2", "gnd");
    let found = report(&circuit(&parts));
    // Where it begins: C2 behind the divider of R1 and R2.
    let second = volts * r2 / (r1 + r2);
    let a = [
        [-1.0 / (r1 * c1), 1.0 / (r1 * c1)],
        [1.0 / (r1 * c2), -(1.0 / r1 + 1.0 / r2) / c2],
    ];
    let (trace, det) = (a[0][0] + a[1][1], a[0][0] * a[1][1] - a[0][1] * a[1][0]);
    let root = (trace * trace / 4.0 - det).sqrt();
    let [fast, slow] = [trace / 2.0 - root, trace / 2.0 + root];
    // v1' at the start fixes the two weights.
    let slope = a[0][0] * volts + a[0][1] * second;
    let weight = (slope - fast * volts) / (slow - fast);
    let v1 = |t: f64| weight * (slow * t).exp() + (volts - weight) * (fast * t).exp();
    let (mut low, mut high) = (0.0, 1e3);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if v1(middle) > 60.0 {
            low = middle
        } else {
            high = middle
        }
    }
    let c1 = found
        .reservoirs
        .iter()
        .find(|r| r.designator == "C1")
        .expect("C1");
    near(c1.seconds.expect("it empties"), low, 1e-3);
}

/// What drains one capacitor is not named for another that it is not joined to.
#[test]
fn each_reservoir_names_what_drains_it() {
    let parts = supply("HT", 400.0, "ht")
        + &capacitor("C1", 47e-6, "ht", "gnd")
        + &resistor("R1", 220e3, "ht", "gnd")
        + "NEG = { bias_supply = \"-80 V\", node = \"neg\" }\n"
        + &capacitor("C2", 22e-6, "gnd", "neg")
        + &resistor("R2", 100e3, "neg", "bias")
        + &resistor("R3", 10e3, "bias", "gnd");
    let found = report(&circuit(&parts));
    let of = |name: &str| {
        found
            .reservoirs
            .iter()
            .find(|r| r.designator == name)
            .expect(name)
    };
    assert_eq!(
        (of("C1").through.as_slice(), of("C2").through.as_slice()),
        (["R1".to_string()].as_slice(), ["R2".to_string()].as_slice())
    );
    // 110 kΩ · 22 µF · ln(88/60), worked by hand.
    near(of("C2").seconds.expect("it empties"), 0.9268, 2e-3);
    near(
        of("C1").seconds.expect("it empties"),
        220e3 * 47e-6 * (440.0_f64 / 60.0).ln(),
        1e-3,
    );
}

#[test]
fn what_nothing_drains_stays_charged_and_little_is_left_out() {
    let parts = supply("HT", 300.0, "ht")
        + &capacitor("C1", 32e-6, "ht", "gnd")
        // 0.1 µF at 330 V is 33 µC, below the 45 µC of IEC 60335-1 (seen as a quotation).
        + &capacitor("C2", 0.1e-6, "ht", "gnd");
    let found = report(&circuit(&parts));
    let names: Vec<&str> = found
        .reservoirs
        .iter()
        .map(|r| r.designator.as_str())
        .collect();
    assert_eq!(names, ["C1"]);
    assert_eq!(found.reservoirs[0].seconds, None);
    assert!(found.reservoirs[0].in_words.contains("hours or days"));
    assert_eq!(duration(20.8), "21 s");
    assert_eq!(duration(0.2), "less than a second");
    assert_eq!(duration(240.0), "4.0 min");
}
