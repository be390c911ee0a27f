//! Loudspeakers that a circuit file brings itself: read with every fault at once, written back,
//! offered beside the built-in ones.

use crate::own_loudspeaker_files::{FERRY, SHEET, amp, circuit, copy};
use engine::circuit::{self, PartKind, WrittenChange, WrittenProposal};
use engine::device::acoustics::Section;
use engine::device::{Catalogue, Loudspeaker};

fn change(text: &str) -> Vec<WrittenChange> {
    vec![text.parse().unwrap()]
}

/// A circuit file's text with a change made in it.
fn edit(text: &str, edit: &str) -> String {
    let catalogue = Catalogue::built_in();
    let list = WrittenProposal {
        changes: change(edit),
        ..WrittenProposal::default()
    };
    let list = list.resolve(&circuit(text), &catalogue).unwrap();
    circuit::edit(text, &list.changes, &[], &catalogue).unwrap()
}

fn driver_of(circuit: &circuit::Circuit) -> &Loudspeaker {
    match &circuit.part(circuit.find_part("LS1").unwrap()).kind {
        PartKind::Loudspeaker { driver, .. } => driver,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_table_has_the_keys_of_a_loudspeaker_file() {
    let built_in = Catalogue::built_in();
    let text = amp("bradawl", &[FERRY, &copy("Harbour Ten", "Harbour Twin")]);
    let circuit = circuit(&text);
    let own: Vec<_> = circuit.own_loudspeakers().collect();
    assert_eq!(own.len(), 2);
    // The file's own reader of loudspeakers gives the same.
    let file = FERRY.replace("[[loudspeaker]]", "");
    assert_eq!(**own[0], Loudspeaker::parse(&file).unwrap());
    let expected = Loudspeaker {
        name: "Harbour Twin".into(),
        ..(**built_in.loudspeaker("Harbour Ten").unwrap()).clone()
    };
    assert_eq!(**own[1], expected);
    // Its own resonance first, then what the file states.
    let sections = own[0].acoustic.sections();
    assert_eq!(sections.len(), 6);
    assert!(matches!(&sections[0], Section::LowCut(r) if r.hz == 61.5));
    assert!(matches!(&sections[4], Section::Shelf(s) if s.db == -4.5));
    // All that is stated is stated: nothing is told as assumed.
    let supplied = circuit.supplied().join("\n");
    assert!(
        !supplied.contains("Ferry") && !supplied.contains("Harbour"),
        "{supplied}"
    );
}

#[test]
fn those_of_the_program_come_first_and_keep_their_places() {
    let catalogue = Catalogue::built_in();
    let plain = circuit(&amp("bradawl", &[]));
    let names = |circuit: &circuit::Circuit| -> Vec<String> {
        let known = circuit.known_loudspeakers(&catalogue);
        known.names().map(str::to_owned).collect()
    };
    let before = names(&plain);
    assert_eq!(before.len(), catalogue.loudspeakers.len());
    let both = circuit(&amp("bradawl", &[SHEET, FERRY]));
    let now = names(&both);
    assert_eq!(now[..4], before);
    assert_eq!(now[4..], ["Plain Ten", "Ferry Eight"]);
    let found = both
        .known_loudspeakers(&catalogue)
        .find("ferry EIGHT")
        .unwrap();
    assert_eq!(found.name, "Ferry Eight");
}

#[test]
fn a_part_and_a_change_name_it_as_any_other() {
    let catalogue = Catalogue::built_in();
    let text = amp("bradawl", &[FERRY]);
    let fitted = text.replacen(
        "loudspeaker = \"Tin Ten\"",
        "loudspeaker = \"ferry eight\"",
        1,
    );
    let from_file = circuit(&fitted);
    assert_eq!(driver_of(&from_file).name, "Ferry Eight");
    let found = circuit(&text);
    assert_eq!(driver_of(&found).name, "Tin Ten");
    let changed = found
        .with_written_changes(&change("LS1=Ferry Eight"), &catalogue)
        .unwrap();
    assert_eq!(driver_of(&changed), driver_of(&from_file));
    assert!(changed.same_but_for_lines(&from_file));
    let back = changed
        .with_written_changes(&change("LS1=Tin Ten"), &catalogue)
        .unwrap();
    assert!(back.same_but_for_lines(&found));
    // A slip is told with the nearest, and all are listed where none is near.
    let told = |value: &str| {
        found
            .with_written_changes(&change(value), &catalogue)
            .unwrap_err()[0]
            .to_string()
    };
    assert_eq!(
        told("LS1=Ferry Eigth"),
        "LS1: \"Ferry Eigth\" is not a known loudspeaker; did you mean Ferry Eight?"
    );
    assert!(told("LS1=another one altogether").ends_with("Tin Ten, Ferry Eight"));
    // Another file does not know it.
    let other = circuit(&amp("bradawl", &[]));
    assert!(
        other
            .with_written_changes(&change("LS1=Ferry Eight"), &catalogue)
            .is_err()
    );
}

#[test]
fn what_a_data_sheet_does_not_tell_is_assumed_and_said() {
    let circuit = circuit(&amp("bradawl", &[SHEET]));
    let own = circuit.own_loudspeakers().next().unwrap();
    assert_eq!((own.lossy_henries, own.about.as_str()), (0.0, ""));
    // Its own resonance, even above, and two roll-offs at 5 kHz: each is down to its Q there, and
    // by 12 dB for an octave far above.
    assert_eq!(own.acoustic.sections().len(), 3);
    let db = |hz: f64| 20.0 * own.acoustic.at(hz).norm().log10();
    assert!(db(1000.0).abs() < 1e-9 && db(2000.0).abs() < 0.3 && db(40.0) < -10.0);
    assert!(
        (db(5000.0) - 40.0 * 0.7f64.log10()).abs() < 0.1,
        "{}",
        db(5000.0)
    );
    assert!((db(40e3) - db(20e3) + 24.1).abs() < 0.2);
    let supplied = circuit.supplied();
    for key in [
        "lossy_henries and lossy_ohms are not stated",
        "acoustic is not stated",
    ] {
        let told = supplied
            .iter()
            .filter(|s| s.starts_with("Plain Ten") && s.contains(key));
        assert_eq!(told.count(), 1, "{supplied:?}");
    }
    // A list without sections is stated.
    let stated = format!("{SHEET}acoustic = []\n");
    let circuit = crate::own_loudspeaker_files::circuit(&amp("bradawl", &[&stated]));
    assert!(!circuit.supplied().iter().any(|s| s.contains("acoustic")));
}

#[test]
fn what_is_written_reads_as_the_same() {
    let odd = FERRY
        .replace("Ferry Eight", "Füße \\\"quoted\\\" 1")
        .replace("0.1e-3", "1.0000000000000002e-7")
        .replace("61.5", "61.50000000000001")
        .replace("db = 7", "db = -0.1");
    for tables in [&[FERRY][..], &[SHEET, FERRY], &[&odd], &[SHEET]] {
        let circuit = circuit(&amp("mizzle", tables));
        let written = circuit::write(&circuit);
        let again = crate::own_loudspeaker_files::circuit(&written);
        assert!(again.same_but_for_lines(&circuit), "{written}");
        assert_eq!(again.supplied(), circuit.supplied());
        assert_eq!(circuit::write(&again), written);
        assert_eq!(written.matches("[[loudspeaker]]").count(), tables.len());
    }
    // What is assumed is not written.
    let written = circuit::write(&circuit(&amp("mizzle", &[SHEET])));
    assert!(
        !written.contains("lossy") && !written.contains("acoustic"),
        "{written}"
    );
    // A circuit that differs in a loudspeaker that nothing uses yet is another one.
    let a = circuit(&amp("mizzle", &[FERRY]));
    let b = circuit(&amp("mizzle", &[&FERRY.replace("61.5", "62")]));
    assert!(!a.same_but_for_lines(&b));
    let edited = edit(&amp("mizzle", &[FERRY]), "LS1=Ferry Eight");
    assert!(edited.contains("loudspeaker = \"Ferry Eight\""));
}

/// An edit changes what was asked for and keeps all else, the tables and their comments too.
#[test]
fn an_edit_keeps_the_tables_and_their_comments() {
    let text = amp("bradawl", &[FERRY, SHEET]);
    let edited = edit(&text, "LS1=Plain Ten");
    let expected = text.replacen(
        "loudspeaker = \"Tin Ten\"",
        "loudspeaker = \"Plain Ten\"",
        1,
    );
    assert_eq!(edited, expected);
    assert!(edited.contains("# as a meter shows it") && edited.contains("# The cone's first"));
}
