//! Tolerance letters of IEC 60062: symmetric, asymmetric, and in picofarads below 10 pF.
//!
//! B C D F G J K were seen on a resistor maker's sheet; all others are from memory. The letters A
//! and E for closer tolerances than L are left out: what is remembered of them is doubtful, and no
//! part of a guitar amplifier carries them.

use super::EXACT;

/// How far a part may be from its marked value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Tolerance {
    /// Either way, as a share: 0.05 is ±5 %.
    Share(f64),
    /// Differently down and up, as shares: −20 % +80 % is (0.2, 0.8).
    Uneven(f64, f64),
    /// Either way, F; for capacitors below 10 pF.
    Farads(f64),
}

const SHARES: [(char, f64); 12] = [
    ('L', 0.0001),
    ('P', 0.0002),
    ('W', 0.0005),
    ('B', 0.001),
    ('C', 0.0025),
    ('D', 0.005),
    ('F', 0.01),
    ('G', 0.02),
    ('J', 0.05),
    ('K', 0.1),
    ('M', 0.2),
    ('N', 0.3),
];

const UNEVEN: [(char, f64, f64); 4] = [
    ('Q', 0.1, 0.3),
    ('T', 0.1, 0.5),
    ('S', 0.2, 0.5),
    ('Z', 0.2, 0.8),
];

const FARADS: [(char, f64); 5] = [
    ('B', 0.1e-12),
    ('C', 0.25e-12),
    ('D', 0.5e-12),
    ('F', 1e-12),
    ('G', 2e-12),
];

/// Below this the letters of a capacitor mean picofarads, F.
const SMALL_FARADS: f64 = 10e-12;

impl Tolerance {
    /// Its letter; none where there is no letter for it.
    pub fn letter(self) -> Option<char> {
        let same = |a: f64, b: f64| (a / b - 1.0).abs() < EXACT;
        let find = |table: &[(char, f64)], value: f64| {
            table.iter().find(|t| same(t.1, value)).map(|t| t.0)
        };
        match self {
            Tolerance::Share(share) => find(&SHARES, share),
            Tolerance::Farads(farads) => find(&FARADS, farads),
            Tolerance::Uneven(down, up) => {
                let alike = |t: &&(char, f64, f64)| same(t.1, down) && same(t.2, up);
                UNEVEN.iter().find(alike).map(|t| t.0)
            }
        }
    }

    /// What a letter means on a resistor.
    pub fn of_resistor(letter: char) -> Option<Tolerance> {
        let found = SHARES.iter().find(|t| t.0 == letter);
        found.map(|t| Tolerance::Share(t.1))
    }

    /// What a letter means on a capacitor of so many farads.
    pub fn of_capacitor(letter: char, farads: f64) -> Option<Tolerance> {
        if farads < SMALL_FARADS * (1.0 - EXACT) {
            let found = FARADS.iter().find(|t| t.0 == letter);
            return found.map(|t| Tolerance::Farads(t.1));
        }
        let uneven = UNEVEN.iter().find(|t| t.0 == letter);
        let uneven = uneven.map(|t| Tolerance::Uneven(t.1, t.2));
        uneven.or_else(|| Tolerance::of_resistor(letter))
    }
}
