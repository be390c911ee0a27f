//! Against print: networks without valves. The three-knob tone network, the loudspeaker, a bias
//! supply's divider.

use crate::printed::{capacitor, gain_at, position, resistor, solved, solved_with, volts};
use engine::device::{Catalogue, Loudspeaker};
use engine::solve::SmallSignal;
use num_complex::Complex64;
use std::f64::consts::TAU;
use std::sync::Arc;

/// Three-knob passive tone network: slope resistor `r4`, treble, bass and middle pots `r1`, `r2`,
/// `r3`, treble, bass and middle capacitors `c1`, `c2`, `c3`.
#[derive(Clone, Copy)]
struct ThreeKnobs {
    c: [f64; 3],
    r: [f64; 4],
}

/// Component values of the paper below, from memory.
const SET_A: ThreeKnobs = ThreeKnobs {
    c: [250e-12, 20e-9, 20e-9],
    r: [250e3, 1e6, 25e3, 56e3],
};
/// Values of our own: no round ratios, so that a term in the wrong place shows.
const SET_B: ThreeKnobs = ThreeKnobs {
    c: [390e-12, 68e-9, 33e-9],
    r: [470e3, 500e3, 20e3, 91e3],
};

impl ThreeKnobs {
    /// Coefficients `[b1, b2, b3]`, `[a1, a2, a3]` of the closed form
    /// `H(s) = (b1·s + b2·s² + b3·s³)/(1 + a1·s + a2·s² + a3·s³)`: D. T. Yeh, J. O. Smith,
    /// DAFx-06, Montreal, 2006, pp. 1-6 (from memory; they agreed to 6e-13 with an independent
    /// nodal analysis of 2000 random sets).
    fn coefficients(&self, t: f64, m: f64, l: f64) -> ([f64; 3], [f64; 3]) {
        let [c1, c2, c3] = self.c;
        let [r1, r2, r3, r4] = self.r;
        let ccc = c1 * c2 * c3;
        let mm = m * m;
        let (lm, tm, tl) = (l * m, t * m, t * l);
        let b1 = t * c1 * r1 + m * c3 * r3 + l * (c1 * r2 + c2 * r2) + (c1 * r3 + c2 * r3);
        let b2 = t * (c1 * c2 * r1 * r4 + c1 * c3 * r1 * r4)
            - mm * (c1 * c3 * r3 * r3 + c2 * c3 * r3 * r3)
            + m * (c1 * c3 * r1 * r3 + c1 * c3 * r3 * r3 + c2 * c3 * r3 * r3)
            + l * (c1 * c2 * r1 * r2 + c1 * c2 * r2 * r4 + c1 * c3 * r2 * r4)
            + lm * (c1 * c3 * r2 * r3 + c2 * c3 * r2 * r3)
            + (c1 * c2 * r1 * r3 + c1 * c2 * r3 * r4 + c1 * c3 * r3 * r4);
        let b3 = lm * ccc * (r1 * r2 * r3 + r2 * r3 * r4)
            - mm * ccc * (r1 * r3 * r3 + r3 * r3 * r4)
            + m * ccc * (r1 * r3 * r3 + r3 * r3 * r4)
            + t * ccc * r1 * r3 * r4
            - tm * ccc * r1 * r3 * r4
            + tl * ccc * r1 * r2 * r4;
        let a1 = (c1 * r1 + c1 * r3 + c2 * r3 + c2 * r4 + c3 * r4)
            + m * c3 * r3
            + l * (c1 * r2 + c2 * r2);
        let a2 = m
            * (c1 * c3 * r1 * r3 - c2 * c3 * r3 * r4 + c1 * c3 * r3 * r3 + c2 * c3 * r3 * r3)
            + lm * (c1 * c3 * r2 * r3 + c2 * c3 * r2 * r3)
            - mm * (c1 * c3 * r3 * r3 + c2 * c3 * r3 * r3)
            + l * (c1 * c2 * r2 * r4 + c1 * c2 * r1 * r2 + c1 * c3 * r2 * r4 + c2 * c3 * r2 * r4)
            + (c1 * c2 * r1 * r4 + c1 * c3 * r1 * r4 + c1 * c2 * r3 * r4 + c1 * c2 * r1 * r3)
            + (c1 * c3 * r3 * r4 + c2 * c3 * r3 * r4);
        let a3 = lm * ccc * (r1 * r2 * r3 + r2 * r3 * r4)
            - mm * ccc * (r1 * r3 * r3 + r3 * r3 * r4)
            + m * ccc * (r3 * r3 * r4 + r1 * r3 * r3 - r1 * r3 * r4)
            + l * ccc * r1 * r2 * r4
            + ccc * r1 * r3 * r4;
        ([b1, b2, b3], [a1, a2, a3])
    }

    fn decibels(&self, [t, m, l]: [f64; 3], hz: f64) -> f64 {
        let ([b1, b2, b3], [a1, a2, a3]) = self.coefficients(t, m, l);
        let s = Complex64::new(0.0, TAU * hz);
        let up = ((b3 * s + b2) * s + b1) * s;
        let down = ((a3 * s + a2) * s + a1) * s + 1.0;
        20.0 * (up / down).norm().log10()
    }

    /// The network as a circuit, without load, from the jack.
    fn solved(&self, [t, m, l]: [f64; 3]) -> crate::solved::Solved {
        let pot = |name: &str, ohms: f64, from: &str, to: &str, wiper: &str, set: f64| {
            format!(
                "{name} = {{ pot = {ohms:e}, taper = \"linear\", from = \"{from}\", to = \"{to}\", wiper = \"{wiper}\", set = {set:?} }}\n"
            )
        };
        let parts = [
            capacitor("C1", self.c[0], "in", "top"),
            pot("VR1", self.r[0], "top", "a", "out", t),
            resistor("R4", self.r[3], "in", "b"),
            capacitor("C2", self.c[1], "b", "a"),
            capacitor("C3", self.c[2], "b", "w"),
            // A rheostat: the wiper is tied to the upper end.
            pot("VR2", self.r[1], "a", "mid", "a", l),
            pot("VR3", self.r[2], "mid", "gnd", "w", m),
        ];
        solved("out", &parts.concat())
    }
}

const TABLE_HZ: [f64; 8] = [40.0, 100.0, 200.0, 500.0, 1e3, 2e3, 5e3, 10e3];

#[test]
fn three_knobs_closed_form_and_network() {
    // Figures worked by hand from the closed form.
    let (b, a) = SET_A.coefficients(0.5, 0.5, 0.5);
    for (value, printed) in b.into_iter().chain(a).zip([
        0.0109125,
        3.63040625e-6,
        5.5478125e-10,
        0.01318375,
        1.518040625e-5,
        9.1353125e-10,
    ]) {
        assert!((value / printed - 1.0).abs() < 1e-9, "{value} {printed}");
    }
    for (knobs, printed) in [
        (
            [0.5; 3],
            [-1.60, -2.80, -5.89, -11.51, -11.75, -8.28, -5.29, -4.59],
        ),
        (
            [1.0; 3],
            [-0.96, -2.85, -6.04, -9.05, -7.09, -3.61, -0.87, -0.24],
        ),
        (
            [0.0; 3],
            [
                -19.38, -15.48, -14.67, -15.65, -18.24, -22.08, -28.34, -33.91,
            ],
        ),
    ] {
        for (hz, printed) in TABLE_HZ.into_iter().zip(printed) {
            let value = SET_A.decibels(knobs, hz);
            assert!(
                (value - printed).abs() <= 0.0051,
                "{knobs:?} {hz} Hz: {value} {printed}"
            );
        }
    }
    assert!((SET_A.decibels([0.5; 3], 723.2) + 12.424).abs() < 0.0006);
    // The jack's 1 Ω and the pots' 1 Ω at each end are not in the closed form. Four of them beside
    // the smallest resistance in their way, 20 kΩ, are 2e-4, which is 2e-3 dB.
    for set in [SET_A, SET_B] {
        for knobs in [
            [0.5; 3],
            [1.0; 3],
            [0.0; 3],
            [1.0, 0.0, 0.0],
            [0.0, 1.0, 0.3],
            [0.2, 0.9, 1.0],
            [0.7, 0.1, 0.05],
        ] {
            let bench = set.solved(knobs);
            for hz in TABLE_HZ {
                let measured = 20.0 * gain_at(&bench, "out", hz).log10();
                let expected = set.decibels(knobs, hz);
                assert!(
                    (measured - expected).abs() < 2e-3,
                    "{knobs:?} {hz} Hz: {measured} {expected}"
                );
            }
        }
    }
}

/// R. H. Small, "Direct-Radiator Loudspeaker System Analysis", JAES 20(5), 383-395, 1972 (from
/// memory); figures worked by hand for an invented driver.
#[test]
fn loudspeaker_impedance() {
    let mut catalogue = Catalogue::built_in();
    let driver = |coil_henries: f64| Loudspeaker {
        name: "Worked Example".into(),
        coil_ohms: 6.5,
        coil_henries,
        lossy_henries: 0.0,
        resonance_hz: 95.0,
        mechanical_q: 10.0,
        electrical_q: 1.3,
        ..(*catalogue.loudspeakers[0]).clone()
    };
    let (with, without) = (driver(0.5e-3), driver(0.0));
    let close = |value: f64, printed: f64, share: f64| {
        assert!((value / printed - 1.0).abs() <= share, "{value} {printed}")
    };
    close(with.motional_ohms(), 50.0, 1e-12);
    close(with.motional_farads(), 335.06e-6, 2e-5);
    close(with.motional_henries(), 8.377e-3, 7e-5);
    let total_q = 1.0 / (1.0 / with.mechanical_q + 1.0 / with.electrical_q);
    close(total_q, 1.1504, 5e-5);

    let mut impedance = |driver: Loudspeaker, hz: f64| {
        catalogue.loudspeakers = vec![Arc::new(driver)];
        let parts = [
            resistor("R1", 1e3, "in", "gnd"),
            "LS1 = { loudspeaker = \"Worked Example\", between = [\"spk\", \"gnd\"] }\n".into(),
        ];
        let bench = solved_with(&catalogue, "LS1", &parts.concat());
        let at = position(&bench, "spk");
        let mut current = vec![Complex64::ZERO; bench.network.unknowns() + 1];
        current[at] = Complex64::ONE;
        SmallSignal::new(&bench.network, &bench.values, &bench.point).driven(hz, current)[at]
    };
    for (hz, printed) in [
        (20.0, 6.627),
        (50.0, 7.747),
        (80.0, 17.107),
        (95.0, 56.501),
        (110.0, 18.920),
        (150.0, 8.508),
        (400.0, 6.532),
        (1e3, 7.028),
        (5e3, 16.912),
        (10e3, 32.035),
    ] {
        let textbook = formula(&with, hz, 0.0).norm();
        assert!(
            (textbook - printed).abs() <= 0.0005,
            "{hz} Hz: {textbook} {printed}"
        );
        // The network's coils have a microhm at least, here beside the compliance.
        let measured = impedance(with.clone(), hz);
        let off = (measured - formula(&with, hz, 1e-6)).norm();
        assert!(off < 1e-6 * printed, "{hz} Hz: {measured} {printed}");
        close(measured.norm(), printed, 2e-4);
    }
    let degrees = impedance(with.clone(), 95.0).arg().to_degrees();
    assert!((degrees - 0.30).abs() < 0.006, "{degrees}");
    let degrees = impedance(with.clone(), 1e3).arg().to_degrees();
    assert!((degrees - 22.26).abs() < 0.006, "{degrees}");
    // Small's measurement: at f1 and f2 the impedance is the coil's times the root of r0.
    let r0: f64 = (6.5 + 50.0) / 6.5;
    for hz in [82.022, 110.031] {
        close(impedance(without.clone(), hz).norm(), 6.5 * r0.sqrt(), 1e-4);
    }
}

/// `Z = Re + jωLe + (1/Res + jωCmes + 1/(r + jωLces))⁻¹`.
fn formula(driver: &Loudspeaker, hz: f64, compliance_ohms: f64) -> Complex64 {
    let s = Complex64::new(0.0, TAU * hz);
    let motional = s * driver.motional_farads()
        + (s * driver.motional_henries() + compliance_ohms).inv()
        + 1.0 / driver.motional_ohms();
    s * driver.coil_henries + driver.coil_ohms + motional.inv()
}

/// A bias supply's divider, `V·Rb/(Ra + Rb)` with the source's own resistance in `Ra`.
#[test]
fn bias_divider() {
    let parts = [
        "BIAS = { bias_supply = \"-32 V\", node = \"feed\", resistance = \"1k\" }\n".into(),
        resistor("R1", 15e3, "feed", "bias"),
        resistor("R2", 22e3, "bias", "gnd"),
        resistor("R3", 1e6, "in", "gnd"),
    ];
    let bench = solved("bias", &parts.concat());
    let expected = -32.0 * 22.0 / 38.0;
    assert!((volts(&bench, "bias") - expected).abs() < 1e-6);
}
