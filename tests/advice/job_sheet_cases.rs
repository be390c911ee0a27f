//! Job sheets of unusual jobs: hostile names, values that no shop has, valves, loudspeakers, parts
//! that come out, supplies, switches, electrolytics; and the order of the openings.

use crate::sheet::{Sheet, built_in, elements, rows, sheet, sheet_of, text, tree, under};
use engine::advice::job::Action;
use engine::circuit::built_in_circuit;
use engine::units::{Series, combination};

fn bought(sheet: &Sheet) -> String {
    let tree = tree(&sheet.html);
    rows(under(&tree, "What to buy"))[1..]
        .iter()
        .map(|r| r.join(" | "))
        .collect::<Vec<_>>()
        .join("\n")
}

fn worked(sheet: &Sheet) -> String {
    let tree = tree(&sheet.html);
    text(under(&tree, "Order of work"))
}

#[test]
fn hostile_names_stay_text() {
    const HOSTILE: &str = "<script>alert(1)</script>]]></style>\u{201d}'&amp;-->";
    let long = "W".repeat(60);
    let circuit = built_in_circuit("bradawl").unwrap().text;
    let circuit = circuit
        .replace("\"Bradawl 15\"", &format!("\"{HOSTILE}\""))
        .replace(
            "role = \"bias load\"",
            &format!("role = \"{HOSTILE} {long}\""),
        )
        .replace("near = \"supply board\"", &format!("near = \"{HOSTILE}\""))
        .replace("stage = \"Bias supply\"", &format!("stage = \"{HOSTILE}\""));
    let proposal = format!(
        "format = 1\n[proposal]\nname = \"{HOSTILE}\"\nabout = \"{HOSTILE}\"\n[changes]\nR505 = \"15k\"\n"
    );
    let sheet = sheet_of(&circuit, &proposal);
    assert!(!sheet.html.contains("<script"));
    let tree = tree(&sheet.html);
    assert!(elements(&tree, "script").is_empty());
    assert_eq!(elements(&tree, "style").len(), 1);
    let title = text(elements(&tree, "h1")[0]);
    assert_eq!(title.matches(HOSTILE).count(), 2, "{title}");
    let row = bought(&sheet);
    assert!(row.contains(&long) && row.contains(HOSTILE));
    // A long name wraps.
    assert!(text(elements(&tree, "style")[0]).contains("overflow-wrap: anywhere"));
}

#[test]
fn a_value_that_no_shop_has_is_said_to_be_so() {
    let row = bought(&sheet("bradawl", &["R505=14k7"]));
    for words in [
        "14.7 kΩ is in E48 but not in E24: few shops keep it.",
        "13 kΩ and 15 kΩ",
        "10 kΩ and 4.7 kΩ in series make 14.7 kΩ (exactly)",
        "It cannot be written in four bands: they show 2 digits.",
        "brown, yellow, violet, red, brown",
    ] {
        assert!(row.contains(words), "{words}\n{row}");
    }
    let row = bought(&sheet("bradawl", &["R505=14730"]));
    assert!(row.contains("is no preferred value"), "{row}");
    assert!(
        row.contains("It cannot be written in five bands: they show 3 digits."),
        "{row}"
    );
    assert!(row.contains("14K73J"), "{row}");
    let row = bought(&sheet("bradawl", &["C103=825p"]));
    assert!(row.contains("8250"), "{row}");
    assert!(row.contains("It needs four digits"), "{row}");
    assert!(
        row.contains("side by side make") || row.contains("in series make"),
        "{row}"
    );
    // E24 is no rarity.
    let row = bought(&sheet("bradawl", &["R505=13k"]));
    assert!(
        row.contains("series E24") && !row.contains("side by side"),
        "{row}"
    );
}

/// Brute force over two decades either way is never better by more than rounding.
#[test]
fn two_parts_for_one_are_the_best_two() {
    let table: Vec<f64> = (-2..=4)
        .flat_map(|d| {
            Series::E12
                .hundredths()
                .map(move |h| f64::from(h) * 10f64.powi(d))
        })
        .collect();
    for value in [147.0, 153.0, 999.0, 101.0, 250.0, 345.6, 820.5] {
        let found = combination(Series::E12, value).unwrap();
        let off = |v: f64| (v / value).ln().abs();
        let best = table
            .iter()
            .flat_map(|a| table.iter().map(move |b| (a, b)))
            // As far as the program looks: a hundredth of a part is lost in its tolerance.
            .filter(|(a, b)| {
                [**a, **b]
                    .iter()
                    .all(|v| (value / 90.0..value * 90.0).contains(v))
            })
            .flat_map(|(a, b)| [a + b, a * b / (a + b)])
            .map(off)
            .fold(f64::INFINITY, f64::min);
        assert!(off(found.value) <= best + 1e-12, "{value}: {found:?}");
        let [a, b] = found.values;
        let made = if found.added { a + b } else { a * b / (a + b) };
        assert!((made / found.value - 1.0).abs() < 1e-12);
    }
    for nothing in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(combination(Series::E12, nothing), None);
    }
}

#[test]
fn valves_and_loudspeakers_need_no_iron() {
    let sheet = sheet("bradawl", &["V1=ECC81", "LS1=Anvil Twelve"]);
    let items: Vec<_> = sheet
        .job
        .items
        .iter()
        .map(|i| (i.designator.as_str(), i.action))
        .collect();
    assert_eq!(items, [("V1", Action::Replace), ("LS1", Action::Replace)]);
    let row = bought(&sheet);
    assert!(
        row.contains("ECC83 → ECC81")
            && row.contains("12AT7")
            && row.contains("8 Ω, rated for 50 W"),
        "{row}"
    );
    let work = worked(&sheet);
    assert!(
        work.contains("pull the ECC83 and put in the ECC81"),
        "{work}"
    );
    assert!(
        work.contains("Never run the amp without a loudspeaker"),
        "{work}"
    );
    assert!(sheet.job.openings.iter().all(|o| !o.opens_chassis));
}

#[test]
fn what_comes_out_is_not_bought() {
    let sheet = sheet("bradawl", &["C101=out"]);
    let row = bought(&sheet);
    assert!(
        row.contains("4.7 µF → out") && row.contains("Nothing to buy"),
        "{row}"
    );
    assert!(worked(&sheet).contains("take out the 4.7 µF. Label it and keep it."));
}

/// The bias supply is negative: there the positive end goes to ground.
#[test]
fn electrolytics_say_where_their_positive_end_goes() {
    let bias = worked(&sheet("bradawl", &["C506=47u"]));
    assert!(
        bias.contains("its + end goes to ground, its − end to node bias"),
        "{bias}"
    );
    let cathode = worked(&sheet("bradawl", &["C101=22u"]));
    assert!(
        cathode.contains("its + end goes to node k1, its − end to ground"),
        "{cathode}"
    );
    let film = worked(&sheet("bradawl", &["C102=22n"]));
    assert!(!film.contains("polarity"), "{film}");
}

#[test]
fn a_supply_is_no_part_and_a_switch_is_set() {
    let sheet = sheet("bradawl", &["HT=330 V", "SW301=open"]);
    let row = bought(&sheet);
    assert!(
        row.contains("312 V → 330 V") && row.contains("ask a technician"),
        "{row}"
    );
    assert!(
        row.contains("closed → open") && row.contains("a contact is set"),
        "{row}"
    );
}

/// A bias change first and alone; what can be heard alone by itself; what cannot, together.
#[test]
fn the_openings_stand_in_a_sensible_order() {
    let sheet = sheet(
        "bradawl",
        &["R103=100k", "C102=16n", "R505=15k", "C103=820p"],
    );
    let parts: Vec<String> = sheet
        .job
        .openings
        .iter()
        .map(|o| o.parts.join(" "))
        .collect();
    assert_eq!(parts, ["R505", "R103 C102", "C103"]);
    let work = worked(&sheet);
    assert!(
        work.contains("R505: this moves the idle of the power valves"),
        "{work}"
    );
    assert!(work.contains("C102 on the way"), "{work}");
    // Every part is worked on once.
    let mut worked: Vec<&String> = sheet.job.openings.iter().flat_map(|o| &o.parts).collect();
    worked.sort();
    assert_eq!(worked, ["C102", "C103", "R103", "R505"]);
    let alone = built_in("bradawl", "cooler");
    assert_eq!(alone.job.openings.len(), 1);
    assert!(alone.job.openings[0].why.is_empty());
}

#[test]
fn the_same_job_makes_the_same_page() {
    let [a, b] = [(), ()].map(|()| built_in("mizzle", "drive").html);
    assert_eq!(a, b);
}
