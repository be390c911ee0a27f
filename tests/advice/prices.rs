//! The price file: the cheapest line that covers a part, minutes, and every fault at once with its
//! line and remedy.

use engine::advice::prices::{Prices, Purchase, Ware};
use engine::circuit::{Circuit, built_in_circuits, read};
use engine::device::Catalogue;

/// A small file, with all that must be there.
const SMALL: &str = "format = 1
[prices]
currency = \"coins\"
[minutes]
chassis = 30
resistor = 10
capacitor = 12.5
inductor = 40
pot = 25
valve = 5
rectifier = 5
output_transformer = 90
loudspeaker = 25
[parts]
resistor = [{ watts = \"0.5 W\", price = 0.2 }, { watts = \"1 W\", price = 0.1 }, { price = 3 }]
capacitor = [{ value = \"22n\", volts = \"400 V\", price = 1 }]
valve = [{ name = \"ECC83\", price = 15 }]
";

fn purchase(ware: Ware, value: f64, watts: Option<f64>, volts: Option<f64>) -> Purchase {
    Purchase {
        ware,
        value,
        watts,
        volts,
        name: String::new(),
        quantity: 1,
    }
}

fn each(prices: &Prices, purchase: &Purchase) -> Option<f64> {
    prices.cost(purchase).map(|cost| cost.each)
}

#[test]
fn the_cheapest_line_that_covers_a_part_is_its_price() {
    let prices = Prices::parse(SMALL).unwrap();
    let resistor = |watts| each(&prices, &purchase(Ware::Resistor, 15e3, watts, None));
    // The one-watt line is cheaper and covers half a watt too.
    assert_eq!(resistor(Some(0.5)), Some(0.1));
    assert_eq!(resistor(Some(1.0)), Some(0.1));
    assert_eq!(resistor(Some(2.0)), Some(3.0));
    assert_eq!(resistor(None), Some(0.1));
    let capacitor = |farads, volts| {
        let wanted = purchase(Ware::Capacitor, farads, None, Some(volts));
        each(&prices, &wanted)
    };
    assert_eq!(capacitor(22e-9, 400.0), Some(1.0));
    assert_eq!(capacitor(22e-9, 630.0), None);
    assert_eq!(capacitor(33e-9, 400.0), None);
    let mut valve = purchase(Ware::Valve, 0.0, None, None);
    valve.name = "ecc83".into();
    valve.quantity = 2;
    let cost = prices.cost(&valve).unwrap();
    assert_eq!((cost.each, cost.total), (15.0, 30.0));
    valve.name = "EL84".into();
    assert_eq!(prices.cost(&valve), None);
    assert_eq!(prices.chassis_minutes(), 30.0);
    assert_eq!(prices.minutes(Ware::Capacitor), 12.5);
    assert_eq!(prices.in_words(0.2), "0.20 coins");
}

/// What can be bought for the built-in amps has a price, so that no report of theirs has a gap.
#[test]
fn the_built_in_file_prices_every_part_of_the_built_in_amps() {
    let prices = Prices::built_in();
    assert!(prices.about().contains("Invented"));
    for built_in in built_in_circuits() {
        let circuit: Circuit = read(built_in.text, &Catalogue::built_in()).unwrap();
        for part in circuit.parts() {
            let Some(purchase) = Purchase::of(part) else {
                continue;
            };
            let cost = prices.cost(&purchase);
            assert!(
                cost.is_some_and(|c| c.each > 0.0),
                "{} {}: {cost:?}",
                built_in.key,
                part.designator
            );
            assert!(prices.minutes(purchase.ware) > 0.0);
        }
    }
    let names: Vec<String> = Catalogue::built_in()
        .valves
        .iter()
        .map(|v| v.name.clone())
        .collect();
    for name in names {
        let mut valve = purchase(Ware::Valve, 0.0, None, None);
        valve.name = name.clone();
        assert!(prices.cost(&valve).is_some(), "{name}");
    }
}

/// Every fault of `SMALL` with one text in place of another.
fn faults(from: &str, to: &str) -> Vec<String> {
    assert!(SMALL.contains(from), "{from}");
    let text = SMALL.replacen(from, to, 1);
    let faults = Prices::parse(&text).expect_err(to);
    faults.iter().map(ToString::to_string).collect()
}

#[test]
fn a_fault_has_its_line_its_value_the_range_and_a_remedy() {
    for (from, to, expected) in [
        (
            "price = 15",
            "price = -15",
            "line 17: price: -15 is outside 0 to 100000; a price is not negative: write what one part costs you",
        ),
        (
            "pot = 25",
            "pot = 90000",
            "line 9: pot: 90000 is outside 0 to 960; write minutes, not seconds; nothing here takes longer than two days",
        ),
        (
            "pot = 25",
            "pot = -1",
            "line 9: pot: -1 is outside 0 to 960; work takes no negative time: write the minutes that it takes you",
        ),
        (
            "pot = 25",
            "pott = 25",
            "line 4: minutes for pot are missing; add pot = 10 under [minutes], or what it takes you",
        ),
        (
            "pot = 25",
            "pott = 25",
            "line 9: pott is not a known key; did you mean pot?",
        ),
        (
            "valve = 5",
            "valve = \"quick\"",
            "line 10: valve: \"quick\" is not a number; write it without unit, such as valve = 10",
        ),
        (
            "price = 15",
            "price = nan",
            "line 17: price: \"nan\" is not a number; write it without unit, such as price = 10",
        ),
        (
            "price = 15",
            "cost = 15",
            "line 17: cost is not a known key; known here: name, price",
        ),
        (
            ", price = 15",
            "",
            "line 17: a line of valve has no price; add price = 0.20",
        ),
        (
            "watts = \"0.5 W\"",
            "watts = \"5000 W\"",
            "line 15: watts: 5000 W is outside 0.01 W to 1000 W",
        ),
        (
            "value = \"22n\"",
            "value = true",
            "line 16: value is not a capacitance; write a value such as value = \"…\"",
        ),
        (
            "valve = [{",
            "valves = [{",
            "line 17: valves is not a known key; did you mean valve?",
        ),
        (
            "currency = \"coins\"",
            "",
            "the currency is missing; write currency = \"…\" under [prices]",
        ),
        (
            "format = 1",
            "format = 9",
            "line 1: this format is not known; write format = 1, or use a newer program",
        ),
        ("[minutes]", "[minutes", "not valid TOML"),
    ] {
        let told = faults(from, to);
        assert!(
            told.iter().any(|fault| fault.contains(expected)),
            "{to}: {told:#?}"
        );
    }
}

#[test]
fn all_faults_are_told_at_once_in_the_order_of_the_file() {
    let text = SMALL
        .replace("price = 15", "price = -15")
        .replace("chassis = 30", "chassis = 1e9")
        .replace("resistor = 10", "resistor = -10");
    let faults = Prices::parse(&text).unwrap_err();
    let lines: Vec<Option<usize>> = faults.iter().map(|f| f.line).collect();
    assert_eq!(lines, [Some(5), Some(6), Some(17)]);
}

#[test]
fn hostile_files_are_refused() {
    for text in [
        "",
        "format = 1",
        "format = 1\n[minutes]\n[parts]\n",
        "format = 1\nprices = 3\nminutes = 4\nparts = 5\n",
        "format = 1\n[parts]\nresistor = 3\n",
        "format = 1\n[parts]\nresistor = [3, \"x\", [1]]\n",
        "\u{0}\u{1}",
    ] {
        let faults = Prices::parse(text).expect_err(text);
        assert!(!faults.is_empty(), "{text}");
    }
    let many = "{ price = 1 }, ".repeat(2000);
    let text = SMALL.replace("resistor = [", &format!("resistor = [{many}"));
    assert!(Prices::parse(&text).is_err());
}
