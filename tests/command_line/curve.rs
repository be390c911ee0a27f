//! `presolder curve` from outside: JSON, table and picture; nodes; a curve from elsewhere.

use crate::program::{circuit, json, number, numbers, refused, said, text};
use num_complex::Complex64;
use presolder::device::Catalogue;
use std::f64::consts::TAU;

#[test]
fn frequencies_levels_and_phases_are_as_many() {
    let curve = json(&["curve", "bradawl", "--set", "C103=820p"]);
    let hz = numbers(&curve["hz"]);
    assert!(hz.windows(2).all(|w| w[0] < w[1]));
    assert_eq!([hz[0], hz[hz.len() - 1]], [20.0, 20_000.0]);
    for side in ["as_found", "proposed", "difference"] {
        for key in ["db", "degrees"] {
            assert_eq!(numbers(&curve[side][key]).len(), hz.len());
        }
    }
    assert_eq!(curve["db"], curve["proposed"]["db"]);
    assert_eq!(curve["degrees"], curve["proposed"]["degrees"]);
    let [found, proposed, difference] =
        ["as_found", "proposed", "difference"].map(|s| numbers(&curve[s]["db"]));
    for i in 0..hz.len() {
        assert!((proposed[i] - found[i] - difference[i]).abs() < 1e-9);
    }
    // A larger shunt takes off treble, and no bass.
    assert!(difference[hz.len() - 60] < -1.0 && difference[0].abs() < 0.1);
    let alone = json(&["curve", "bradawl"]);
    assert!(alone["proposed"].is_null() && alone["difference"].is_null());
    assert_eq!(alone["db"], curve["as_found"]["db"]);
}

/// Gain along a path at 20 Hz and at 20 kHz.
fn gains(from: &str, to: &str) -> [Complex64; 2] {
    let curve = json(&["curve", "bradawl", "--from", from, "--to", to]);
    let [db, degrees] = ["db", "degrees"].map(|key| numbers(&curve[key]));
    let at = |i: usize| Complex64::from_polar(10f64.powf(db[i] / 20.0), degrees[i].to_radians());
    [at(0), at(db.len() - 1)]
}

/// From the wiper of the volume control, held, to the second grid there is a stopper, R201 of 15 k,
/// and the input admittance of the valve after J. M. Miller (Bureau of Standards Bulletin 15, 1919;
/// from memory): each capacitance times one less the gain to its other end.
#[test]
fn a_path_between_nodes_is_driven_at_its_start() {
    let catalogue = Catalogue::built_in();
    let valve = catalogue.valve("ECC83").unwrap();
    let s = Complex64::new(0.0, TAU * 20e3);
    let anode = s * valve.grid_anode_farads * (1.0 - gains("g2", "a2")[1]);
    let cathode = s * valve.grid_cathode_farads * (1.0 - gains("g2", "k2")[1]);
    // What little is lost at 20 Hz already goes into the grid as current.
    let [low, measured] = gains("w1", "g2");
    assert!((low - 1.0).norm() < 3e-4, "{low}");
    let expected = 1.0 / (1.0 / low.re + 15e3 * (anode + cathode));
    assert!((measured - expected).norm() < 2e-5, "{measured} {expected}");
    assert!(
        (measured - 1.0).norm() > 0.05,
        "the check would see nothing"
    );
}

#[test]
fn the_table_and_the_picture_have_both_sides() {
    let folder = tempfile::tempdir().unwrap();
    let svg = folder.path().join("curve.svg");
    let table = said(&[
        "curve",
        "bradawl",
        "--proposal",
        "cleaner",
        "--svg",
        text(&svg),
    ]);
    for words in [
        "As found, dB",
        "Proposed, dB",
        "Difference, dB",
        " 31.5 ",
        "20000 ",
    ] {
        assert!(table.contains(words), "{words}\n{table}");
    }
    let svg = std::fs::read_to_string(svg).unwrap();
    assert!(svg.starts_with("<svg") && svg.contains("Bradawl 15") && svg.contains("proposed"));
}

#[test]
fn a_measured_curve_another_amp_and_a_proposal_stand_beside() {
    let folder = tempfile::tempdir().unwrap();
    let csv = folder.path().join("measured.csv");
    std::fs::write(&csv, "Hz,dB\n100,40\n1000,40\n").unwrap();
    let answer = json(&["curve", "bradawl", "--against", text(&csv)]);
    let (hz, db) = (numbers(&answer["hz"]), &answer["against"]["db"]);
    for (i, hz) in hz.iter().enumerate() {
        let inside = (100.0..=1000.0).contains(hz);
        assert_eq!(db[i].is_null(), !inside, "{hz}");
    }
    assert!(said(&["curve", "bradawl", "--against", text(&csv)]).contains("As found less it"));

    let other = circuit("one_triode");
    let answer = json(&["curve", "bradawl", "--against", &other]);
    let alone = json(&["curve", &other]);
    assert_eq!(numbers(&answer["against"]["db"]), numbers(&alone["db"]));

    let proposal = folder.path().join("p.toml");
    std::fs::write(&proposal, "format = 1\n[changes]\nC103 = \"820p\"\n").unwrap();
    let answer = json(&["curve", "bradawl", "--against", text(&proposal)]);
    let set = json(&["curve", "bradawl", "--set", "C103=820p"]);
    assert_eq!(answer["proposed"], set["proposed"]);

    std::fs::write(&csv, "100,x\n").unwrap();
    refused(&["curve", "bradawl", "--against", text(&csv)], 1);
}

#[test]
fn unknown_nodes_are_refused_with_the_list() {
    let message = refused(&["curve", "bradawl", "--to", "nowhere"], 2);
    assert!(message.contains("nowhere") && message.contains("ht1, ht2"));
    refused(&["curve", "bradawl", "--from", "gnd"], 2);
    refused(&["curve", "bradawl", "--from", "a1", "--to", "a1"], 2);
    // Any case will do.
    let answer = json(&["curve", "bradawl", "--to", "A1"]);
    assert_eq!(answer["to"], "a1");
    assert!(number(&answer["third_octaves"][17]["as_found_db"]) > 20.0);
}
