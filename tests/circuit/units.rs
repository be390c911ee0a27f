//! Quantities: spellings, notation and preferred values.

use engine::units::{
    NotationError, Quantity, Series, dbu_from_volts, decibels_from_ratio, ratio_from_decibels,
    volts_from_dbu,
};
use proptest::prelude::*;

fn check(quantity: Quantity, spellings: &[&str], value: f64, canonical: &str) {
    for text in spellings {
        assert_eq!(quantity.parse(text), Ok(value), "{text}");
    }
    assert_eq!(quantity.format(value), canonical);
}

/// Spellings of IEC 60062 (examples seen in a package's documentation, facts of the trade
/// otherwise: common practice, no source).
#[test]
fn resistance_in_every_usual_spelling() {
    let q = Quantity::Resistance;
    check(
        q,
        &[
            "4k7",
            "4K7",
            "4.7k",
            "4,7k",
            "4700",
            "4.7 kΩ",
            "4.7 k\u{2126}",
            "4k7Ω",
            "4.7 kohm",
            "4.7e3",
            "4.7E+3",
            "4700R",
            "4700 ohms",
            "0.0047M",
            " 4k7 ",
            "+4k7",
            "4.7\u{a0}kΩ",
        ],
        4700.0,
        "4k7",
    );
    check(
        q,
        &["2M2", "2.2M", "2200k", "2.2 MΩ", "2200000"],
        2.2e6,
        "2M2",
    );
    check(
        q,
        &["R47", "0R47", "0.47", "0.47R", ".47", "0,47"],
        0.47,
        "R47",
    );
    check(q, &["470", "470R", "470 Ω", "0.47k", "k47"], 470.0, "470");
    check(q, &["1k", "1000", "1K0", "1.0k"], 1000.0, "1k");
    check(q, &["4R7", "4.7", "4r7"], 4.7, "4R7");
    check(q, &["1M", "1.0 MΩ"], 1e6, "1M");
    check(q, &["47k5"], 47500.0, "47k5");
}

#[test]
fn capacitance_in_every_usual_spelling() {
    let q = Quantity::Capacitance;
    check(
        q,
        &[
            "22n",
            "22nF",
            "22 nF",
            "0.022u",
            "0.022 \u{b5}F",
            "0.022 \u{3bc}F",
            "0.022uF",
            "0,022u",
            ".022u",
            "22000p",
            "22N",
            "0.022 mfd",
            "22e-9",
            "0.022U",
            "22 n",
        ],
        22e-9,
        "22n",
    );
    check(q, &["p33", "0.33p", "0p33"], 0.33e-12, "p33");
    check(q, &["1n5", "1.5n", "1500p"], 1.5e-9, "1n5");
    check(q, &["100p", "100 pF", "100P", "100 mmfd"], 100e-12, "100p");
    check(q, &["2u2", "2µ2", "2.2u", "2µ2F"], 2.2e-6, "2u2");
    check(q, &["47u", "47 µF"], 47e-6, "47u");
    check(q, &["1000u"], 1e-3, "1000u");
}

#[test]
fn other_quantities() {
    check(
        Quantity::RatedPower,
        &["0.5 W", "1/2 W", "0.5W", "500 mW"],
        0.5,
        "0.5 W",
    );
    check(
        Quantity::RatedVoltage,
        &["400 V", "400V", "0.4 kV", "400"],
        400.0,
        "400 V",
    );
    check(
        Quantity::Tolerance,
        &["5%", "5 %", "±5%", "0.05", "J"],
        0.05,
        "5%",
    );
    check(Quantity::Tolerance, &["0.1%", "B"], 0.001, "0.1%");
    check(
        Quantity::Current,
        &["10 mA", "0.01 A", "10mA"],
        0.01,
        "10 mA",
    );
    check(
        Quantity::BiasVoltage,
        &["-30", "-30 V", "\u{2212}30 V"],
        -30.0,
        "-30 V",
    );
    check(
        Quantity::Inductance,
        &["16 mH", "16m", "0.016", "16mH"],
        0.016,
        "16 mH",
    );
    check(Quantity::Inductance, &["20 H", "20"], 20.0, "20 H");
    check(Quantity::Share, &["0.5", "50%", "50 %"], 0.5, "0.5");
    check(
        Quantity::Frequency,
        &["1 kHz", "1000", "1k"],
        1000.0,
        "1 kHz",
    );
    check(Quantity::Level, &["-6 dB", "-6"], -6.0, "-6 dB");
}

#[test]
fn doubtful_and_wrong_spellings_are_refused_with_a_remedy() {
    let refused = |quantity: Quantity, text: &str, message: &str, remedy: &str| {
        let error = quantity.parse(text).expect_err(text);
        let (said, advice) = (error.to_string(), error.remedy());
        assert!(said.contains(message), "{text}: {said}");
        assert!(advice.contains(remedy), "{text}: {advice}");
    };
    let (r, c) = (Quantity::Resistance, Quantity::Capacitance);
    refused(r, "4m7", "doubtful", "4M7");
    refused(r, "4.7m", "doubtful", "4M7");
    refused(r, "4,700", "decimal comma", "4k7");
    refused(r, "47 nF", "nF", "4k7");
    refused(r, "22n", "doubtful", "4M7");
    refused(r, "47 V", "another unit", "4k7");
    refused(r, "four", "is not a resistance", "4k7");
    refused(r, "0", "is outside 0.1 Ω to 22 MΩ", "within");
    refused(r, "1e400", "is outside", "within");
    refused(c, "1m", "doubtful", "u for micro");
    refused(c, "1M", "doubtful", "u for micro");
    refused(Quantity::Inductance, "8M", "doubtful", "8 mH");
    refused(
        Quantity::Tolerance,
        "5",
        "is outside 0.01 % to 90 %",
        "within",
    );
    refused(
        Quantity::BiasVoltage,
        "30",
        "is outside -200 V to -0.1 V",
        "within",
    );
    for text in [
        "",
        " ",
        "k",
        "4k7k",
        "4k7 7",
        "4.7.1",
        "--4",
        "4e",
        "e3",
        "NaN",
        "inf",
        "0x10",
        "R",
        ".",
        "4/2",
        "1/0",
        "1e99999999999",
        "4k7\u{0}",
        "٤k٧",
    ] {
        assert!(
            matches!(
                r.parse(text),
                Err(NotationError::Malformed { .. } | NotationError::WrongUnit { .. })
            ),
            "{text}: {:?}",
            r.parse(text)
        );
    }
    assert!(Quantity::RatedPower.parse("1/0 W").is_err());
    assert!(r.parse(&"4".repeat(100_000)).is_err());
}

#[test]
fn tiny_values_print_and_read_back() {
    for (quantity, value, text) in [
        (Quantity::Level, 5.1e-43, "5.1e-43 dB"),
        (Quantity::Share, 5e-324, "5e-324"),
        (Quantity::SourceResistance, 1e-6, "R000001"),
        (Quantity::SourceResistance, 1e-7, "1e-7"),
        (Quantity::SourceVoltage, -1e-9, "-1e-9 V"),
    ] {
        assert_eq!(quantity.format(value), text);
        assert_eq!(quantity.parse(text), Ok(value));
    }
}

#[test]
fn words_for_reading() {
    assert_eq!(Quantity::Resistance.in_words(4700.0), "4.7 kΩ");
    assert_eq!(Quantity::Resistance.in_words(0.0), "0 Ω");
    assert_eq!(Quantity::Capacitance.in_words(22e-9), "22 nF");
    assert_eq!(Quantity::Capacitance.in_words(2.2e-6), "2.2 µF");
    assert_eq!(Quantity::Capacitance.in_words(1.0), "1000000 µF");
    assert_eq!(Quantity::Resistance.in_words(1e30), "1.000e30 Ω");
    assert_eq!(Quantity::Resistance.in_words(68_123.4), "68.12 kΩ");
    assert_eq!(Quantity::Tolerance.in_words(0.05), "5 %");
    assert_eq!(Quantity::SupplyVoltage.in_words(320.0), "320 V");
}

/// IEC 60063, as printed: E24 and its subsets, and E48 (seen; also checked against a package).
#[test]
fn preferred_values_as_published() {
    let list = |series: Series| series.hundredths().collect::<Vec<u16>>();
    let tens = |values: &[u16]| values.iter().map(|v| v * 10).collect::<Vec<u16>>();
    let e24 = [
        10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82,
        91,
    ];
    assert_eq!(list(Series::E3), tens(&[10, 22, 47]));
    assert_eq!(list(Series::E6), tens(&[10, 15, 22, 33, 47, 68]));
    assert_eq!(
        list(Series::E12),
        tens(&[10, 12, 15, 18, 22, 27, 33, 39, 47, 56, 68, 82])
    );
    assert_eq!(list(Series::E24), tens(&e24));
    let e48 = [
        100, 105, 110, 115, 121, 127, 133, 140, 147, 154, 162, 169, 178, 187, 196, 205, 215, 226,
        237, 249, 261, 274, 287, 301, 316, 332, 348, 365, 383, 402, 422, 442, 464, 487, 511, 536,
        562, 590, 619, 649, 681, 715, 750, 787, 825, 866, 909, 953,
    ];
    assert_eq!(list(Series::E48), e48);
    // E48 to E192 are 100·10^(i/N) rounded; the one printed exception is 920 for 919.
    for series in [Series::E48, Series::E96, Series::E192] {
        let n = series.count();
        let computed: Vec<u16> = (0..n)
            .map(|i| (100.0 * 10f64.powf(i as f64 / n as f64)).round() as u16)
            .map(|v| if n == 192 && v == 919 { 920 } else { v })
            .collect();
        assert_eq!(list(series), computed);
    }
    // E24 differs from 10·10^(i/24) rounded at 27 30 33 36 39 43 47 (one up) and 82 (one down).
    let differing: Vec<u16> = (0..24)
        .filter(|&i| e24[i] != (10.0 * 10f64.powf(i as f64 / 24.0)).round() as u16)
        .map(|i| e24[i])
        .collect();
    assert_eq!(differing, [27, 30, 33, 36, 39, 43, 47, 82]);
}

#[test]
fn steps_along_a_series() {
    assert_eq!(Series::E12.nearest(4600.0), 4700.0);
    assert_eq!(Series::E12.nearest(9.3), 10.0);
    assert_eq!(Series::E12.nearest(22e-9), 22e-9);
    assert_eq!(Series::E12.next(4700.0), 5600.0);
    assert_eq!(Series::E12.next(5000.0), 5600.0);
    assert_eq!(Series::E12.next(8200.0), 10e3);
    assert_eq!(Series::E12.previous(10e3), 8200.0);
    assert_eq!(Series::E12.previous(5000.0), 4700.0);
    assert_eq!(Series::E3.previous(1e-6), 0.47e-6);
    assert!(Series::E24.contains(910.0) && !Series::E12.contains(910.0));
    assert!(!Series::E24.contains(0.0) && !Series::E24.contains(f64::NAN));
}

#[test]
fn decibels() {
    assert!((decibels_from_ratio(10.0) - 20.0).abs() < 1e-12);
    assert!((ratio_from_decibels(6.0) - 1.995_262_314_968_879_6).abs() < 1e-12);
    // 0 dBu is the square root of 0.6 V², 1 mW in 600 Ω.
    assert!((volts_from_dbu(0.0) - 0.6f64.sqrt()).abs() < 1e-15);
    assert!((dbu_from_volts(0.6f64.sqrt()) - 0.0).abs() < 1e-12);
    assert!((volts_from_dbu(4.0) - 1.2277).abs() < 1e-4);
}

fn quantity() -> impl Strategy<Value = Quantity> {
    prop::sample::select(Quantity::ALL.to_vec())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(4000))]

    /// Four digits or seventeen: what is printed reads as the same double.
    #[test]
    fn printed_values_read_back_exactly(q in quantity(), t in 0.0f64..=1.0, digits in 1usize..=17) {
        let (least, greatest) = q.range();
        let value = if least > 0.0 { least * (greatest / least).powf(t) } else { least + t * (greatest - least) };
        let rounded: f64 = format!("{value:.*e}", digits - 1).parse().unwrap();
        prop_assume!(q.check(rounded).is_ok());
        let text = q.format(rounded);
        prop_assert_eq!(q.parse(&text), Ok(rounded), "{}", text);
        // Printing is canonical: the text of the value read is the text.
        prop_assert_eq!(q.format(q.parse(&text).unwrap()), text);
    }

    /// Words keep four digits.
    #[test]
    fn words_read_back_within_four_digits(q in quantity(), t in 0.0f64..=1.0) {
        let (least, greatest) = q.range();
        let value = if least > 0.0 { least * (greatest / least).powf(t) } else { least + t * (greatest - least) };
        prop_assume!(q.check(value * 0.999).is_ok() && q.check(value * 1.001).is_ok());
        let read = q.parse(&q.in_words(value)).unwrap();
        prop_assert!((read - value).abs() <= 0.5e-3 * value.abs() + 1e-300, "{} {}", q.in_words(value), value);
    }

    #[test]
    fn any_text_is_read_or_refused(q in quantity(), text in "\\PC{0,12}") {
        if let Ok(value) = q.parse(&text) {
            prop_assert!(q.check(value).is_ok());
            prop_assert_eq!(q.parse(&q.format(value)), Ok(value));
        }
    }

    #[test]
    fn near_miss_texts_are_read_or_refused(q in quantity(), text in "[-+±]?[0-9.,]{0,5}[eE]?[-0-9pnuµmkKMGRΩFHVWA% /]{0,6}") {
        if let Ok(value) = q.parse(&text) {
            prop_assert!(q.check(value).is_ok());
            prop_assert_eq!(q.parse(&q.format(value)), Ok(value));
        }
    }

    #[test]
    fn nearest_is_nearest(value in 1e-12f64..1e9, s in 0usize..7) {
        let series = Series::ALL[s];
        let near = series.nearest(value);
        prop_assert!(series.contains(near));
        let off = |v: f64| (v / value).ln().abs();
        prop_assert!(off(near) <= off(series.next(near)) + 1e-9);
        prop_assert!(off(near) <= off(series.previous(near)) + 1e-9);
        prop_assert!(series.previous(near) < near && near < series.next(near));
    }
}

#[test]
fn preferred_values_are_the_doubles_that_their_decimals_mean() {
    for exponent in -28..28 {
        for hundredths in Series::E192.hundredths() {
            let text = format!("{hundredths}e{exponent}");
            let value: f64 = text.parse().unwrap();
            assert_eq!(Series::E192.nearest(value * 1.0001), value, "{text}");
        }
    }
}
