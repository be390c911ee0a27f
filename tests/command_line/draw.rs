//! `presolder draw` from outside: an SVG of the amp, with what is proposed, its volts, folded.

use crate::program::{json, number, presolder, refused, said, text};

/// Texts of an SVG, and the colours of what is drawn.
fn read(svg: &str) -> (Vec<String>, Vec<String>) {
    let document = roxmltree::Document::parse(svg).expect("XML");
    let texts = document.descendants().filter(|n| n.has_tag_name("text"));
    let colours = document
        .descendants()
        .filter_map(|n| n.attribute("stroke").map(String::from));
    let texts = texts.filter_map(|n| n.text().map(String::from)).collect();
    (texts, colours.collect())
}

#[test]
fn every_part_is_named_and_what_is_proposed_stands_out() {
    let (plain, ink) = read(&said(&["draw", "bradawl"]));
    for text in ["Bradawl 15", "V1a", "R505", "12k", "Volume", "8k : 8 Ω"] {
        assert!(plain.iter().any(|own| own == text), "{text}: {plain:?}");
    }
    let (proposed, colours) = read(&said(&["draw", "bradawl", "--proposal", "cooler"]));
    assert!(
        proposed.iter().any(|own| own == "12k → 15k"),
        "{proposed:?}"
    );
    let more = colours.iter().filter(|colour| !ink.contains(colour));
    assert!(more.count() > 0, "nothing stands out");
}

#[test]
fn volts_are_those_of_the_chart_and_change_with_the_proposal() {
    let chart = json(&["voltages", "bradawl"]);
    let anode = number(&chart["nodes"]["a1"]);
    let (texts, _) = read(&said(&["draw", "bradawl", "--volts"]));
    let written = format!("{anode:.0} V");
    assert!(texts.contains(&written), "{written}: {texts:?}");
    let both = said(&["draw", "bradawl", "--volts", "--proposal", "cooler"]);
    let (texts, _) = read(&both);
    assert!(
        texts
            .iter()
            .any(|own| own.contains(" → ") && own.ends_with(" V"))
    );
}

#[test]
fn it_is_folded_written_and_refused() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("amp.svg");
    let output = presolder(&[
        "draw",
        "sluice",
        "--fold",
        "--zig-zag",
        "--out",
        text(&file),
    ]);
    assert!(output.status.success());
    assert!(output.stdout.is_empty());
    let svg = std::fs::read_to_string(&file).unwrap();
    let (texts, _) = read(&svg);
    // A rail goes on in the next band under the same name.
    let names = texts.iter().filter(|own| own.as_str() == "HT 4").count();
    assert!(names >= 2, "{texts:?}");
    let nowhere = folder.path().join("none/amp.svg");
    refused(&["draw", "sluice", "--out", text(&nowhere)], 4);
    refused(&["draw", "no-such-amp"], 4);
}
