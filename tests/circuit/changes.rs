//! Changes, controls, proposals, and edits of the owner's own file.

use engine::circuit::{
    self, Circuit, Diagnostic, PartKind, WrittenChange, WrittenProposal, WrittenSetting,
};
use engine::device::{Catalogue, RectifierType};

const TWO: &str = include_str!("../circuits/two_stages.toml");
const PUSH_PULL: &str = include_str!("../circuits/push_pull.toml");

/// The built-in entries, and others that fit and do not fit in their place.
fn catalogue() -> Catalogue {
    let mut catalogue = Catalogue::built_in();
    catalogue
        .valves
        .retain(|v| ["ECC83", "EL84"].contains(&v.name.as_str()));
    let mut twin = (**catalogue.valve("ECC83").expect("built in")).clone();
    twin.name = "TEST1".into();
    twin.also.clear();
    let mut stranger = twin.clone();
    stranger.name = "TEST2".into();
    stranger.socket = "octal, other".into();
    catalogue.valves.push(twin.into());
    catalogue.valves.push(stranger.into());
    let mut speaker = (**catalogue.loudspeaker("Tin Ten").expect("built in")).clone();
    speaker.name = "Tin Twelve".into();
    catalogue.loudspeakers.push(speaker.into());
    for name in ["RECT1", "RECT2"] {
        catalogue.rectifiers.push(
            RectifierType {
                name: name.into(),
                perveance: None,
                limits: Default::default(),
                provenance: "invented for tests".into(),
            }
            .into(),
        );
    }
    catalogue
}

fn read(text: &str) -> Circuit {
    circuit::read(text, &catalogue()).expect("a valid circuit")
}

fn changes(list: &[&str]) -> Vec<WrittenChange> {
    list.iter().map(|t| t.parse().expect("a change")).collect()
}

fn settings(list: &[&str]) -> Vec<WrittenSetting> {
    list.iter().map(|t| t.parse().expect("a setting")).collect()
}

fn kind(circuit: &Circuit, designator: &str) -> PartKind {
    let id = circuit.find_part(designator).expect("a part");
    circuit.part(id).kind.clone()
}

#[track_caller]
fn refused(text: &str, change: &str, expected: &str) {
    let faults = read(text)
        .with_written_changes(&changes(&[change]), &catalogue())
        .expect_err(change);
    assert_eq!(faults[0].to_string(), expected);
}

#[test]
fn values_are_changed() {
    let circuit = read(TWO)
        .with_written_changes(
            &changes(&[
                "r3=330k",
                "C1 = 25µF",
                "VR1=1M",
                "C3=in",
                "R6=out",
                "HT=280 V",
            ]),
            &catalogue(),
        )
        .expect("good changes");
    assert!(matches!(kind(&circuit, "R3"), PartKind::Resistor { ohms, .. } if ohms == 330e3));
    assert!(matches!(kind(&circuit, "C1"), PartKind::Capacitor { farads, .. } if farads == 25e-6));
    assert!(matches!(kind(&circuit, "VR1"), PartKind::Pot { ohms, .. } if ohms == 1e6));
    assert!(matches!(kind(&circuit, "HT"), PartKind::Supply { volts, .. } if volts == 280.0));
    let fitted = |d: &str| circuit.part(circuit.find_part(d).expect("a part")).fitted;
    assert!(fitted("C3") && !fitted("R6"));
    // The rest is as it was.
    assert_eq!(kind(&circuit, "R4"), kind(&read(TWO), "R4"));
    assert_eq!(circuit.nodes(), read(TWO).nodes());
}

#[test]
fn valves_loudspeakers_and_switches_are_changed() {
    let circuit = read(PUSH_PULL)
        .with_written_changes(
            &changes(&["V1=TEST1", "LS1=tin twelve", "SW1=open", "BIAS=-28"]),
            &catalogue(),
        )
        .expect("good changes");
    for half in ["V1a", "V1b"] {
        assert!(
            matches!(kind(&circuit, half), PartKind::Triode { valve, .. } if valve.name == "TEST1")
        );
    }
    assert!(
        matches!(kind(&circuit, "LS1"), PartKind::Loudspeaker { driver, .. } if driver.name == "Tin Twelve")
    );
    assert!(matches!(
        kind(&circuit, "SW1"),
        PartKind::Switch { closed: false, .. }
    ));
    assert!(matches!(kind(&circuit, "BIAS"), PartKind::BiasSupply { volts, .. } if volts == -28.0));

    let rectified = PUSH_PULL.replace(
        "HT = { supply = \"320 V\", node = \"ht1\", resistance = \"150\"",
        "V9 = { rectifier = \"RECT1\", winding = \"280 V\", to = \"ht1\"",
    );
    let circuit = read(&rectified)
        .with_written_changes(&changes(&["V9=rect2"]), &catalogue())
        .expect("a good change");
    assert!(
        matches!(kind(&circuit, "V9"), PartKind::Rectifier { rectifier, from, winding_ohms, .. }
        if rectifier.name == "RECT2" && from == circuit::GROUND && winding_ohms == 150.0)
    );
}

#[test]
fn changes_are_refused_with_a_remedy() {
    refused(
        TWO,
        "R33=1k",
        "R33: is not a part of this circuit; did you mean R3?",
    );
    refused(
        TWO,
        "R3=0",
        "R3: 0 Ω is outside 0.1 Ω to 22 MΩ; state a value within it",
    );
    refused(
        TWO,
        "Volume=0.5",
        "Volume: is not a part of this circuit; Volume is a control: set it as one",
    );
    refused(
        TWO,
        "V2=TEST1",
        "V2: is not a part of this circuit; did you mean V1?",
    );
    refused(
        TWO,
        "V1a=TEST1",
        "V1b, line 25: is ECC83 but V1a is TEST1: they are halves of one valve; give both halves the same type",
    );
    refused(
        TWO,
        "V1=TEST2",
        "V1a: TEST2 has another socket (octal, other) than ECC83 (noval, ECC83); these fit: ECC83, TEST1",
    );
    refused(
        TWO,
        "V1=EL84",
        "V1a: EL84 is a pentode; these fit: ECC83, TEST1",
    );
    refused(
        TWO,
        "V1=ECC83x",
        "V1a: \"ECC83x\" is not a known triode; did you mean ECC83?",
    );
    refused(
        TWO,
        "HT=out",
        "HT: a supply is not taken out or put in; change another part",
    );
    refused(
        PUSH_PULL,
        "SW1=in",
        "SW1: a switch is not taken out or put in; write open or closed",
    );
    refused(
        PUSH_PULL,
        "SW1=sideways",
        "SW1: \"sideways\" is not a position of a switch; write on, off, closed or open",
    );
    refused(
        PUSH_PULL,
        "T1=6k",
        "T1: an output transformer has no single value to change; change its line in the circuit file",
    );
    // All at once.
    let faults = read(TWO)
        .with_written_changes(&changes(&["R3=0", "C1=x", "R99=1k"]), &catalogue())
        .expect_err("three faults");
    assert_eq!(faults.len(), 3);
    for text in ["R14", "=33k", "R14=", "="] {
        assert!(text.parse::<WrittenChange>().is_err(), "{text}");
    }
}

#[test]
fn controls_are_set_in_any_case() {
    let circuit = read(TWO)
        .with_written_controls(&settings(&["VOLUME = 60%"]))
        .expect("a good setting");
    assert!(matches!(kind(&circuit, "VR1"), PartKind::Pot { set, .. } if set == 0.6));
    assert_eq!(circuit.controls(), ["Volume"]);
    for (word, expected) in [
        ("off", false),
        ("ON", true),
        ("open", false),
        ("closed", true),
    ] {
        let circuit = read(PUSH_PULL)
            .with_written_controls(&settings(&[&format!("feedback={word}")]))
            .expect("a good setting");
        assert!(
            matches!(kind(&circuit, "SW1"), PartKind::Switch { closed, .. } if closed == expected)
        );
    }
    let told = |setting: &str| {
        read(TWO)
            .with_written_controls(&settings(&[setting]))
            .expect_err(setting)[0]
            .to_string()
    };
    assert_eq!(
        told("Volum=0.5"),
        "Volum is not a control of this circuit; did you mean Volume?"
    );
    assert_eq!(
        told("volume=11"),
        "Volume: 11 is outside 0 to 1; state a value within it"
    );
    assert_eq!(
        told("Reverb=1"),
        "Reverb is not a control of this circuit; the controls are Volume"
    );
}

#[test]
fn ganged_pots_move_together() {
    let gang = TWO.replace(
        "V1b =",
        "VR2 = { pot = \"1M\", from = \"a2\", to = \"gnd\", wiper = \"gnd\", control = \"volume\", set = 0.5 }\nV1b =",
    );
    let circuit = read(&gang)
        .with_written_controls(&settings(&["Volume=0.7"]))
        .expect("a good setting");
    for pot in ["VR1", "VR2"] {
        assert!(matches!(kind(&circuit, pot), PartKind::Pot { set, .. } if set == 0.7));
    }
    assert_eq!(circuit.controls(), ["Volume"]);
}

const PROPOSAL: &str = r#"
# Less gain, more bottom.
format = 1

[proposal]
name = "Darker"
about = "Lower anode load, larger bypass."
for = "Slack Tide"

[changes]
R3 = "100k"
C1 = "22u"
C3 = "in"
R6 = 1500

[controls]
Volume = 0.6
"#;

#[test]
fn proposals() {
    let proposal = circuit::read_proposal(PROPOSAL).expect("a valid proposal");
    assert_eq!(
        (proposal.name.as_str(), proposal.for_amp.as_str()),
        ("Darker", "Slack Tide")
    );
    let circuit = proposal.apply(&read(TWO), &catalogue()).expect("applies");
    assert!(matches!(kind(&circuit, "R6"), PartKind::Resistor { ohms, .. } if ohms == 1500.0));
    assert!(matches!(kind(&circuit, "VR1"), PartKind::Pot { set, .. } if set == 0.6));

    let mut again = circuit::read_proposal(&circuit::write_proposal(&proposal)).expect("valid");
    let mut first = proposal.clone();
    for p in [&mut again, &mut first] {
        p.changes.iter_mut().for_each(|c| c.line = None);
        p.settings.iter_mut().for_each(|s| s.line = None);
    }
    assert_eq!(again, first);

    let faults = proposal
        .apply(&read(PUSH_PULL), &catalogue())
        .expect_err("no volume there");
    assert_eq!(
        faults.last().map(ToString::to_string).as_deref(),
        Some("line 17: Volume is not a control of this circuit; the controls are Feedback")
    );

    let told = |text: &str| -> Vec<String> {
        let faults = circuit::read_proposal(text).expect_err(text);
        faults.iter().map(ToString::to_string).collect()
    };
    assert_eq!(
        told("format = 1\n[chnages]\nR1 = \"1k\"\n"),
        ["line 2: chnages is not a known key; did you mean changes?"]
    );
    assert_eq!(
        told("format = 1\n[changes]\nR1 = [1]\nR2 = \"1k\"\nR2 = \"2k\"\n"),
        [
            "line 3: R1 has no single value; write it like R14 = \"33k\" or Volume = 0.6",
            "R2, line 5: R2 is stated twice; give one of the two another name, or delete it",
        ]
    );
    assert_eq!(
        circuit::read_proposal("format = 1\n"),
        Ok(WrittenProposal::default())
    );
    assert!(circuit::read_proposal_bytes(&[0xff, 0xfe]).is_err());
}

/// Changes and settings made in a file's text.
fn edit(text: &str, edits: &[&str], controls: &[&str]) -> Result<String, Vec<Diagnostic>> {
    let list = WrittenProposal {
        changes: changes(edits),
        settings: settings(controls),
        ..WrittenProposal::default()
    };
    let list = list.resolve(&read(text), &catalogue())?;
    circuit::edit(text, &list.changes, &list.settings, &catalogue())
}

#[test]
fn edits_keep_comments_and_layout() {
    let own = r#"# My amp, measured in spring.
format = 1   # the first

[amp]
name  = "Slack Tide"
input = "in"
output = "out"   # to the next stage

[parts]
HT  = { supply = "300 V", node = "ht", resistance = "1k" }

# --- first stage ---
R1  = { resistor = "1M",   between = ["in", "gnd"] }   # was 2M2 once
V1a = { triode = 'ECC83', anode = "a", grid = "in", cathode = "k" }
V1b = { triode = 'ECC83', anode = "a", grid = "in", cathode = "k" }
R2  = { resistor   =   "100k" , between = ["a", "ht"] } # anode load
R3  = { resistor = 1500, between = ["k", "gnd"] }
C1  = { capacitor = "22n", between = ["a", "out"] }
VR1 = { pot = "1M", from = "out", to = "gnd", wiper = "gnd", control = "Level" }
[parts.C2] # as a table of its own
capacitor = "10u" # bypass
between = ["k", "gnd"]
"#;
    let edited = edit(
        own,
        &[
            "R2=0.22M", "R3=1.8k", "C2=25u", "V1=TEST1", "C1=out", "R1=1M",
        ],
        &["level=0.5"],
    )
    .expect("good changes");
    let expected = own
        .replace("\"100k\" ", "\"220k\" ")
        .replace("1500", "\"1k8\"")
        .replace("\"10u\"", "\"25u\"")
        .replace("'ECC83'", "\"TEST1\"")
        .replace("[\"a\", \"out\"] }", "[\"a\", \"out\"], fitted = false }")
        .replace("\"Level\" }", "\"Level\", set = 0.5 }");
    assert_eq!(edited, expected);
    // Back in, and nothing else moves.
    let back = edit(&edited, &["C1=in"], &[]).expect("good");
    assert_eq!(back, edited.replace("fitted = false", "fitted = true"));
    let same = edit(own, &[], &[]).expect("no change");
    assert_eq!(same, own);
    assert!(edit(own, &["R2=x"], &[]).is_err());
}

#[test]
fn an_assumed_winding_follows_its_inductance() {
    let choke = TWO.replace("R20 = { resistor = \"22k\"", "L1 = { inductor = \"10 H\"");
    let circuit = read(&choke);
    let sentence = "L1: winding resistance is not stated; 200 Ω is assumed.";
    assert_eq!(circuit.supplied(), [sentence]);
    let changed = circuit
        .with_written_changes(&changes(&["L1=5"]), &catalogue())
        .expect("a good change");
    assert!(
        matches!(kind(&changed, "L1"), PartKind::Inductor { winding_ohms, .. } if winding_ohms == 100.0)
    );
    let again = read(&circuit::write(&changed));
    assert!(again.same_but_for_lines(&changed));
}
