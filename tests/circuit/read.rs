//! Reading: valid files give the circuit that they describe, with warnings where they deserve a
//! look.

use engine::circuit::{self, Circuit, Severity};
use engine::device::Catalogue;

fn read(text: &str) -> Circuit {
    circuit::read(text, &Catalogue::built_in()).unwrap_or_else(|faults| {
        panic!(
            "{}",
            faults.iter().map(|f| format!("{f}\n")).collect::<String>()
        )
    })
}

#[test]
fn test_circuits_are_valid_and_without_warnings() {
    for text in [
        include_str!("../circuits/one_triode.toml"),
        include_str!("../circuits/two_stages.toml"),
        include_str!("../circuits/push_pull.toml"),
    ] {
        let circuit = read(text);
        assert_eq!(circuit.warnings(), []);
    }
}

#[test]
fn warnings_of_a_valid_circuit() {
    let text = include_str!("../circuits/one_triode.toml")
        .replacen("role = \"load\" }", "role = \"load\", fitted = false }", 1)
        .replacen("R4 =", "C4 =", 1)
        .replace("[\"k1\", \"gnd\"]", "[\"K1\", \"gnd\"]")
        .replace("C1 =", "R6 = { resistor = 10, between = [\"K1\", \"k1\"] }\nR7 = { resistor = 10, between = [\"K1\", \"k1\"] }\nC1 =");
    let circuit = read(&text);
    let warnings = circuit.warnings();
    assert!(warnings.iter().all(|w| w.severity == Severity::Warning));
    let told: Vec<String> = warnings.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "warning: C4, line 16: is a resistor, not a capacitor; check the kind, or choose a designator that fits",
            "warning: nodes k1 and K1 differ in capitals only; write them alike if they are one",
            "warning: node out has no path for direct current to ground as it stands; check which parts are fitted and which switches are open",
        ]
    );
}

/// Values in SI units, nodes by name, particulars: one line of each sort looked at by hand.
#[test]
fn a_file_gives_the_values_that_it_states() {
    use circuit::{GROUND, PartKind, Taper};
    let two = read(include_str!("../circuits/two_stages.toml"));
    assert_eq!((two.name(), two.parts().len()), ("Slack Tide", 18));
    let part = |circuit: &Circuit, name: &str| {
        circuit
            .part(circuit.find_part(name).expect("a part"))
            .clone()
    };
    let node = |name: &str| two.find_node(name).expect("a node");
    assert_eq!(
        part(&two, "VR1").kind,
        PartKind::Pot {
            ohms: 500e3,
            taper: Taper::Log,
            from: node("vol"),
            to: GROUND,
            wiper: node("g2"),
            set: 0.5,
            control: "Volume".into(),
        }
    );
    let feed = part(&two, "R20");
    assert_eq!(feed.particulars.rated_watts, Some(1.0));
    assert_eq!(feed.particulars.stage, "Supply");
    assert!(!part(&two, "C3").fitted && part(&two, "C4").fitted);
    assert_eq!(two.input(), node("in"));
    assert_eq!(
        (two.output().positive, two.output().negative),
        (node("out"), GROUND)
    );

    // The assumed transformer is the typical one at its own 8 kΩ: 16 mH, 22 kΩ a half, 240 Ω,
    // 1 nF (common practice, no source), 150 kΩ (see `tests/print`); a pair's core for 80 Hz.
    let whole = read(include_str!("../circuits/push_pull.toml"));
    let PartKind::OutputTransformer(t) = part(&whole, "T1").kind else {
        panic!("T1 is the transformer");
    };
    assert_eq!((t.primary_ohms, t.secondary_ohms), (8e3, 8.0));
    assert_eq!(
        (t.full_power_hz, t.leakage, t.leakage_damping),
        (80.0, 16e-3, 22e3)
    );
    assert_eq!(
        (t.primary_resistance, t.core_loss, t.winding_farads),
        (240.0, 150e3, 1e-9)
    );
    assert!((t.secondary_resistance - 0.24).abs() < 1e-12);
    // In two digits: 0.7 of twice the 12 W of an EL84; a reactance of twice the load at 80 Hz.
    assert_eq!(
        (t.rated_watts, t.inductance, t.direct_amps),
        (17.0, 32.0, 0.0)
    );
    assert_eq!(t.primary.shares, [0.0, 0.5, 1.0]);
    assert_eq!(whole.supplied().len(), 8, "{:?}", whole.supplied());
    let speaker = whole
        .output()
        .loudspeaker
        .map(|id| &whole.part(id).designator);
    assert_eq!(speaker.map(String::as_str), Some("LS1"));
}
