//! Every preferred value that a part may have is reached from a host and written as it is printed
//! on a part, to the very ends of the two decades; and positions that a project saved before the
//! ends were mended still mean what they meant.

use engine::circuit::built_in_circuits;
use engine::device::Catalogue;
use engine::live::parameter_map::ParameterMap;
use engine::live::{Adjustable, AdjustableKind, LiveAmp, Refusal};
use engine::units::Quantity;
use std::sync::Arc;

/// Two digits of the values of IEC 60063, E24; E12 is every second one.
const E24: [i64; 24] = [
    10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91,
];

/// Smallest and largest on sale, as powers of ten of what two digits are multiplied with, and the
/// largest part: 22 MΩ, 1000 µF, 100 H.
fn on_sale(quantity: Quantity) -> (i32, f64, f64) {
    match quantity {
        Quantity::Resistance => (-1, 1.0, 22e6),
        Quantity::Capacitance => (-13, 1e-12, 1e-3),
        _ => (-7, 1e-6, 100.0),
    }
}

/// Two digits and a power of ten as printed on a part, by whole numbers alone.
fn printed(quantity: Quantity, digits: i64, power: i32) -> String {
    let (letters, least): (&[&str], i32) = match quantity {
        Quantity::Resistance => (&["R", "k", "M"], 0),
        Quantity::Capacitance => (&["p", "n", "u"], -12),
        _ => (&["u", "m", ""], -6),
    };
    // The power of ten of the first digit decides the letter.
    let first = power + 1;
    let step = ((first - least).div_euclid(3)).clamp(0, letters.len() as i32 - 1);
    let behind = least + 3 * step - power;
    let letter = letters[step as usize];
    let (whole, rest) = match behind {
        ..=0 => (digits * 10_i64.pow((-behind) as u32), String::new()),
        _ => {
            let unit = 10_i64.pow(behind as u32);
            let rest = format!("{:0width$}", digits % unit, width = behind as usize);
            (digits / unit, rest.trim_end_matches('0').to_owned())
        }
    };
    if matches!(quantity, Quantity::Inductance) {
        let point = if rest.is_empty() { "" } else { "." };
        return format!("{whole}{point}{rest} {letter}H");
    }
    format!("{whole}{letter}{rest}")
}

/// Maps of every amp: with a parameter for each id, and as one's own file.
fn maps() -> Vec<ParameterMap> {
    let catalogue = Arc::new(Catalogue::built_in());
    let read = |text: &str| LiveAmp::read(text.as_bytes(), None, catalogue.clone()).unwrap();
    let mut maps = Vec::new();
    for amp in built_in_circuits() {
        let live = read(amp.text);
        let ids: Vec<String> = live.adjustables().iter().map(|a| a.id.clone()).collect();
        maps.push(ParameterMap::for_parameters(live, &ids));
        maps.push(ParameterMap::for_own_file(read(amp.text)));
    }
    maps
}

/// Every parameter of a map that moves a value.
fn values(map: &ParameterMap) -> impl Iterator<Item = (usize, &Adjustable, Quantity)> {
    (0..1000).filter_map(|parameter| {
        let adjustable = &map.amp().adjustables()[map.binding(parameter)?.adjustable];
        match adjustable.kind {
            AdjustableKind::Value { quantity, .. } => Some((parameter, adjustable, quantity)),
            _ => None,
        }
    })
}

#[test]
fn every_preferred_value_of_two_decades_is_reached_and_written_as_printed() {
    let (mut checked, mut ends) = (0, 0);
    for map in maps() {
        for (parameter, adjustable, quantity) in values(&map) {
            let (least, smallest, largest) = on_sale(quantity);
            let filed = adjustable.filed;
            let step = if quantity == Quantity::Resistance {
                1
            } else {
                2
            };
            for power in least..least + 12 {
                for &digits in E24.iter().step_by(step) {
                    let value: f64 = format!("{digits}e{power}").parse().unwrap();
                    let within =
                        value >= 0.1 * filed * (1.0 - 1e-9) && value <= 10.0 * filed * (1.0 + 1e-9);
                    if !within || value < smallest || value > largest {
                        continue;
                    }
                    let text = printed(quantity, digits, power);
                    let read = adjustable.read(&text);
                    assert_eq!(read, Ok(value), "{} {text}", adjustable.id);
                    let place = map.position_of(parameter, value).unwrap();
                    let (back, _) = map.value_at(parameter, place).unwrap();
                    assert_eq!(back, value, "{} {text} at {place}", adjustable.id);
                    assert_eq!(adjustable.text(back), text, "{}", adjustable.id);
                    checked += 1;
                    ends += usize::from(place == 1.0);
                }
            }
        }
    }
    assert!(
        checked > 5_000 && ends > 100,
        "{checked} values, {ends} at the upper end"
    );
}

#[test]
fn every_position_of_a_sweep_says_a_clean_marking_that_comes_back() {
    for map in maps() {
        for stepped in [true, false] {
            map.set_stepped(stepped);
            for (parameter, adjustable, _) in values(&map) {
                let mut last = String::new();
                for step in 0..=10_000 {
                    let place = step as f32 / 10_000.0;
                    let (value, fitted) = map.value_at(parameter, place).unwrap();
                    if fitted == Some(false) {
                        continue;
                    }
                    let text = adjustable.text(value);
                    if text == last {
                        continue;
                    }
                    let digits = text.bytes().filter(u8::is_ascii_digit).count();
                    assert!(digits <= 4, "{} at {place}: {text}", adjustable.id);
                    let back = adjustable.read(&text).unwrap();
                    assert_eq!(back, value, "{} at {place}: {text}", adjustable.id);
                    let place = map.position_of(parameter, back).unwrap();
                    let again = map.value_at(parameter, place).unwrap().0;
                    assert_eq!(adjustable.text(again), text, "{} {place}", adjustable.id);
                    last = text;
                }
            }
        }
    }
}

#[test]
fn saved_positions_mean_what_they_meant() {
    // As the range was cut off before: by products of doubles.
    for map in maps() {
        map.set_stepped(false);
        for (parameter, adjustable, quantity) in values(&map) {
            let (_, smallest, largest) = on_sale(quantity);
            let low = (adjustable.filed / 10.0).max(smallest.min(adjustable.filed));
            let high = (adjustable.filed * 10.0).min(largest.max(adjustable.filed));
            let own = map.binding(parameter).unwrap().fitted.is_some();
            for step in 200..=10_000 {
                let place = step as f32 / 10_000.0;
                let share = match own {
                    true => (f64::from(place) - 0.02) / 0.98,
                    false => f64::from(place),
                };
                let meant = low * (high / low).powf(share.clamp(0.0, 1.0));
                let (value, _) = map.value_at(parameter, place).unwrap();
                // Four digits are shown and used.
                let apart = (value / meant - 1.0).abs();
                assert!(
                    apart < 5.1e-4,
                    "{} at {place}: {value}, was {meant}",
                    adjustable.id
                );
            }
        }
    }
}

#[test]
fn what_lies_outside_is_refused_with_the_range() {
    let map = &maps()[0];
    let amp = map.amp();
    let adjustable = &amp.adjustables()[amp.find("R103").unwrap()];
    let outside = Err(Refusal::Outside {
        low: 15e3,
        high: 1.5e6,
    });
    for text in ["10M", "1k", "1M51", "14k9", "1e12", "0"] {
        assert_eq!(adjustable.read(text), outside, "{text}");
    }
    assert_eq!(adjustable.read("1M5"), Ok(1.5e6));
    assert_eq!(adjustable.read("15k"), Ok(15e3));
    assert!(matches!(adjustable.read("4q7"), Err(Refusal::Notation(_))));
    // What a project kept is taken all the same.
    assert_eq!(adjustable.restored("10M"), Some(1.5e6));
    assert_eq!(adjustable.restored("1499999.9999999998"), Some(1.5e6));
    let turn = &amp.adjustables()[amp.find("Volume").unwrap()];
    let turned = Err(Refusal::Outside {
        low: 0.0,
        high: 1.0,
    });
    assert_eq!(turn.read("1.2"), turned);
    assert_eq!(turn.read("30%"), Ok(0.3));
}
