//! Faults in the loudspeakers that a circuit file brings: all at once, each with line, value, allowed
//! range and remedy; and files that are cut off.

use crate::own_loudspeaker_files::{FERRY, SHEET, amp};
use engine::circuit::{self, MOST_OWN_LOUDSPEAKERS};
use engine::device::Catalogue;

/// What is told of a file, a line each.
fn faults(text: &str) -> Vec<String> {
    match circuit::read(text, &Catalogue::built_in()) {
        Ok(_) => Vec::new(),
        Err(faults) => faults.iter().map(ToString::to_string).collect(),
    }
}

/// The file of an amp with the table changed must give exactly these faults; `{n}` stands for the
/// line `n` lines below the table's head.
#[track_caller]
fn check(table: &str, expected: &[&str]) {
    let text = amp("bradawl", &[table]);
    let head = text.lines().position(|l| l == "[[loudspeaker]]").unwrap() + 1;
    let mut expected: Vec<String> = expected.iter().map(|e| (*e).to_owned()).collect();
    for fault in &mut expected {
        if let Some((before, rest)) = fault.split_once('{')
            && let Some((number, after)) = rest.split_once('}')
            && let Ok(below) = number.parse::<usize>()
        {
            *fault = format!("{before}{}{after}", head + below);
        }
    }
    assert_eq!(faults(&text), expected);
}

#[test]
fn values_out_of_range_and_no_numbers() {
    check(FERRY, &[]);
    let cases = [
        (
            "rated_ohms = 4",
            "rated_ohms = 1",
            vec!["Ferry Eight, line {3}: rated_ohms is 1 Ω, outside 2 to 64 Ω; write 2 or more"],
        ),
        (
            "coil_ohms = 3.4",
            "coil_ohms = 4.5",
            vec![
                "Ferry Eight, line {4}: coil_ohms is 4.5 Ω, more than rated_ohms, 4 Ω; write what a meter shows across the loudspeaker, which is less than its rating",
            ],
        ),
        (
            "coil_ohms = 3.4",
            "coil_ohms = \"3R4\"",
            vec![
                "Ferry Eight, line {4}: coil_ohms is 3R4, which is no plain number; write a number from 1 to 64 Ω, without quotes or unit",
            ],
        ),
        (
            "coil_ohms = 3.4",
            "coil_ohms = nan",
            vec!["Ferry Eight, line {4}: coil_ohms is NaN Ω, outside 1 to 64 Ω; write a number"],
        ),
        (
            "resonance_hz = 61.5",
            "resonance_hz = inf",
            vec![
                "Ferry Eight, line {8}: resonance_hz is inf Hz, outside 20 to 400 Hz; write 400 or less",
            ],
        ),
        (
            "electrical_q = 0.6",
            "electrical_q = 0x6",
            vec![
                "Ferry Eight, line {10}: electrical_q is 0x6, which is no plain number; write a number from 0.1 to 10, without quotes or unit",
            ],
        ),
        (
            "hz = 1800, q = 2.5, db = 7",
            "hz = 18, q = 25, db = 70",
            vec![
                "Ferry Eight, line {16}: acoustic 3 (peak): hz is 18 Hz, outside 20 to 20000 Hz; write 20 or more",
                "Ferry Eight, line {16}: acoustic 3 (peak): q is 25, outside 0.3 to 12; write 12 or less",
                "Ferry Eight, line {16}: acoustic 3 (peak): db is 70 dB, outside -24 to 24 dB; write 24 or less",
            ],
        ),
    ];
    for (old, new, expected) in cases {
        assert!(FERRY.contains(old), "{old}");
        check(&FERRY.replacen(old, new, 1), &expected);
    }
}

#[test]
fn keys_missing_and_unknown() {
    let cases = [
        (
            "rated_watts = 15\n",
            "",
            vec![
                "Ferry Eight, line {0}: rated_watts is missing from this loudspeaker; add rated_watts = …, from 1 to 1000 W",
            ],
        ),
        (
            "lossy_ohms = 7\n",
            "",
            vec![
                "Ferry Eight, line {0}: lossy_ohms is missing from this loudspeaker; add lossy_ohms = …, from 0.1 to 1000 Ω",
            ],
        ),
        (
            "coil_ohms =",
            "coil_ohm =",
            vec![
                "Ferry Eight, line {0}: coil_ohms is missing from this loudspeaker; add coil_ohms = …, from 1 to 64 Ω",
                "Ferry Eight, line {4}: coil_ohm is not a known key; did you mean coil_ohms?",
            ],
        ),
        (
            "shelf = { hz = 2500, db = -4.5 }",
            "shelf = { hz = 2500, q = 1 }",
            vec![
                "Ferry Eight, line {17}: acoustic 4 (shelf): q is not a known key; known here: hz, db",
                "Ferry Eight, line {17}: db is missing from acoustic 4 (shelf); add db = …, from -24 to 24 dB",
            ],
        ),
        (
            "{ shelf = { hz = 2500, db = -4.5 } }",
            "{ shelv = { hz = 2500, db = -4.5 } }",
            vec![
                "Ferry Eight, line {17}: acoustic 4 (shelv) is not a known section; did you mean shelf?",
            ],
        ),
        (
            "{ shelf = { hz = 2500, db = -4.5 } }",
            "2500",
            vec![
                "Ferry Eight, line {17}: acoustic 4 is not a section; write it like { peak = { hz = 2300, q = 2.5, db = 3 } }; known: open_back, low_cut, peak, shelf, roll_off",
            ],
        ),
        (
            "{ shelf = { hz = 2500, db = -4.5 } }",
            "{ shelf = -4.5 }",
            vec![
                "Ferry Eight, line {17}: acoustic 4 (shelf) has no keys; write it like { peak = { hz = 2300, q = 2.5, db = 3 } }",
            ],
        ),
        (
            "\"Invented for tests.\"",
            "7",
            vec![
                "Ferry Eight, line {2}: about is not a text of at most 4000 characters; write it in quotes, without control characters",
            ],
        ),
    ];
    for (old, new, expected) in cases {
        assert!(FERRY.contains(old), "{old}");
        check(&FERRY.replacen(old, new, 1), &expected);
    }
    check(
        &format!("{SHEET}acoustic = 7\n"),
        &[
            "Plain Ten, line {9}: acoustic is not a list of sections; write acoustic = [ … ] with a section a line, or leave it out",
        ],
    );
    let many = format!(
        "{SHEET}acoustic = [{}]\n",
        "{ open_back = { hz = 100 } }, ".repeat(8)
    );
    check(
        &many,
        &[
            "Plain Ten, line {9}: acoustic has 8 sections; at most 7 are allowed beside the driver's own resonance; leave out those that do least",
        ],
    );
}

#[test]
fn names_that_cannot_be_told_from_others() {
    let named = |name: &str| FERRY.replace("\"Ferry Eight\"", &format!("\"{name}\""));
    check(
        &named("tin ten"),
        &[
            "tin ten, line {1}: is the name of a loudspeaker that comes with the program; give yours another name",
        ],
    );
    check(
        &named("Out"),
        &["Out, line {1}: Out means that a loudspeaker is connected or not; give it another name"],
    );
    check(
        &named(" A"),
        &[" A, line {1}: the name begins or ends with a space, or has = in it; leave that out"],
    );
    let long = "x".repeat(33);
    check(
        &named(&long),
        &[&format!(
            "{long}, line {{1}}: the name has 33 characters; 1 to 32 are allowed; give it another name"
        )],
    );
    check(
        &FERRY.replace("name = \"Ferry Eight\"\n", ""),
        &[
            "loudspeaker, line {0}: name is missing from this loudspeaker; add name = \"…\", the name that parts and changes use",
        ],
    );
    check(
        &FERRY.replace("name = \"Ferry Eight\"", "name = 8"),
        &[
            "loudspeaker, line {1}: name is not a text of at most 120 characters; write it in quotes, without control characters",
        ],
    );
    let twice = format!(
        "{FERRY}{}",
        named("FERRY eight").replacen("name =", "name  =", 1)
    );
    let below = FERRY.lines().count() + 1;
    check(
        &twice,
        &[&format!(
            "FERRY eight, line {{{below}}}: is the name of an earlier loudspeaker of this file; give one of the two another name"
        )],
    );
}

#[test]
fn what_is_no_table_and_what_is_too_much() {
    let single = FERRY.replace("[[loudspeaker]]", "[loudspeaker]");
    let told = faults(&amp("bradawl", &[&single]));
    assert_eq!(told.len(), 1);
    assert!(told[0].ends_with("loudspeaker is not a list of tables; write [[loudspeaker]], with two brackets on each side, on a line of its own"), "{told:?}");
    let many: Vec<String> = (0..=MOST_OWN_LOUDSPEAKERS)
        .map(|n| SHEET.replace("Plain Ten", &format!("Plain {n}")))
        .collect();
    let all: Vec<&str> = many.iter().map(String::as_str).collect();
    assert_eq!(faults(&amp("bradawl", &all[1..])), [""; 0]);
    let told = faults(&amp("bradawl", &all));
    assert_eq!(told.len(), 1);
    assert!(
        told[0].contains("17 loudspeakers are too many: a file may bring 16"),
        "{told:?}"
    );
    let list = format!("loudspeaker = [7]\n{}", amp("bradawl", &[]));
    assert_eq!(
        faults(&list),
        ["loudspeaker, line 1: 7 is not a loudspeaker; write [[loudspeaker]] with its keys below"]
    );
}

/// Faults of several tables and of the parts are told together, and a part that names a faulty
/// table is not told to name what is not there.
#[test]
fn all_faults_are_told_at_once() {
    let first = FERRY
        .replace("rated_ohms = 4", "rated_ohms = 400")
        .replace("q = 2.5", "q = 99");
    let second = SHEET.replace("mechanical_q = 6\n", "");
    let text = amp("bradawl", &[&first, &second])
        .replacen(
            "loudspeaker = \"Tin Ten\"",
            "loudspeaker = \"Ferry Eight\"",
            1,
        )
        .replacen("resistor = \"", "resistor = \"about ", 1);
    let told = faults(&text);
    assert_eq!(told.len(), 4, "{told:?}");
    for part in [
        "is not a resistance",
        "rated_ohms is 400",
        "q is 99",
        "mechanical_q is missing",
    ] {
        assert_eq!(
            told.iter().filter(|t| t.contains(part)).count(),
            1,
            "{part}: {told:?}"
        );
    }
    let lines: Vec<usize> = told
        .iter()
        .map(|t| {
            t.split("line ")
                .nth(1)
                .unwrap()
                .split(':')
                .next()
                .unwrap()
                .parse()
                .unwrap()
        })
        .collect();
    assert!(lines.is_sorted() && lines[0] > 0, "{told:?}");
}

/// A file cut off anywhere in its tables is read and written the same, or refused; what is shown of
/// absurd values stays short.
#[test]
fn a_file_that_is_cut_off_is_read_or_refused() {
    let text = amp("mizzle", &[FERRY, SHEET]);
    let from = text.find("[[loudspeaker]]").unwrap();
    let mut read = 0;
    for at in (from..=text.len()).filter(|&at| text.is_char_boundary(at)) {
        if let Ok(circuit) = circuit::read(&text[..at], &Catalogue::built_in()) {
            read += 1;
            let again = circuit::read(&circuit::write(&circuit), &Catalogue::built_in());
            assert!(again.is_ok_and(|again| again.same_but_for_lines(&circuit)));
        }
    }
    // Before the first table, behind it, behind the second.
    assert!(read >= 3, "{read}");
    for absurd in ["1e300", "-1e-300", "1e999", &"9".repeat(500)] {
        let told = faults(&text.replace("mechanical_q = 6", &format!("mechanical_q = {absurd}")));
        assert!(told.len() == 1 && told[0].chars().count() < 120, "{told:?}");
    }
}
