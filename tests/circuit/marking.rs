//! What is printed on a part: colour bands, letter codes, digit codes, voltage codes, against the
//! published lists of IEC 60062 in full, and there and back over the preferred values of IEC 60063.
//!
//! The standards were not seen; each list says what it rests on.

use engine::units::Series;
use engine::units::marking::{
    Bands, Colour, MarkingError, Tolerance, bands, capacitance_code, capacitor_code, read_bands,
    read_capacitance_code, read_capacitor_code, read_resistance_code, read_voltage_code,
    resistance_code, voltage_code,
};

fn named(name: &str) -> Colour {
    let found = Colour::ALL.into_iter().find(|c| c.name() == name);
    found.unwrap_or_else(|| panic!("no colour {name}"))
}

fn plain(ohms: f64, tolerance: f64) -> Bands {
    Bands {
        ohms,
        tolerance,
        temperature_coefficient: None,
    }
}

fn words(bands: &[Colour]) -> String {
    let names: Vec<&str> = bands.iter().map(|c| c.name()).collect();
    names.join("-")
}

/// IEC 60062, the table of colours, in full (from memory): digit, power of ten, tolerance in per
/// cent, temperature coefficient in 10⁻⁶ a kelvin.
type Row = (&'static str, Option<u32>, i32, Option<f64>, Option<u32>);
const COLOURS: [Row; 12] = [
    ("black", Some(0), 0, None, Some(250)),
    ("brown", Some(1), 1, Some(1.0), Some(100)),
    ("red", Some(2), 2, Some(2.0), Some(50)),
    ("orange", Some(3), 3, Some(0.05), Some(15)),
    ("yellow", Some(4), 4, Some(0.02), Some(25)),
    ("green", Some(5), 5, Some(0.5), Some(20)),
    ("blue", Some(6), 6, Some(0.25), Some(10)),
    ("violet", Some(7), 7, Some(0.1), Some(5)),
    ("grey", Some(8), 8, Some(0.01), Some(1)),
    ("white", Some(9), 9, None, None),
    ("gold", None, -1, Some(5.0), None),
    ("silver", None, -2, Some(10.0), None),
];

#[test]
fn colours_as_published() {
    assert_eq!(Colour::ALL.len(), COLOURS.len());
    for (name, digit, power, percent, coefficient) in COLOURS {
        let colour = named(name);
        assert_eq!(colour.digit(), digit, "{name}");
        assert_eq!(colour.power(), power, "{name}");
        assert_eq!(colour.tolerance(), percent.map(|p| p / 100.0), "{name}");
        assert_eq!(colour.temperature_coefficient(), coefficient, "{name}");
    }
}

/// Usual values of a guitar amplifier (from memory, and computed by hand from the table above).
#[test]
fn usual_resistors() {
    for (ohms, tolerance, digits, expected) in [
        (68e3, 0.05, 2, "blue-grey-orange-gold"),
        (100e3, 0.01, 3, "brown-black-black-orange-brown"),
        (1500.0, 0.05, 2, "brown-green-red-gold"),
        (220e3, 0.05, 2, "red-red-yellow-gold"),
        (1e6, 0.05, 2, "brown-black-green-gold"),
        (470.0, 0.05, 2, "yellow-violet-brown-gold"),
        (470.0, 0.02, 3, "yellow-violet-black-black-red"),
        (4.7, 0.05, 2, "yellow-violet-gold-gold"),
        (0.47, 0.1, 2, "yellow-violet-silver-silver"),
        (4.75, 0.01, 3, "yellow-violet-green-silver-brown"),
        (22e6, 0.1, 2, "red-red-blue-silver"),
        (10.0, 0.2, 2, "brown-black-black"),
    ] {
        let found = bands(&plain(ohms, tolerance), digits).unwrap();
        assert_eq!(words(&found), expected, "{ohms}");
    }
    let six = Bands {
        temperature_coefficient: Some(50),
        ..plain(4990.0, 0.001)
    };
    let found = bands(&six, 3).unwrap();
    assert_eq!(words(&found), "yellow-white-white-brown-violet-red");
    assert_eq!(read_bands(&found), Ok(six));
}

/// Every value of a series in every decade that a marking reaches, there and back.
#[test]
fn preferred_values_survive_their_bands() {
    let mut seen = 0;
    for (series, digits, decades, tolerances) in [
        (Series::E24, 2, -1..=9, [0.05, 0.1, 0.2]),
        (Series::E96, 3, 0..=9, [0.01, 0.02, 0.005]),
        (Series::E192, 3, 0..=9, [0.0025, 0.001, 0.0001]),
    ] {
        for decade in decades {
            for hundredths in series.hundredths() {
                for tolerance in tolerances {
                    let ohms: f64 = format!("{hundredths}e{}", decade - 2).parse().unwrap();
                    let value = plain(ohms, tolerance);
                    let found = bands(&value, digits).unwrap();
                    let count = digits + 2 - usize::from(tolerance == 0.2);
                    assert_eq!(found.len(), count);
                    assert_eq!(read_bands(&found), Ok(value), "{}", words(&found));
                    seen += 1;
                }
            }
        }
    }
    assert_eq!(seen, 3 * (11 * 24 + 10 * (96 + 192)));
}

#[test]
fn what_bands_cannot_show_is_refused_and_never_rounded() {
    let of = |ohms, tolerance, digits| bands(&plain(ohms, tolerance), digits).unwrap_err();
    assert_eq!(
        of(1540.0, 0.05, 2),
        MarkingError::TooManyDigits { shown: 2 }
    );
    assert_eq!(
        of(15_430.0, 0.01, 3),
        MarkingError::TooManyDigits { shown: 3 }
    );
    assert_eq!(of(0.047, 0.05, 2), MarkingError::OutOfReach);
    assert_eq!(of(0.47, 0.01, 3), MarkingError::OutOfReach);
    assert_eq!(of(1e12, 0.05, 2), MarkingError::OutOfReach);
    assert_eq!(of(1e3, 0.03, 2), MarkingError::NoSign);
    assert_eq!(of(1e3, 0.2, 3), MarkingError::NoSign);
    for nothing in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(of(nothing, 0.05, 2), MarkingError::NoValue);
        assert_eq!(resistance_code(nothing, None), Err(MarkingError::NoValue));
        assert_eq!(capacitor_code(nothing, 2), Err(MarkingError::NoValue));
    }
    assert_eq!(of(1e3, f64::NAN, 2), MarkingError::NoSign);
    let coefficient = Bands {
        temperature_coefficient: Some(7),
        ..plain(1e3, 0.01)
    };
    assert_eq!(bands(&coefficient, 3), Err(MarkingError::NoSign));
    for wrong in ["gold-brown-red-gold", "brown-black", "red-red-red-white"] {
        let colours: Vec<Colour> = wrong.split('-').map(named).collect();
        assert_eq!(
            read_bands(&colours),
            Err(MarkingError::Malformed),
            "{wrong}"
        );
    }
}

/// Letter codes of resistors: the first five seen in the examples of a package that reads them, the
/// rest by the same rule from memory.
#[test]
fn letter_codes_of_resistors() {
    for (ohms, code) in [
        (0.47, "R47"),
        (4.7, "4R7"),
        (470.0, "470R"),
        (4700.0, "4K7"),
        (47e3, "47K"),
        (0.1, "R1"),
        (0.047, "R047"),
        (1.0, "1R"),
        (1e3, "1K"),
        (12_100.0, "12K1"),
        (100e3, "100K"),
        (1e6, "1M"),
        (2.2e6, "2M2"),
        (22e6, "22M"),
        (1e9, "1G"),
        (5.9e12, "5T9"),
        (4_990.0, "4K99"),
        (59_040.0, "59K04"),
    ] {
        assert_eq!(resistance_code(ohms, None).unwrap(), code);
        assert_eq!(read_resistance_code(code), Ok((ohms, None)));
    }
    let five = Some(Tolerance::Share(0.05));
    assert_eq!(resistance_code(4700.0, five).unwrap(), "4K7J");
    assert_eq!(read_resistance_code("4K7J"), Ok((4700.0, five)));
    assert_eq!(
        resistance_code(59_045.0, None),
        Err(MarkingError::TooManyDigits { shown: 4 })
    );
    assert_eq!(resistance_code(1e15, None), Err(MarkingError::OutOfReach));
    let uneven = Some(Tolerance::Uneven(0.2, 0.8));
    assert_eq!(resistance_code(1e3, uneven).unwrap(), "1KZ");
    // "4m7" is no resistor, and neither is nothing.
    for wrong in [
        "", "R", "K", "4m7", "4K7Q", "4K7JJ", "47", "4K7é", "0R0", "123456K", "4.7K",
    ] {
        assert_eq!(
            read_resistance_code(wrong),
            Err(MarkingError::Malformed),
            "{wrong}"
        );
    }
}

/// Letter codes of capacitors (p33 and 2µ2 from memory, the others seen).
#[test]
fn letter_codes_of_capacitors() {
    for (farads, code) in [
        (0.33e-12, "p33"),
        (4.7e-9, "4n7"),
        (22e-9, "22n"),
        (100e-9, "100n"),
        (2.2e-6, "2µ2"),
        (330e-12, "330p"),
        (1e-12, "1p"),
        (47e-6, "47µ"),
        (10e-3, "10m"),
        (1.5, "1F5"),
    ] {
        assert_eq!(capacitance_code(farads, None).unwrap(), code);
        assert_eq!(read_capacitance_code(code), Ok((farads, None)));
    }
    assert_eq!(read_capacitance_code("2u2"), Ok((2.2e-6, None)));
    let ten = Some(Tolerance::Share(0.1));
    assert_eq!(capacitance_code(22e-9, ten).unwrap(), "22nK");
    assert_eq!(read_capacitance_code("22nK"), Ok((22e-9, ten)));
    // One letter, two meanings, on either side of 10 pF.
    let small = Some(Tolerance::Farads(0.25e-12));
    assert_eq!(read_capacitance_code("4p7C"), Ok((4.7e-12, small)));
    assert_eq!(capacitance_code(4.7e-12, small).unwrap(), "4p7C");
    let share = Some(Tolerance::Share(0.0025));
    assert_eq!(read_capacitance_code("10pC"), Ok((10e-12, share)));
    for wrong in ["22", "n", "22nA", "4p7J"] {
        assert_eq!(
            read_capacitance_code(wrong),
            Err(MarkingError::Malformed),
            "{wrong}"
        );
    }
}

#[test]
fn preferred_values_survive_their_letter_codes() {
    for series in [Series::E24, Series::E192] {
        for hundredths in series.hundredths() {
            for exponent in -3..=11 {
                let ohms: f64 = format!("{hundredths}e{}", exponent - 2).parse().unwrap();
                if let Ok(code) = resistance_code(ohms, None) {
                    assert_eq!(read_resistance_code(&code), Ok((ohms, None)), "{code}");
                } else {
                    assert!(ohms < 0.1, "{ohms}");
                }
            }
            for exponent in -12..=-2 {
                let farads: f64 = format!("{hundredths}e{}", exponent - 2).parse().unwrap();
                let code = capacitance_code(farads, None).unwrap();
                assert_eq!(read_capacitance_code(&code), Ok((farads, None)), "{code}");
            }
        }
    }
}

/// IEC 60062, tolerance letters (B C D F G J K seen on a resistor maker's sheet, the others from
/// memory): per cent, and picofarads below 10 pF.
#[test]
fn tolerance_letters_as_published() {
    for (letter, percent) in [
        ('L', 0.01),
        ('P', 0.02),
        ('W', 0.05),
        ('B', 0.1),
        ('C', 0.25),
        ('D', 0.5),
        ('F', 1.0),
        ('G', 2.0),
        ('J', 5.0),
        ('K', 10.0),
        ('M', 20.0),
        ('N', 30.0),
    ] {
        let Some(Tolerance::Share(share)) = Tolerance::of_resistor(letter) else {
            panic!("{letter}");
        };
        assert!((100.0 * share / percent - 1.0).abs() < 1e-12, "{letter}");
        assert_eq!(Tolerance::Share(percent / 100.0).letter(), Some(letter));
        assert_eq!(
            Tolerance::of_capacitor(letter, 1e-9),
            Tolerance::of_resistor(letter)
        );
    }
    for (letter, down, up) in [
        ('Q', 0.1, 0.3),
        ('T', 0.1, 0.5),
        ('S', 0.2, 0.5),
        ('Z', 0.2, 0.8),
    ] {
        let uneven = Tolerance::Uneven(down, up);
        assert_eq!(uneven.letter(), Some(letter));
        assert_eq!(Tolerance::of_capacitor(letter, 22e-6), Some(uneven));
        assert_eq!(Tolerance::of_resistor(letter), None);
    }
    for (letter, farads) in [
        ('B', 0.1e-12),
        ('C', 0.25e-12),
        ('D', 0.5e-12),
        ('F', 1e-12),
        ('G', 2e-12),
    ] {
        let absolute = Tolerance::Farads(farads);
        assert_eq!(absolute.letter(), Some(letter));
        assert_eq!(Tolerance::of_capacitor(letter, 9.1e-12), Some(absolute));
    }
    assert_eq!(Tolerance::Share(0.07).letter(), None);
    assert_eq!(Tolerance::Share(f64::NAN).letter(), None);
}

/// Digit codes in picofarads (from memory): 8 stands for × 0.01, 9 for × 0.1.
#[test]
fn digit_codes_as_published() {
    for (code, farads) in [
        ("104", 100e-9),
        ("223", 22e-9),
        ("473", 47e-9),
        ("251", 250e-12),
        ("471", 470e-12),
        ("682", 6.8e-9),
        ("100", 10e-12),
        ("479", 4.7e-12),
        ("478", 0.47e-12),
        ("105", 1e-6),
        ("226", 22e-6),
        ("997", 990e-6),
    ] {
        assert_eq!(read_capacitor_code(code), Ok(farads));
        assert_eq!(capacitor_code(farads, 2).unwrap(), code);
    }
    assert_eq!(capacitor_code(1.02e-9, 3).unwrap(), "1021");
    assert_eq!(read_capacitor_code("1021"), Ok(1.02e-9));
    assert_eq!(
        capacitor_code(1.02e-9, 2),
        Err(MarkingError::TooManyDigits { shown: 2 })
    );
    assert_eq!(capacitor_code(1e-3, 2), Err(MarkingError::OutOfReach));
    assert_eq!(capacitor_code(0.01e-12, 2), Err(MarkingError::OutOfReach));
    for wrong in ["", "10", "10n", "000", "00004", "-04"] {
        assert_eq!(
            read_capacitor_code(wrong),
            Err(MarkingError::Malformed),
            "{wrong}"
        );
    }
    for hundredths in Series::E24.hundredths() {
        for exponent in -12..=-5 {
            let farads: f64 = format!("{hundredths}e{}", exponent - 2).parse().unwrap();
            let code = capacitor_code(farads, 2).unwrap();
            assert_eq!(read_capacitor_code(&code), Ok(farads), "{code}");
        }
    }
}

/// Codes of rated voltages (from memory).
#[test]
fn voltage_codes_as_published() {
    for (code, volts) in [
        ("0J", 6.3),
        ("1A", 10.0),
        ("1C", 16.0),
        ("1E", 25.0),
        ("1V", 35.0),
        ("1H", 50.0),
        ("1J", 63.0),
        ("1K", 80.0),
        ("2A", 100.0),
        ("2B", 125.0),
        ("2C", 160.0),
        ("2D", 200.0),
        ("2E", 250.0),
        ("2F", 315.0),
        ("2V", 350.0),
        ("2G", 400.0),
        ("2W", 450.0),
        ("2H", 500.0),
        ("2J", 630.0),
        ("3A", 1000.0),
    ] {
        assert_eq!(read_voltage_code(code), Ok(volts));
        assert_eq!(voltage_code(volts).unwrap(), code);
    }
    assert_eq!(voltage_code(37.0), Err(MarkingError::NoSign));
    assert_eq!(voltage_code(f64::NAN), Err(MarkingError::NoSign));
    for wrong in ["", "2", "22", "2Z", "9A", "2AA"] {
        assert_eq!(
            read_voltage_code(wrong),
            Err(MarkingError::Malformed),
            "{wrong}"
        );
    }
}
