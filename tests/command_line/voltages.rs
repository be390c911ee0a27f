//! `presolder voltages` from outside: the keys that scripts rely on, Ohm's law, limits in words, as
//! found beside proposed, safety.

use crate::program::{circuit, json, number, refused, said};

const AMP: &str = "bradawl";

#[test]
fn the_keys_of_every_node_and_valve() {
    let chart = json(&["voltages", AMP]);
    for node in ["ht1", "bias", "a1", "k1", "spk", "in"] {
        number(&chart["nodes"][node]);
    }
    let keys = [
        "anode_volts",
        "grid_volts",
        "cathode_volts",
        "anode_milliamps",
        "anode_watts",
        "anode_limit_watts",
    ];
    let screen = [
        "screen_volts",
        "screen_milliamps",
        "screen_watts",
        "screen_limit_watts",
    ];
    for valve in ["V1a", "V1b", "V2a", "V2b", "V3", "V4"] {
        let reading = &chart["valves"][valve];
        for key in keys {
            number(&reading[key]);
        }
        for key in screen {
            // A triode has the keys too, without a number.
            let there = reading.get(key).expect("the key");
            assert_eq!(there.is_null(), valve.len() == 3, "{valve} {key}");
        }
    }
    assert!(chart["as_found"].is_null() && chart["proposed"].is_null());
}

/// Currents and watts follow from the volts by Ohm's law: R103 is 150 k, R104 1.8 k.
#[test]
fn currents_agree_with_the_resistors() {
    let chart = json(&["voltages", AMP]);
    let (nodes, v1a, v3) = (
        &chart["nodes"],
        &chart["valves"]["V1a"],
        &chart["valves"]["V3"],
    );
    let load = (number(&nodes["ht4"]) - number(&nodes["a1"])) / 150.0;
    let cathode = number(&nodes["k1"]) / 1.8;
    let anode = number(&v1a["anode_milliamps"]);
    assert!((load / anode - 1.0).abs() < 1e-4, "{load} {anode}");
    assert!((cathode / anode - 1.0).abs() < 1e-2, "{cathode} {anode}");
    assert_eq!(number(&v1a["anode_volts"]), number(&nodes["a1"]));
    assert_eq!(number(&v1a["cathode_volts"]), number(&nodes["k1"]));
    // R405, the screen stopper, is 270 Ω.
    let stopper = 1e3 * (number(&nodes["ht2"]) - number(&nodes["s5"])) / 270.0;
    let screen = number(&v3["screen_milliamps"]);
    assert!((stopper / screen - 1.0).abs() < 1e-4, "{stopper} {screen}");
    let watts = 1e-3 * number(&v3["anode_milliamps"]) * number(&v3["anode_volts"]);
    assert!((watts / number(&v3["anode_watts"]) - 1.0).abs() < 1e-9);
    // The limits of the EL84, Electronic Tube Handbook sheets 1953 to 1957 (seen).
    assert_eq!(number(&v3["anode_limit_watts"]), 12.0);
    assert_eq!(number(&v3["screen_limit_watts"]), 2.0);
}

#[test]
fn what_is_proposed_stands_beside_what_is_found() {
    let found = json(&["voltages", AMP]);
    let both = json(&["voltages", AMP, "--proposal", "cooler"]);
    assert_eq!(both["as_found"]["nodes"], found["nodes"]);
    assert_eq!(both["as_found"]["valves"], found["valves"]);
    assert_eq!(both["proposed"]["valves"], both["valves"]);
    assert_eq!(both["shown"], "proposed");
    let watts = |chart: &serde_json::Value| number(&chart["valves"]["V3"]["anode_watts"]);
    assert!(watts(&both["as_found"]) > 12.0 && watts(&both["proposed"]) < 10.5);
    let same = json(&["voltages", AMP, "--set", "R505=15k"]);
    assert_eq!(same["valves"], both["valves"]);
}

#[test]
fn limits_spread_and_danger_are_told_in_words() {
    let text = said(&["voltages", AMP]);
    for words in [
        "V3 and V4: the anode dissipation is 12.",
        "over the design-centre limit of 12 W",
        "OVER",
        "up to 30 % more or less",
        "load of a meter is not included",
        "Never work on a live chassis",
    ] {
        assert!(text.contains(words), "{words}\n{text}");
    }
    let text = said(&["voltages", AMP, "--proposal", "cooler"]);
    assert!(text.contains("As found, V") && text.contains("Proposed, V"));
    assert!(text.contains("Over the limit as found:"));
    let quiet = said(&["voltages", &circuit("one_triode")]);
    assert!(quiet.contains("No valve or part is over a limit."));
}

#[test]
fn what_is_over_its_limit_comes_first() {
    let text = said(&["voltages", AMP]);
    let at = |words: &str| text.find(words).expect(words);
    assert!(at("Over the limit:") < at("Node  Volts"));
    let chart = json(&["voltages", AMP]);
    let over = chart["over_rated"].as_array().unwrap();
    assert_eq!(over[0]["designator"], "V3");
    assert_eq!(over[0]["what"], "anode dissipation");
    assert_eq!(
        (number(&over[0]["limit"]), over[0]["unit"].as_str()),
        (12.0, Some("W"))
    );
    assert!(number(&over[0]["percent"]) > 100.0 && chart["as_found_over_rated"].is_null());
    // The proposal takes it away; what is found still has it.
    let both = json(&["voltages", AMP, "--proposal", "cooler"]);
    assert_eq!(both["over_rated"].as_array().unwrap().len(), 0);
    assert_eq!(both["as_found_over_rated"].as_array().unwrap(), over);
    // A part with too little voltage is one of them.
    let sluice = json(&["voltages", "sluice"]);
    let over = sluice["over_rated"].as_array().unwrap();
    assert!(
        over.iter()
            .any(|f| f["designator"] == "C503" && f["unit"] == "V")
    );
}

#[test]
fn another_valve_type_loudspeaker_or_a_missing_part_changes_the_readings() {
    let volts = |set: &str, node: &str| {
        let chart = json(&["voltages", AMP, "--set", set]);
        [&chart["as_found"], &chart["proposed"]].map(|c| number(&c["nodes"][node]))
    };
    let [was, is] = volts("V1=ECC81", "a1");
    assert!((was - is).abs() > 5.0, "{was} {is}");
    // Without its bias load the bias falls to the supply's −27 V.
    let [was, is] = volts("R505=out", "bias");
    assert!(was > -12.0 && is < -25.0, "{was} {is}");
    let out = json(&["voltages", AMP, "--set", "V3=out"]);
    assert_eq!(number(&out["valves"]["V3"]["anode_milliamps"]), 0.0);
    assert_eq!(out["valves"]["V3"]["fitted"], false);
    let [was, is] = volts("LS1=Harbour Ten", "a1");
    assert!((was - is).abs() < 1e-6, "a loudspeaker moved a voltage");
}

#[test]
fn another_rectifier_moves_the_high_tension() {
    let list = json(&["check", "sluice"]);
    let stages = list["stages"].as_array().unwrap();
    let mut parts = stages.iter().flat_map(|s| s["parts"].as_array().unwrap());
    let rectifier = parts.find(|p| p["kind"] == "rectifier").unwrap();
    let set = format!("{}=silicon", rectifier["designator"].as_str().unwrap());
    let chart = json(&["voltages", "sluice", "--set", &set]);
    let [was, is] =
        ["as_found", "proposed"].map(|s| number(&chart[s]["valves"]["V301"]["anode_volts"]));
    assert!(is > was + 3.0, "{was} {is}");
}

#[test]
fn what_cannot_be_done_ends_with_one() {
    for (set, word) in [
        ("R999=1k", "R999"),
        ("R505=purple", "purple"),
        ("V1=EL84", "V1"),
    ] {
        let message = refused(&["voltages", AMP, "--set", set], 1);
        assert!(message.contains(word), "{message}");
    }
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("broken.toml");
    std::fs::write(
        &path,
        "format = 1\n[changes]\nR505 = \"15k\"\nR998 = \"1k\"\n",
    )
    .unwrap();
    let message = refused(
        &["voltages", AMP, "--proposal", crate::program::text(&path)],
        1,
    );
    assert!(
        message.contains("R998") && message.contains("line 4"),
        "{message}"
    );
    refused(&["voltages", "no-such-file.toml"], 4);
}
