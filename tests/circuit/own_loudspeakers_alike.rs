//! A copy of a built-in loudspeaker under another name is the same loudspeaker: the response, what
//! it radiates, every figure of the load report.

use crate::own_loudspeaker_files::{FERRY, SHEET, amp, circuit, copy};
use engine::analysis::listening::loudspeaker_of;
use engine::analysis::load::{LoadCase, Way, loads};
use engine::analysis::response::{Path, axis, gains};
use engine::circuit::Circuit;
use engine::device::Catalogue;
use engine::solve::solved::SolvedAmp;

fn with(circuit: &Circuit, loudspeaker: &str) -> Circuit {
    let change = format!("LS1={loudspeaker}").parse().unwrap();
    circuit
        .with_written_changes(&[change], &Catalogue::built_in())
        .unwrap()
}

#[test]
fn the_response_is_the_same_to_the_last_bit() {
    let hz = axis();
    for (amp_key, of) in [("bradawl", "Harbour Ten"), ("sluice", "Breakwater Quad")] {
        let circuit = circuit(&amp(amp_key, &[FERRY, &copy(of, "A Copy")]));
        let curve = |name: &str| {
            let amp = SolvedAmp::new(&with(&circuit, name), None).unwrap();
            let heard = loudspeaker_of(&amp.as_found.circuit).unwrap();
            let gains = gains(&amp.network, &amp.as_found, Path::default(), &hz).into_iter();
            let both = gains
                .zip(&hz)
                .map(|(gain, &hz)| (gain, heard.acoustic.at(hz)));
            both.collect::<Vec<_>>()
        };
        assert!(curve("A Copy") == curve(of), "{amp_key}");
        assert!(curve("Ferry Eight") != curve(of), "{amp_key}");
    }
}

/// The figures of a case, without its words and names.
fn figures(case: &LoadCase) -> LoadCase {
    let mut case = case.clone();
    case.way = Way::AsItIs;
    case.name.clear();
    case.sentences.clear();
    for loudspeaker in &mut case.loudspeakers {
        loudspeaker.name.clear();
    }
    case
}

#[test]
fn the_load_report_is_the_same_and_lists_it() {
    let catalogue = Catalogue::built_in();
    let report = |circuit: &Circuit| loads(circuit, &catalogue, &mut |_| true).unwrap().unwrap();
    let plain = report(&circuit(&amp("bradawl", &[])));
    let own = circuit(&amp("bradawl", &[&copy("Tin Ten", "A Copy"), SHEET]));
    let instead = |name: &str| Way::Instead(name.into());
    let find = |cases: &[LoadCase], way: &Way| {
        let found = cases.iter().find(|case| case.way == *way);
        found.unwrap_or_else(|| panic!("{way}")).clone()
    };
    // What was tried before is tried still, with the same figures; the file's own come besides.
    let found = report(&own);
    assert_eq!(plain.hard_input_volts, found.hard_input_volts);
    for case in &plain.cases {
        assert_eq!(*case, find(&found.cases, &case.way));
    }
    let copied = find(&found.cases, &instead("A Copy"));
    let sheet = find(&found.cases, &instead("Plain Ten"));
    assert_eq!(found.cases.len(), plain.cases.len() + 2);
    let original = figures(&plain.cases[0]);
    assert_eq!(figures(&copied), original);
    assert_ne!(figures(&sheet), original);
    // With the copy connected every way gives the same, and the original is one that is tried.
    let copied = report(&with(&own, "A Copy"));
    for case in &plain.cases {
        let way = match &case.way {
            Way::Parallel(_) => Way::Parallel("A Copy".into()),
            Way::Series(_) => Way::Series("A Copy".into()),
            other => other.clone(),
        };
        let same = find(&copied.cases, &way);
        assert_eq!(figures(&same), figures(case), "{way}");
        let renamed = same
            .sentences
            .iter()
            .map(|s| s.replace("A Copy", "Tin Ten"));
        assert!(renamed.eq(case.sentences.iter().cloned()), "{way}");
    }
    let original = find(&copied.cases, &instead("Tin Ten"));
    assert_eq!(figures(&original), figures(&plain.cases[0]));
}

/// A coil of which no losses are stated is one whose lossy part has no inductance: in the whole
/// circuit it comes to what an inductance of 1 nH gives, but for its share of the loudspeaker's
/// impedance, at most ωL/Re = 2π·20 kHz·1 nH/6.2 Ω = 2·10⁻⁵.
#[test]
fn without_losses_the_coil_is_a_plain_one() {
    let hz = axis();
    let stated =
        SHEET.replace("Plain Ten", "Nearly Plain") + "lossy_henries = 1e-9\nlossy_ohms = 7\n";
    let other = SHEET.replace("Plain Ten", "Lossy") + "lossy_henries = 0.5e-3\nlossy_ohms = 12\n";
    let circuit = circuit(&amp("bradawl", &[SHEET, &stated, &other]));
    let curve = |name: &str| {
        let amp = SolvedAmp::new(&with(&circuit, name), None).unwrap();
        gains(&amp.network, &amp.as_found, Path::default(), &hz)
    };
    let apart = |a: &str, b: &str| {
        let both = curve(a).into_iter().zip(curve(b));
        both.map(|(a, b)| (a - b).norm() / a.norm())
            .fold(0.0, f64::max)
    };
    let nearly = apart("Plain Ten", "Nearly Plain");
    assert!(nearly > 0.0 && nearly < 2e-5, "{nearly}");
    assert!(apart("Plain Ten", "Lossy") > 0.01);
}
