//! The job sheet as a page: well-formed and self-contained, cautions first, never a step on a live
//! chassis, every changed part once with its marking, every pin and supply node, hostile names
//! escaped.

use crate::sheet::{Sheet, built_in, elements, rows, text, tree, under};
use engine::circuit::{PartKind, built_in_circuits};

fn all_built_in() -> Vec<(String, Sheet)> {
    let amps = built_in_circuits().iter();
    amps.flat_map(|amp| amp.proposals.iter().map(move |p| (amp.key, p.key)))
        .map(|(amp, proposal)| (format!("{amp} {proposal}"), built_in(amp, proposal)))
        .collect()
}

/// No scripts, nothing from outside, one language, heads with a scope, drawings with a name.
fn check_page(name: &str, html: &str) {
    let tree = tree(html);
    assert!(html.starts_with("<!DOCTYPE html>\n"), "{name}");
    let root = tree.root_element();
    assert_eq!(root.attribute("lang"), Some("en"), "{name}");
    assert_eq!(elements(&tree, "title").len(), 1);
    assert_eq!(elements(&tree, "h1").len(), 1);
    for banned in [
        "script", "link", "img", "iframe", "object", "form", "a", "image", "use", "font",
    ] {
        assert!(elements(&tree, banned).is_empty(), "{name}: {banned}");
    }
    for node in tree.descendants().filter(|n| n.is_element()) {
        for attribute in node.attributes() {
            let (key, value) = (attribute.name(), attribute.value());
            let outside = ["src", "href", "action", "data"].contains(&key) || key.starts_with("on");
            assert!(!outside, "{name}: {key}={value}");
            assert!(!value.contains("://"), "{name}: {key}={value}");
            assert!(
                !["NaN", "inf"].iter().any(|w| value.contains(w)),
                "{name}: {key}={value}"
            );
        }
    }
    let style = text(elements(&tree, "style")[0]);
    assert!(style.contains("@page") && !style.contains("url(") && !style.contains("@import"));
    for head in elements(&tree, "th") {
        let scope = head.attribute("scope").unwrap_or_default();
        assert!(
            ["col", "row", "rowgroup"].contains(&scope),
            "{name}: {}",
            text(head)
        );
    }
    for table in elements(&tree, "table") {
        // A head that repeats on the next page, and as many cells in each row, spans counted.
        let heads = table
            .descendants()
            .filter(|n| n.tag_name().name() == "thead")
            .count();
        assert_eq!(heads, 1, "{name}");
        let mut spanned = 0usize;
        let mut width = None;
        for row in table.descendants().filter(|n| n.tag_name().name() == "tr") {
            let span = |n: &roxmltree::Node<'_, '_>, key: &str| {
                n.attribute(key).map_or(1, |v| v.parse::<usize>().unwrap())
            };
            let cells: Vec<_> = row.children().filter(|n| n.is_element()).collect();
            let mut count: usize = cells.iter().map(|c| span(c, "colspan")).sum();
            if spanned > 0 {
                count += 1;
                spanned -= 1;
            } else if let Some(first) = cells.first() {
                spanned = span(first, "rowspan") - 1;
            }
            assert_eq!(*width.get_or_insert(count), count, "{name}: {}", text(row));
        }
    }
    let drawings = elements(&tree, "svg").into_iter();
    let unnamed = drawings.filter(|svg| {
        let named = |n: roxmltree::Node<'_, '_>| n.attribute("aria-label").is_some();
        !named(*svg) && !svg.parent().is_some_and(named)
    });
    assert_eq!(unnamed.count(), 0, "{name}");
}

#[test]
fn every_page_is_well_formed_and_stands_alone() {
    for (name, sheet) in all_built_in() {
        check_page(&name, &sheet.html);
    }
}

/// The usual words, and where they stand: before the first word of buying or working.
#[test]
fn the_cautions_come_first_and_say_the_usual_things() {
    for (name, sheet) in all_built_in() {
        let tree = tree(&sheet.html);
        let headings: Vec<String> = elements(&tree, "h2").into_iter().map(text).collect();
        assert_eq!(
            headings[..4],
            [
                "Before anything else",
                "Over its rating",
                "What to buy",
                "Order of work"
            ],
            "{name}"
        );
        let cautions = text(under(&tree, "Before anything else"));
        for words in [
            "Lethal voltages stay in a valve amp after it is switched off and unplugged",
            "Never work on a live chassis",
            "Measure again",
            "under 5 V",
            "One hand",
            "isolating transformer",
            "current limiter",
            "Local codes",
            "licensed technician",
            "If you have not been taught",
            "Never run the amp without a loudspeaker",
        ] {
            assert!(cautions.contains(words), "{name}: {words}");
        }
    }
}

fn sentences(html: &str) -> Vec<String> {
    let tree = tree(html);
    let body = text(elements(&tree, "body")[0]);
    body.split_inclusive(['.', ':'])
        .map(|s| s.trim().to_string())
        .collect()
}

/// Whatever speaks of power says unplugged, hands off, hands clear, technician, or never.
#[test]
fn no_sentence_sends_anyone_to_a_live_chassis() {
    let careless = |sentence: &str| {
        let low = sentence.to_lowercase();
        let power = [
            "live",
            "switch on",
            "switched on",
            "powered up",
            "power up",
            "under power",
            "while it is on",
            "with the amp on",
        ];
        let care = [
            "never",
            "unplug",
            "hands off",
            "hands clear",
            "technician",
            "through a current limiter",
            "through the current limiter",
            "live bench",
        ];
        power.iter().any(|w| low.contains(w)) && !care.iter().any(|w| low.contains(w))
    };
    // The rule itself can fail.
    assert!(careless("Switch on and measure the anode."));
    assert!(careless("With the amp on, adjust the bias."));
    for (name, sheet) in all_built_in() {
        for sentence in sentences(&sheet.html) {
            assert!(!careless(&sentence), "{name}: {sentence}");
        }
    }
}

/// Every opening of the chassis begins with the discharge, in words of its own.
#[test]
fn the_discharge_comes_before_every_opening() {
    for (name, sheet) in all_built_in() {
        let tree = tree(&sheet.html);
        let openings: Vec<_> = elements(&tree, "div")
            .into_iter()
            .filter(|d| d.attribute("class") == Some("opening"))
            .collect();
        assert_eq!(openings.len(), sheet.job.openings.len(), "{name}");
        for opening in openings {
            let steps: Vec<String> = opening
                .descendants()
                .filter(|n| n.tag_name().name() == "li")
                .map(text)
                .collect();
            assert!(
                steps[0].contains("unplugged, discharged, measured"),
                "{name}: {steps:?}"
            );
            assert!(
                steps[steps.len() - 2].contains("Steps B"),
                "{name}: {steps:?}"
            );
            assert!(
                steps[steps.len() - 1].starts_with("Listen"),
                "{name}: {steps:?}"
            );
        }
    }
}

/// Bands and codes of every part that the built-in proposals change, written down by hand from the
/// table of colours (IEC 60062, from memory): four bands at the file's 5 %, five at 1 %; letters
/// with the tolerance's letter; digits in picofarads.
#[rustfmt::skip]
const CHANGED: [(&str, &str, &str, &str, &[&str]); 12] = [
    ("bradawl cooler", "R505", "12 kΩ", "15 kΩ", &["brown, green, orange, gold", "brown, green, black, red, brown", "15KJ", "E12"]),
    ("bradawl cleaner", "R103", "150 kΩ", "100 kΩ", &["brown, black, yellow, gold", "brown, black, black, orange, brown", "100KJ", "E12"]),
    ("bradawl cleaner", "R205", "33 kΩ", "22 kΩ", &["red, red, orange, gold", "red, red, black, red, brown", "22KJ", "E12"]),
    ("bradawl cleaner", "C103", "390 pF", "820 pF", &["820pK", "821K", "2G", "E12"]),
    ("mizzle calmer", "R10", "270 Ω", "330 Ω", &["orange, orange, brown, gold", "orange, orange, black, black, brown", "330RJ", "E12"]),
    ("mizzle calmer", "C5", "1.2 nF", "3.3 nF", &["3n3K", "332K", "E12"]),
    ("mizzle drive", "C10", "out", "1 µF", &["1µM", "105M", "1V", "E12"]),
    ("mizzle drive", "C3", "out", "150 pF", &["150pK", "151K", "E12"]),
    ("sluice warmer", "R504", "22 kΩ", "18 kΩ", &["brown, grey, orange, gold", "brown, grey, black, red, brown", "18KJ", "E12"]),
    ("sluice looser", "R303", "120 Ω", "56 Ω", &["green, blue, black, gold", "green, blue, black, gold, brown", "56RJ", "E12"]),
    ("spokeshave cooler", "R18", "130 Ω", "150 Ω", &["brown, green, brown, gold", "brown, green, black, black, brown", "150RJ", "E12"]),
    ("spokeshave fuller", "R6", "68 kΩ", "39 kΩ", &["orange, white, orange, gold", "orange, white, black, red, brown", "39KJ", "E12"]),
];

#[test]
fn every_changed_part_is_bought_once_with_its_marking() {
    let mut seen = 0;
    for (name, sheet) in all_built_in() {
        let tree = tree(&sheet.html);
        let table = rows(under(&tree, "What to buy"));
        let changed = sheet.as_found.parts().iter().zip(sheet.proposed.parts());
        let changed: Vec<_> = changed
            .filter(|(a, b)| a.kind != b.kind || a.fitted != b.fitted)
            .collect();
        assert_eq!(table.len(), changed.len() + 1, "{name}: {table:?}");
        for (part, _) in changed {
            let row = |r: &&Vec<String>| r[0].split(' ').next() == Some(&part.designator);
            assert_eq!(
                table.iter().filter(row).count(),
                1,
                "{name}: {}",
                part.designator
            );
        }
        for (_, part, before, after, words) in CHANGED.iter().filter(|c| c.0 == name) {
            let row = table
                .iter()
                .find(|r| r[0].split(' ').next() == Some(part))
                .unwrap();
            assert_eq!(row[1], format!("{before} → {after}"), "{name}");
            let row = row.join(" | ");
            for word in *words {
                assert!(row.contains(word), "{name} {part}: {word}\n{row}");
            }
            seen += 1;
        }
    }
    assert_eq!(seen, CHANGED.len());
}

/// Nodes that a supply makes or a reservoir holds, read off the four circuit files by eye.
const SUPPLY: [(&str, &[&str]); 4] = [
    ("bradawl", &["ht1", "ht2", "ht3", "ht4", "neg", "bias"]),
    ("mizzle", &["ht1", "ht2", "ht3"]),
    ("sluice", &["ht1", "ht2", "ht3", "ht4", "neg", "bias"]),
    ("spokeshave", &["ht1", "ht2", "ht3", "ht4"]),
];

#[test]
fn every_pin_and_supply_node_has_a_row_with_room_to_write() {
    for (name, sheet) in all_built_in() {
        let tree = tree(&sheet.html);
        let table = rows(under(&tree, "Expected voltages, without signal"));
        let amp = name.split(' ').next().unwrap();
        let nodes = SUPPLY.iter().find(|(key, _)| *key == amp).unwrap().1;
        let supply: Vec<&str> = sheet.job.supply.iter().map(|e| e.node.as_str()).collect();
        let (mut sorted, mut wanted) = (supply.clone(), nodes.to_vec());
        sorted.sort_unstable();
        wanted.sort_unstable();
        assert_eq!(sorted, wanted, "{name}");
        let electrodes: usize = sheet
            .as_found
            .parts()
            .iter()
            .map(|part| match part.kind {
                PartKind::Triode { .. } => 3,
                PartKind::Pentode { .. } => 4,
                PartKind::Rectifier { .. } => 1,
                _ => 0,
            })
            .sum();
        assert_eq!(sheet.job.pins.len(), electrodes, "{name}");
        // Two heads.
        assert_eq!(table.len(), electrodes + nodes.len() + 2, "{name}");
        for row in &table {
            if !row.iter().any(|c| c == "Measured, V") {
                assert_eq!(row[row.len() - 2..], ["", ""], "{name}: {row:?}");
            }
        }
    }
}

/// Against the voltage chart, whose figures other tests hold.
#[test]
fn the_voltages_are_those_of_the_chart() {
    let sheet = built_in("bradawl", "cooler");
    let amp =
        engine::solve::solved::SolvedAmp::new(&sheet.as_found, Some(&sheet.proposed)).unwrap();
    let charts = amp
        .both()
        .unwrap()
        .map(|s| engine::analysis::voltages::chart(&amp.network, s));
    for expected in sheet.job.pins.iter().chain(&sheet.job.supply) {
        let volts = charts.map(|c| match expected.node.as_str() {
            "gnd" => 0.0,
            node => *c.nodes.get(node).unwrap(),
        });
        assert_eq!(expected.volts, volts, "{}", expected.node);
    }
    let tree = tree(&sheet.html);
    let table = rows(under(&tree, "Expected voltages, without signal"));
    let grid = table
        .iter()
        .find(|r| r.contains(&"g5".to_string()))
        .unwrap();
    // A cooler bias: more negative, and it says so.
    let at = |cell: &String| {
        cell.replace('−', "-")
            .replace('+', "")
            .parse::<f64>()
            .unwrap()
    };
    let figures: Vec<f64> = grid.iter().filter(|c| c.starts_with('−')).map(at).collect();
    let [found, proposed, change] = figures[..] else {
        panic!("{grid:?}");
    };
    assert!(
        proposed < found && (proposed - found - change).abs() < 0.11,
        "{grid:?}"
    );
}

/// What is over its limit as proposed is named before anything is bought.
#[test]
fn what_is_over_its_limit_is_named_first() {
    let cleaner = built_in("bradawl", "cleaner");
    let page = tree(&cleaner.html);
    let over = text(under(&page, "Over its rating"));
    assert!(
        over.contains("V3") && over.contains("V4") && over.contains("12 W"),
        "{over}"
    );
    assert!(
        over.contains("As found and as proposed, this is over"),
        "{over}"
    );
    let cooler = built_in("bradawl", "cooler");
    let page = tree(&cooler.html);
    let over = text(under(&page, "Over its rating"));
    assert!(over.contains("the proposal mends it"), "{over}");
    assert!(
        !over.contains("As found and as proposed, this is over"),
        "{over}"
    );
}
