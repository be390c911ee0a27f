//! Hostile files: an answer within a second and no panic, whatever the bytes.

use crate::processor_time::seconds;
use engine::circuit::{self, MOST_BYTES, MOST_NODES, MOST_PARTS};
use engine::device::Catalogue;
use proptest::prelude::*;

/// Longest that any file may take, s of a processor. An ordinary one takes a millisecond.
const LONGEST: f64 = 5.0;

/// Faults of a file, in time and in reasonable number, with nothing in them to upset a terminal.
fn refused(bytes: &[u8]) -> Vec<String> {
    let start = seconds();
    let circuit = circuit::read_bytes(bytes, &Catalogue::built_in());
    let proposal = circuit::read_proposal_bytes(bytes);
    let taken = seconds() - start;
    assert!(taken < LONGEST, "{taken} s");
    let faults = circuit.expect_err("not a circuit");
    let others = proposal.err().unwrap_or_default();
    for fault in faults.iter().chain(&others) {
        let text = fault.to_string();
        assert!(text.chars().count() < 600, "{text}");
        assert!(!text.chars().any(char::is_control), "{text:?}");
    }
    assert!((1..=201).contains(&faults.len()), "{}", faults.len());
    faults.iter().map(ToString::to_string).collect()
}

#[test]
fn size_and_encoding() {
    let told = refused(&vec![b'#'; MOST_BYTES + 1]);
    assert_eq!(
        told,
        [
            "the file has 1048577 bytes; at most 1048576 (1 MiB) are read; an amplifier fits in a few thousand: check that it is the right file"
        ]
    );
    let told = refused(b"format = 1\n[amp]\nname = \"\xff\"\n");
    assert_eq!(
        told,
        ["line 3: the file is not UTF-8 text; save it as UTF-8"]
    );
    refused(&vec![0; MOST_BYTES]);
    refused("\u{feff}".as_bytes());
}

#[test]
fn a_byte_order_mark_and_carriage_returns_are_no_fault() {
    let text = include_str!("../circuits/one_triode.toml");
    let catalogue = Catalogue::built_in();
    let plain = circuit::read(text, &catalogue).expect("valid");
    let marked = format!("\u{feff}{}", text.replace('\n', "\r\n"));
    let other = circuit::read(&marked, &catalogue).expect("valid");
    assert_eq!(plain, other);
}

#[test]
fn deep_and_repeated() {
    let nest = |open: &str, close: &str, n: usize| open.repeat(n) + &close.repeat(n);
    let most = MOST_BYTES - 100;
    for text in [
        format!("a = {}", nest("[", "]", most / 2)),
        format!("a = {}", "[".repeat(most)),
        format!("a = {}", "{ a = ".repeat(most / 6)),
        format!("a{} = 1", ".a".repeat(most / 2)),
        format!("[a{}]", ".a".repeat(most / 2)),
        format!("[[a{}]]", ".a".repeat(most / 2)),
        "[".repeat(most),
        "a".repeat(most),
        "\"".repeat(most),
        "'".repeat(most),
        "a=1\n".repeat(most / 4),
        "=\n".repeat(most / 2),
        "[a]\n".repeat(most / 4),
        "[[a]]\n".repeat(most / 6),
        "\n".repeat(most),
        "a = 1e999999999999\n".into(),
        format!("a = {}\n", "9".repeat(most)),
        format!("a = \"\\u{}\"", "0".repeat(most)),
        (0..40_000)
            .map(|i| format!("k{i}.a.b.c.d.e={i}\n"))
            .collect(),
        (0..60_000).map(|i| format!("[a.b{i}]\n")).collect(),
        // Just below the limits of signs and of recovery, where reading costs most.
        (0..400)
            .map(|i| format!("k{i}{}={i}\n", ".a".repeat(75)))
            .collect(),
        (0..8_000).map(|i| format!("k{i}.a.a.a={i}\n")).collect(),
        "[a]\n".repeat(8_000),
        "x\n".repeat(130_000),
        "\"\n".repeat(130_000),
        format!("a=[{}]", "1,".repeat(most / 2 - 10)),
    ] {
        refused(text.as_bytes());
        refused(format!("format = 1\n[parts]\n{text}").as_bytes());
    }
}

#[test]
fn too_many() {
    let head = "format = 1\n[amp]\nname = \"x\"\ninput = \"n0\"\noutput = \"n1\"\n[parts]\n";
    let resistor = |i: usize, node: usize| {
        format!("R{i} = {{ resistor = 1000, between = [\"n{node}\", \"gnd\"] }}\n")
    };
    let parts = |count: usize, nodes: usize| -> String {
        head.to_owned()
            + &(0..count)
                .map(|i| resistor(i, i % nodes))
                .collect::<String>()
    };
    let catalogue = Catalogue::built_in();
    let most = MOST_NODES - 1;
    assert!(circuit::read(&parts(MOST_PARTS, most), &catalogue).is_ok());
    assert_eq!(
        refused(parts(MOST_PARTS + 1, 3).as_bytes()),
        ["line 519: 513 parts are too many: at most 512; leave out what does not touch the sound"]
    );
    assert_eq!(
        refused(parts(MOST_PARTS, most + 1).as_bytes()),
        ["line 262: too many nodes: at most 256; leave out what does not touch the sound"]
    );
    refused(parts(10_000, 5_000).as_bytes());
    // Unknown keys by the ten thousand: the first are told, the rest counted.
    let keys: String = (0..10_000)
        .map(|i| format!("resistanse{i} = 1, "))
        .collect();
    let told = refused(format!("{head}R1 = {{ resistor = 1, {keys} }}\n").as_bytes());
    assert!(
        told.last()
            .is_some_and(|t| t.contains("more faults are not listed")),
        "{told:?}"
    );
}

#[test]
fn escapes_in_names_do_not_reach_the_terminal() {
    let text = "format = 1\n[parts]\n\"R\\u001b[2J\" = { \"\\u0007key\" = \"\\u0000\", between = [\"\\r\"] }\n";
    refused(text.as_bytes());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn any_bytes(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        refused(&bytes);
    }

    /// A valid file cut off, or with a piece moved, is read or refused.
    #[test]
    fn cut_and_pasted(at in 0usize..2000, length in 0usize..60, to in 0usize..2000) {
        let text = include_str!("../circuits/two_stages.toml");
        let mut bytes = text.as_bytes().to_vec();
        let piece: Vec<u8> = bytes.iter().skip(at).take(length).copied().collect();
        let to = to.min(bytes.len());
        bytes.splice(to..to, piece);
        bytes.truncate(bytes.len().min(at + 1500));
        let start = seconds();
        if let Ok(circuit) = circuit::read_bytes(&bytes, &Catalogue::built_in()) {
            let again = circuit::read(&circuit::write(&circuit), &Catalogue::built_in());
            prop_assert!(again.is_ok_and(|again| again.same_but_for_lines(&circuit)));
        }
        prop_assert!(seconds() - start < LONGEST);
    }
}
