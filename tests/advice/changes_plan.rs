//! A proposal taken apart into changes, and the circuits that tell what each does.

use crate::changes_fixture::{RATE, amp, plan};
use engine::advice::changes::{Doing, figures};
use engine::advice::prices::Prices;
use engine::analysis::audibility::{Heard, compare, profile};
use engine::analysis::performance::{NoGauge, perform};
use engine::analysis::playing::play;
use engine::circuit::{built_in_circuit, read};
use engine::device::Catalogue;

use engine::solve::solved::{SolvedAmp, SolvedCircuit};
use engine::sound::phrase::phrase;
use std::sync::Arc;

#[test]
fn a_proposal_is_taken_apart_into_what_one_would_do_at_once() {
    let bradawl = amp("bradawl");
    let plan = plan(
        &bradawl,
        &[
            "R403=4k7",
            "C102=22n",
            "R404=4k7",
            "V1=ECC81",
            "R505=12k",
            "Tone=0.2",
            "SW301=open",
            "Volume=0.5",
            "C102=10n",
        ],
    );
    let told: Vec<(String, Doing)> = plan.items.iter().map(|i| (i.name(), i.doing)).collect();
    // R505 and Volume stand so already; of C102 the last word counts; R403 and R404 are twins.
    let expected = [
        ("R403 and R404", Doing::Solder),
        ("V1", Doing::Swap),
        ("SW301", Doing::Turn),
        ("C102", Doing::Solder),
        ("Tone", Doing::Turn),
    ];
    assert_eq!(told, expected.map(|(n, d)| (n.to_string(), d)));
    let parts = |i: usize| {
        let part = &plan.items[i].parts[0];
        [&part.role, &part.as_found, &part.proposed].map(String::as_str)
    };
    assert_eq!(parts(0), ["grid stopper", "3.3 kΩ", "4.7 kΩ"]);
    assert_eq!(parts(1), ["valve", "ECC83", "ECC81"]);
    assert_eq!(parts(3), ["coupling", "15 nF", "10 nF"]);
    assert_eq!(parts(4), ["control", "0.5", "0.2"]);
    // A valve has two sections and is bought once.
    assert_eq!(
        (plan.items[1].bought.len(), plan.items[0].bought.len()),
        (1, 2)
    );
    assert!(plan.items.iter().all(|i| i.reversible));
}

#[test]
fn the_halves_of_a_valve_go_together() {
    let bradawl = amp("bradawl");
    let plan = plan(&bradawl, &["V1a=ECC81", "V1b=ECC81"]);
    assert_eq!(plan.items.len(), 1);
    assert_eq!(plan.items[0].name(), "V1");
    assert_eq!(plan.circuits.len(), 2);
}

#[test]
fn circuits_that_coincide_are_computed_once() {
    let bradawl = amp("bradawl");
    let count = |edits: &[&str]| plan(&bradawl, edits).circuits.len();
    assert_eq!(count(&[]), 1);
    assert_eq!(count(&["R505=15k"]), 2);
    assert_eq!(count(&["R505=15k", "C103=820p"]), 4);
    assert_eq!(count(&["R505=15k", "C103=820p", "R103=100k"]), 8);
    assert_eq!(
        count(&["R505=15k", "C103=820p", "R103=100k", "R205=22k"]),
        10
    );
}

/// A pot that was not there needs a hole.
#[test]
fn what_is_drilled_is_not_undone() {
    let text = built_in_circuit("bradawl").unwrap().text.replace(
        "taper = \"log\", from = \"m3\"",
        "fitted = false, taper = \"log\", from = \"m3\"",
    );
    let without_tone = read(&text, &Catalogue::built_in()).unwrap();
    let plan = plan(&without_tone, &["VR101=in", "R505=15k"]);
    let reversible: Vec<bool> = plan.items.iter().map(|i| i.reversible).collect();
    assert_eq!(reversible, [false, true]);
}

/// What the report hears, in segments side by side, is what a recording made in one go holds: no
/// difference that the report itself would call audible, even in the hardest case, a second of the
/// playing.
#[test]
fn the_quick_performance_is_not_told_from_a_recording() {
    let bradawl = amp("bradawl");
    let at_rest = SolvedAmp::new(&bradawl, None).unwrap();
    let (network, side) = (&at_rest.network, &at_rest.as_found);
    let sound = phrase(RATE);
    let quick = perform(network, &[side], &[&sound], RATE, &NoGauge, &mut |_| true).unwrap();
    let slow = play(network, &[side], RATE, &[&sound], 1.0, &mut |_| {});
    let of = |volts: &[f32]| profile(&[volts], RATE);
    let report = compare(&of(&slow.volts[0]), &of(&quick[0].volts[0])).unwrap();
    assert_eq!(report.verdict, Heard::NotAudible, "{}", report.in_words);
    assert!(
        report.summary.largest_db.abs() < 0.1,
        "{:?}",
        report.summary
    );
    assert!(report.louder_db.abs() < 0.05, "{}", report.louder_db);
}

/// A change alone whose circuit has no operating point, or that was not computed.
#[test]
fn a_change_that_does_not_go_alone_says_so() {
    let bradawl = amp("bradawl");
    let plan = plan(&bradawl, &["R505=15k", "C103=820p"]);
    let amp = plan.solved().unwrap();
    let network = &amp.network;
    let places = 0..plan.circuits.len();
    let sides: Vec<SolvedCircuit> = places
        .filter_map(|place| plan.solved_circuit(&amp, place))
        .collect();
    let sides: Vec<&SolvedCircuit> = sides.iter().collect();
    let sound = &phrase(RATE)[..RATE as usize];
    let known = figures(network, &sides, &[sound], RATE, &mut |_| true).unwrap();
    let mut known: Vec<_> = known.into_iter().map(|f| Some(Arc::new(f))).collect();
    known[plan.alone[0].unwrap()] = None;
    let report = plan.report(&known, &Prices::built_in()).unwrap();
    let row = report.rows.iter().find(|r| r.name == "R505").unwrap();
    assert!(row.alone.is_none() && row.sentence.starts_with("It does not go alone"));
    known[0] = None;
    assert!(plan.report(&known, &Prices::built_in()).is_none());
}
