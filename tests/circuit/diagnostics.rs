//! Diagnostics: every fault is found, all at once, with part, line, range and remedy.

use engine::circuit;
use engine::device::Catalogue;

const BASE: &str = include_str!("../circuits/one_triode.toml");

fn faults(text: &str) -> Vec<String> {
    match circuit::read(text, &Catalogue::built_in()) {
        Ok(_) => Vec::new(),
        Err(faults) => faults.iter().map(ToString::to_string).collect(),
    }
}

/// The base circuit with one text in place of another must give exactly these faults.
#[track_caller]
fn check(old: &str, new: &str, expected: &[&str]) {
    assert!(BASE.contains(old), "the base circuit has no {old}");
    assert_eq!(faults(&BASE.replacen(old, new, 1)), expected);
}

#[test]
fn values() {
    check(
        "\"68k\"",
        "\"0\"",
        &["R1, line 12: 0 Ω is outside 0.1 Ω to 22 MΩ; state a value within it"],
    );
    check("\"68k\"", "68000", &[]);
    check(
        "\"68k\"",
        "\"68q\"",
        &["R1, line 12: \"68q\" is not a resistance; write it like 4k7, 470, 2M2 or R47"],
    );
    check(
        "\"1M\"",
        "\"1m\"",
        &[
            "R2, line 13: \"1m\" is doubtful: \"m\" is not a usual prefix of a resistance; write 4M7 for megohms, R0047 for milliohms",
        ],
    );
    check(
        "\"25u\"",
        "[1, 2]",
        &["C1, line 17: [1, 2] is not a capacitance; write a value such as capacitor = \"…\""],
    );
    check(
        "\"5%\"",
        "\"5\"",
        &["R3, line 15: tolerance: 500 % is outside 0.01 % to 90 %; state a value within it"],
    );
    check(
        "\"1 W\"",
        "[\"1 W\", \"banana\"]",
        &[
            "R3, line 15: banana is not a rating; write rated = \"0.5 W\", \"400 V\" or a list of both",
        ],
    );
    check("\"1 W\"", "[\"1 W\", \"350 V\"]", &[]);
    check(
        "HT = { supply = \"250 V\"",
        "HT = { supply = nan",
        &["HT, line 11: \"nan\" is not a supply voltage; write it like \"280 V\""],
    );
}

#[test]
fn keys() {
    check(
        "R1 = { resistor",
        "R1 = { resistro",
        &["R1, line 12: resistro is not a kind of part; did you mean resistor?"],
    );
    check(
        "anode = \"a1\"",
        "annode = \"a1\"",
        &[
            "V1a, line 14: annode is not a known key; did you mean anode?",
            "V1a, line 14: anode is missing from this triode; add anode = …",
        ],
    );
    check(
        "role = \"load\"",
        "colour = \"load\"",
        &[
            "R5, line 19: colour is not a known key; known here: resistor, between, rated, tolerance, fitted, stage, role, near",
        ],
    );
    check(
        "R1 = { resistor = \"68k\", between = [\"in\", \"g1\"],",
        "R1 = { between = [\"in\", \"g1\"], resistor = \"68k\",",
        &["R1, line 12: resistor is not the first key; name the kind first"],
    );
    check(
        "R5 = { resistor = \"1M\", between = [\"out\", \"gnd\"], stage = \"First gain stage\", role = \"load\" }",
        "R5 = {}",
        &[
            "R5, line 19: has no kind; name the kind first: resistor, capacitor, inductor, pot, switch, triode, pentode, rectifier, output_transformer, loudspeaker, supply, bias_supply, voltage_source",
        ],
    );
    check(
        "R5 = { resistor = \"1M\", between = [\"out\", \"gnd\"], stage = \"First gain stage\", role = \"load\" }",
        "R5 = \"1M\"",
        &[
            "R5, line 19: 1M is not a part; write R5 = { resistor = \"4k7\", between = [\"…\", \"…\"] }",
        ],
    );
    check(
        "name =",
        "nmae =",
        &[
            "line 4: name is missing from [amp]; add name = \"…\"",
            "line 5: nmae is not a known key; did you mean name?",
        ],
    );
    check(
        "format = 1",
        "format = 2",
        &["line 2: this format is not known; write format = 1, or use a newer program"],
    );
}

#[test]
fn names() {
    check(
        "\"ECC83\"",
        "\"ECC38\"",
        &["V1a, line 14: ECC38 is not a known triode; did you mean ECC83?"],
    );
    check(
        "\"ECC83\"",
        "\"EL84\"",
        &[
            "V1a, line 14: EL84 is a pentode; write pentode = \"EL84\" with its screen; joined to the anode's node it works as a triode",
        ],
    );
    check(
        "R1 = {",
        "\"R 1\" = {",
        &[
            "R 1, line 12: is not a designator; use a letter, then letters and digits, 12 at most, such as R14, V1a or HT",
        ],
    );
    check(
        "R1 = {",
        "r3 = {",
        &[
            "R3, line 15: differs from r3 on line 12 in capitals only; give one of the two another designator",
        ],
    );
    check(
        "input = \"in\"",
        "input = \"inn\"",
        &["line 7: input inn is on no part; did you mean in?"],
    );
    check(
        "output = \"out\"",
        "output = \"R5\"",
        &["line 8: output R5 is on no part; name a node that the parts use as output"],
    );
    check(
        "input = \"in\"",
        "input = \"gnd\"",
        &["line 7: gnd cannot be the input; name the node of the input socket"],
    );
    check(
        "[\"k1\", \"gnd\"], stage",
        "[\"k 1\", \"gnd\"], stage",
        &[
            "R4, line 16: k 1 is not a node name; use letters, digits, _ + - . (24 at most) in quotes; ground is \"gnd\"",
        ],
    );
    check(
        "name = \"Plumb Bob\"",
        "name = \"Plumb\\u001bBob\"",
        &[
            "line 5: name is not a text of at most 120 characters; write it in quotes, without control characters",
        ],
    );
}

#[test]
fn notation_of_the_file() {
    // A duplicate is told with its line, and other faults are told beside it.
    let text = BASE
        .replacen("R2 = {", "R1 = {", 1)
        .replacen("\"22n\"", "\"22x\"", 1);
    assert_eq!(
        faults(&text),
        [
            "R1, line 13: R1 is stated twice; give one of the two another name, or delete it",
            "C2, line 18: \"22x\" is not a capacitance; write it like 22n, 0.022u or 100p",
        ]
    );
    let open = BASE.replacen("\"ECC83\"", "\"ECC83", 1);
    let told = faults(&open);
    assert!(
        told[0].starts_with("V1a, line 14: not valid TOML: "),
        "{told:?}"
    );
    assert_eq!(
        faults(""),
        [
            "format is missing; add format = 1 as the first line",
            "the file has no [parts]; add a line [parts] with its entries below",
            "the file has no [amp]; add a line [amp] with its entries below",
        ]
        .map(String::from)
    );
}

#[test]
fn wiring() {
    check(
        "cathode = \"k1\"",
        "cathode = \"k2\"",
        &["V1a, line 14: node k2 is used only here; did you mean k1?"],
    );
    check(
        "between = [\"out\", \"gnd\"]",
        "between = [\"out\", \"out\"]",
        &[
            "C2, line 18: node out has no path for direct current to ground; capacitors and grids let none through: add the leak resistor or the missing joint",
            "R5, line 19: both ends are on node out; name the node of the other end",
        ],
    );
    // A grid behind a capacitor alone.
    check(
        "R1 = { resistor = \"68k\"",
        "R1 = { capacitor = \"68n\"",
        &[
            "R1, line 12: node g1 has no path for direct current to ground; capacitors and grids let none through: add the leak resistor or the missing joint",
        ],
    );
    check(
        "R5 = {",
        "HT2 = { supply = \"200 V\", node = \"ht\", resistance = 0 }\nR5 = {",
        &[
            "HT2, line 19: closes a loop of sources without resistance at node ht; state its resistance, or remove one of the sources (the input counts as one)",
        ],
    );
    check(
        "R5 = {",
        "HT2 = { supply = \"200 V\", node = \"ht\", resistance = 10 }\nR5 = {",
        &[],
    );
    check(
        "R5 = {",
        "G1 = { voltage_source = 1, between = [\"in\", \"gnd\"], resistance = 0 }\nR5 = {",
        &[
            "G1, line 19: closes a loop of sources without resistance at node in; state its resistance, or remove one of the sources (the input counts as one)",
        ],
    );
    // Capitals make another node, and the near name is told.
    check(
        "between = [\"k1\", \"gnd\"], stage",
        "between = [\"K1\", \"gnd\"], stage",
        &["R4, line 16: node K1 is used only here; did you mean k1?"],
    );
}

#[test]
fn parts_that_must_agree() {
    let catalogue = Catalogue::built_in();
    let two = include_str!("../circuits/two_stages.toml");
    let told = |text: String| -> Vec<String> {
        circuit::read(&text, &catalogue)
            .expect_err("a fault")
            .iter()
            .map(ToString::to_string)
            .collect()
    };
    let switch = "SW1 = { switch = \"open\", between = [\"a2\", \"gnd\"], control = \"volume\" }\n";
    assert_eq!(
        told(two.replace("V1b =", &format!("{switch}V1b ="))),
        [
            "SW1, line 25: control volume is of another kind at VR1; name another control, or set both alike"
        ]
    );
    let pot = "VR2 = { pot = \"1M\", from = \"a2\", to = \"gnd\", wiper = \"gnd\", control = \"Volume\", set = 0.4 }\n";
    assert_eq!(
        told(two.replace("V1b =", &format!("{pot}V1b ="))),
        [
            "VR2, line 25: control Volume is set differently at VR1; name another control, or set both alike"
        ]
    );
    let mut valves = Catalogue::built_in();
    let mut other = (**valves.valve("ECC83").expect("a built-in valve")).clone();
    other.name = "ECC99X".into();
    other.also.clear();
    valves.valves.push(other.into());
    let text = two.replace("V1b = { triode = \"ECC83\"", "V1b = { triode = \"ECC99X\"");
    let faults = circuit::read(&text, &valves).expect_err("unlike halves");
    assert_eq!(
        faults[0].to_string(),
        "V1b, line 25: is ECC99X but V1a is ECC83: they are halves of one valve; give both halves the same type"
    );
}

#[test]
fn transformer() {
    let base = include_str!("../circuits/push_pull.toml");
    let told = |old: &str, new: &str| faults(&base.replacen(old, new, 1));
    let line = base
        .lines()
        .position(|l| l.starts_with("T1 ="))
        .expect("T1")
        + 1;
    assert_eq!(
        told("secondary = [\"spk\", \"gnd\"]", "secondary = [\"spk\"]"),
        [format!(
            "T1, line {line}: [\"spk\"] is not a value of secondary: it takes a list of 2 to 12 nodes; write secondary = [\"…\", \"…\"]"
        )]
    );
    assert_eq!(
        told(
            "primary = \"8k\"",
            "primary = \"8k\", indutcance = \"20 H\""
        ),
        [format!(
            "T1, line {line}: indutcance is not a known key; did you mean inductance?"
        )]
    );
    assert_eq!(
        told(
            "primary = [\"a3\", \"ht1\", \"a4\"]",
            "primary = [\"a3\", \"ht1\", \"a4\"], primary_shares = [0, 0.6, 0.5]"
        ),
        [format!(
            "T1, line {line}: [0, 0.6, 0.5] does not rise from 0 to 1; state the turns from the first end to each tap as a share of the winding"
        )]
    );
    assert_eq!(
        told(
            "{ primary = \"8k\", secondary = \"8\" }",
            "{ primary = \"8k\" }"
        ),
        [format!(
            "T1, line {line}: secondary is missing from output_transformer; add secondary = its impedance, such as \"8k\" or \"8\""
        )]
    );
    assert_eq!(
        told(
            "[\"a3\", \"ht1\", \"a4\"]",
            "[\"a3\", \"ht1\", \"a4\", \"a3\"]"
        ),
        [format!(
            "T1, line {line}: several ends are on node a3; name the node of the other end"
        )]
    );
    assert_eq!(
        told("\"Tin Ten\"", "\"Tin Tin\""),
        [format!(
            "LS1, line {}: Tin Tin is not a known loudspeaker; did you mean Tin Ten?",
            line + 1
        )]
    );
    assert_eq!(
        told("\"-24 V\"", "\"24 V\"")[0],
        "BIAS, line 12: 24 V is outside -200 V to -0.1 V; state a value within it"
    );
}

#[test]
fn many_faults_at_once_in_the_order_of_the_file() {
    let text = BASE
        .replacen("\"68k\"", "\"68q\"", 1)
        .replacen("\"1M\"", "\"0\"", 1)
        .replacen("\"ECC83\"", "\"ECC8\"", 1)
        .replacen("tolerance = \"5%\"", "tolerence = \"5%\"", 1)
        .replacen("[\"k1\", \"gnd\"], stage", "[\"kk\", \"gnd\"], stage", 1)
        .replacen("\"25u\"", "\"25m\"", 1);
    let told = faults(&text);
    let lines: Vec<&str> = told
        .iter()
        .map(|t| t.split(':').next().unwrap_or(""))
        .collect();
    assert_eq!(
        lines,
        [
            "R1, line 12",
            "R2, line 13",
            "V1a, line 14",
            "R3, line 15",
            "R4, line 16",
            "C1, line 17"
        ],
        "{told:#?}"
    );
}
