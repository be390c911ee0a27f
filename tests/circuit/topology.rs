//! What parts are for, found from parts and nodes alone.

use super::numbers::Numbers;
use super::random_amp::random_amp;
use engine::circuit::topology::{InverterKind, Role, StageKind, Topology};
use engine::circuit::{self, Circuit};
use engine::device::Catalogue;
use std::collections::BTreeMap;

fn read(text: &str) -> Option<Circuit> {
    circuit::read(text, &Catalogue::built_in()).ok()
}

fn built_in(key: &str) -> Circuit {
    let text = circuit::built_in_circuit(key).expect("there").text;
    read(text).expect("no faults")
}

/// What the files of our own amps call a part, and the roles that this may mean (own amps, design
/// intent).
const WORDS: &[(&str, &[Role])] = &[
    ("rectified high tension", &[Role::Supply]),
    ("rectifier", &[Role::Supply]),
    ("reservoir", &[Role::Reservoir]),
    ("choke", &[Role::RailFeed]),
    ("screen feed", &[Role::RailFeed]),
    ("inverter feed", &[Role::RailFeed]),
    ("driver feed", &[Role::RailFeed]),
    ("gain stage feed", &[Role::RailFeed]),
    ("screen decoupling", &[Role::Decoupling]),
    ("inverter decoupling", &[Role::Decoupling]),
    ("driver decoupling", &[Role::Decoupling]),
    ("gain stage decoupling", &[Role::Decoupling]),
    ("rectified bias voltage", &[Role::BiasSupply]),
    ("bias reservoir", &[Role::BiasDecoupling]),
    ("bias decoupling", &[Role::BiasDecoupling]),
    ("bias feed", &[Role::BiasFeed]),
    ("bias load", &[Role::BiasLoad]),
    ("grid leak", &[Role::GridLeak, Role::InputLoad]),
    ("grid stopper", &[Role::GridStopper]),
    ("gain", &[Role::Gain]),
    ("follower", &[Role::Follower]),
    ("driven half", &[Role::InverterDriven]),
    ("driver", &[Role::InverterDriven]),
    ("cathodyne", &[Role::InverterDriven]),
    ("cathode-driven half", &[Role::InverterOther]),
    ("inverter", &[Role::InverterOther]),
    ("output", &[Role::OutputValve]),
    ("anode load", &[Role::AnodeLoad]),
    ("cathode bias", &[Role::CathodeBias]),
    ("common cathode bias", &[Role::CathodeBias]),
    ("bias", &[Role::CathodeBias]),
    ("cathode bypass", &[Role::CathodeBypass]),
    ("cathode load", &[Role::CathodeLoad]),
    ("tail", &[Role::Tail]),
    ("coupling", &[Role::Coupling]),
    ("second grid to feedback", &[Role::Coupling]),
    ("mixing", &[Role::Series, Role::ToneNetwork]),
    ("series", &[Role::Series]),
    ("tone shunt", &[Role::Tone]),
    ("tone", &[Role::Tone]),
    ("volume", &[Role::Volume]),
    ("bright", &[Role::Bright]),
    ("slope", &[Role::ToneNetwork]),
    ("treble", &[Role::Treble]),
    ("treble lift", &[Role::Treble]),
    ("treble cut", &[Role::Treble]),
    ("bass", &[Role::Bass]),
    ("bass lift", &[Role::Bass]),
    ("bass cut", &[Role::Bass]),
    ("bass, upper", &[Role::ToneNetwork, Role::Bass]),
    ("bass, lower", &[Role::ToneNetwork, Role::Bass]),
    ("middle", &[Role::Middle]),
    ("divider, upper", &[Role::DividerUpper]),
    ("divider, lower", &[Role::DividerLower]),
    ("see-saw, driver side", &[Role::Paraphase]),
    ("see-saw, own side", &[Role::Paraphase]),
    ("feedback", &[Role::Feedback]),
    ("feedback, inner", &[Role::Feedback]),
    ("feedback, outer", &[Role::Feedback]),
    ("feedback shunt", &[Role::FeedbackShunt]),
    ("feedback switch", &[Role::FeedbackSwitch]),
    ("presence", &[Role::Presence]),
    ("screen stopper", &[Role::ScreenStopper]),
    ("output transformer", &[Role::OutputTransformer]),
    ("10-inch loudspeaker", &[Role::Loudspeaker]),
    ("12-inch loudspeaker", &[Role::Loudspeaker]),
    ("cabinet of four", &[Role::Loudspeaker]),
    ("extension socket", &[Role::Loudspeaker]),
];

#[test]
fn every_part_of_our_own_amps_is_recognised() {
    for built_in in circuit::built_in_circuits() {
        let circuit = read(built_in.text).expect("no faults");
        let topology = circuit.topology();
        for (i, part) in circuit.parts().iter().enumerate() {
            let words = part.particulars.role.as_str();
            let known = WORDS.iter().find(|(word, _)| *word == words);
            let (_, right) = known.unwrap_or_else(|| panic!("no role for {words:?}"));
            let found = topology.parts[i].role;
            assert!(
                right.contains(&found),
                "{}: {} is {words:?}, found {found:?}",
                built_in.key,
                part.designator
            );
        }
    }
}

fn kinds(topology: &Topology) -> Vec<StageKind> {
    let stages = topology.stages.iter();
    stages
        .filter(|stage| !stage.valves.is_empty())
        .map(|stage| stage.kind)
        .collect()
}

#[test]
fn stages_stand_in_the_order_of_the_signal() {
    let kinds = kinds(&built_in("spokeshave").topology());
    assert!(
        matches!(
            kinds[..],
            [
                StageKind::Gain,
                StageKind::Follower,
                StageKind::Gain,
                StageKind::Inverter(InverterKind::Cathodyne),
                StageKind::Output(output),
            ] if output.push_pull && output.cathode_bias
        ),
        "{kinds:?}"
    );
    let inverter = |key: &str| {
        let topology = built_in(key).topology();
        topology.stages.iter().find_map(|stage| match stage.kind {
            StageKind::Inverter(kind) => Some(kind),
            _ => None,
        })
    };
    assert_eq!(inverter("bradawl"), Some(InverterKind::LongTailedPair));
    assert_eq!(inverter("sluice"), Some(InverterKind::FloatingParaphase));
    assert_eq!(inverter("mizzle"), None);
}

#[test]
fn parts_of_drawn_amps_are_what_they_were_built_for() {
    let (mut right, mut all) = (0, 0);
    let mut missed: BTreeMap<String, usize> = BTreeMap::new();
    for seed in 0..200 {
        let amp = random_amp(seed);
        let circuit = read(&amp.text).unwrap_or_else(|| panic!("amp {seed} has faults"));
        let topology = circuit.topology();
        for (designator, role) in &amp.roles {
            let part = circuit.find_part(designator).expect("there");
            let found = format!("{:?}", topology.of(part).role);
            all += 1;
            if role.split('|').any(|role| role == found) {
                right += 1;
            } else {
                *missed
                    .entry(format!("{role} taken for {found}"))
                    .or_default() += 1;
            }
        }
    }
    let share = right as f64 / all as f64;
    println!("{right} of {all}: {missed:?}");
    assert!(share >= 0.98, "{right} of {all}: {missed:#?}");
}

/// The same circuit with its nodes renamed and its parts in the opposite order.
fn disguised(text: &str) -> String {
    let mut head = Vec::new();
    let mut parts = Vec::new();
    for line in text.lines() {
        let part = line.contains("= {") && !line.starts_with('[');
        if part { &mut parts } else { &mut head }.push(line.to_string());
    }
    parts.reverse();
    let mut out = String::new();
    for line in head.into_iter().chain(parts) {
        let mut rest = line.as_str();
        while let Some(at) = rest.find('"') {
            let (before, after) = rest.split_at(at + 1);
            out.push_str(before);
            let end = after.find('"').expect("closed");
            let word = &after[..end];
            let digits = word.strip_prefix('n');
            if digits.is_some_and(|d| !d.is_empty() && d.bytes().all(|b| b.is_ascii_digit())) {
                out.push_str(&format!("x{}q", 997 - digits.unwrap_or("").len()));
                out.push_str(digits.unwrap_or(""));
            } else {
                out.push_str(word);
            }
            out.push('"');
            rest = &after[end + 1..];
        }
        out.push_str(rest);
        out.push('\n');
    }
    out
}

fn by_designator(circuit: &Circuit) -> BTreeMap<String, Role> {
    let topology = circuit.topology();
    let parts = circuit.parts().iter().enumerate();
    parts
        .map(|(i, part)| (part.designator.clone(), topology.parts[i].role))
        .collect()
}

/// A circuit file with one thing damaged: a node exchanged for another of the file's, or a part gone.
fn damaged(text: &str, seed: u64) -> String {
    let mut numbers = Numbers::new(seed);
    let mut below = |n: usize| numbers.below(n);
    let mut lines: Vec<String> = text.lines().map(String::from).collect();
    let parts: Vec<usize> = (0..lines.len())
        .filter(|i| lines[*i].contains("= {"))
        .collect();
    let line = parts[below(parts.len())];
    if below(4) == 0 {
        lines.remove(line);
        return lines.join("\n");
    }
    let nodes: Vec<String> = lines
        .iter()
        .flat_map(|line| line.split('"').map(String::from).collect::<Vec<_>>())
        .filter(|word| {
            word.strip_prefix('n')
                .is_some_and(|d| !d.is_empty() && d.bytes().all(|b| b.is_ascii_digit()))
        })
        .collect();
    let old: Vec<String> = lines[line]
        .split('"')
        .filter(|word| nodes.iter().any(|n| n == word))
        .map(String::from)
        .collect();
    if let Some(old) = old.get(below(old.len().max(1))) {
        let new = &nodes[below(nodes.len())];
        lines[line] = lines[line].replacen(&format!("\"{old}\""), &format!("\"{new}\""), 1);
    }
    lines.join("\n")
}

#[test]
fn neither_names_nor_order_decide_and_damage_is_survived() {
    let mut accepted = 0;
    for seed in 0..1400 {
        let text = damaged(&random_amp(seed % 70).text, seed + 1);
        let Some(circuit) = read(&text) else { continue };
        accepted += 1;
        let found = by_designator(&circuit);
        assert_eq!(found.len(), circuit.parts().len());
        assert_eq!(
            found,
            by_designator(&circuit),
            "seed {seed}: not twice the same"
        );
        let other = read(&disguised(&text)).expect("the same circuit");
        let there = by_designator(&other);
        for (designator, role) in &found {
            assert_eq!(there[designator], *role, "seed {seed}: {designator}");
        }
    }
    assert!(
        accepted >= 500,
        "only {accepted} of the damaged circuits could be read"
    );
}

#[test]
fn what_is_not_fitted_is_recognised_too() {
    let mizzle = built_in("mizzle");
    let role = |designator: &str| {
        let part = mizzle.find_part(designator).expect("there");
        mizzle.topology().of(part).role
    };
    assert_eq!(role("C3"), Role::Bright);
    assert_eq!(role("C10"), Role::CathodeBypass);
    assert_eq!(role("VR1"), Role::Volume);
}

/// The file without what it says of stages and roles.
fn without_texts(text: &str) -> String {
    let mut out = text.to_string();
    for key in [", role = \"", ", stage = \""] {
        while let Some(from) = out.find(key) {
            let rest = &out[from + key.len()..];
            let end = rest.find('"').expect("a closing quote");
            out.replace_range(from..from + key.len() + end + 1, "");
        }
    }
    out
}

#[test]
fn a_file_without_texts_reads_as_well_and_is_written_without() {
    let text = circuit::built_in_circuit("bradawl").expect("there").text;
    let circuit = read(&without_texts(text)).expect("no faults");
    let told = |designator: &str| {
        let part = circuit.part(circuit.find_part(designator).expect("there"));
        (part.particulars.stage(), part.particulars.role())
    };
    assert_eq!(told("V1a"), ("First gain stage", "gain"));
    assert_eq!(told("R202"), ("Second gain stage", "anode load"));
    assert_eq!(told("R305"), ("Long-tailed pair", "cathode bias"));
    assert_eq!(told("V4"), ("Output stage", "output"));
    assert_eq!(told("R505"), ("Bias supply", "bias load"));
    for part in circuit.parts() {
        assert!(!part.particulars.stage().is_empty(), "{}", part.designator);
        assert!(!part.particulars.role().is_empty(), "{}", part.designator);
    }
    let written = circuit::write(&circuit);
    assert!(!written.contains("stage ="), "{written}");
    // What a person says stays.
    let own = read(text).expect("no faults");
    let part = own.part(own.find_part("R305").expect("there"));
    assert_eq!(
        (part.particulars.stage(), part.particulars.role()),
        ("Phase inverter", "bias")
    );
}
