//! An amp that howls, in the window: what is wrong stands where curve and verdict would, and that
//! it is muted is said.

use crate::fixture::{FakeEdit, opened, opened_as};
use egui_kittest::kittest::Queryable;
use presolder::circuit::built_in_circuit;
use presolder::editor::edit::Edit;
use std::sync::atomic::Ordering::Relaxed;

#[test]
fn what_is_wrong_with_a_howling_amp_stands_where_curve_and_verdict_would() {
    let sluice = built_in_circuit("sluice").unwrap().text;
    let line = sluice.lines().find(|line| line.starts_with("T1 ")).unwrap();
    let swapped = line.replace(
        "secondary = [\"spk\", \"gnd\"]",
        "secondary = [\"gnd\", \"spk\"]",
    );
    assert_ne!(line, swapped);
    let edit = FakeEdit::with("sluice");
    edit.load(sluice.replace(line, &swapped).as_bytes(), None)
        .unwrap();
    let mut bench = opened_as(edit, [1280.0, 800.0], 1.0);
    bench.settle_all();
    // The part that closes the loop, and the remedy.
    assert!(bench.shows("Positive feedback through R305: swap the ends of T1"));
    assert!(!bench.shows("being computed"));
    let curves = |bench: &crate::fixture::Window| {
        let found = bench
            .harness
            .query_all_by_label_contains("Response from the input");
        found.count()
    };
    assert_eq!(curves(&bench), 0);
    let known = bench.harness.state();
    assert!(known.took().0.is_none());
    // The same amp as it should be.
    let right = opened("sluice");
    assert_eq!(curves(&right), 1);
    assert!(!right.shows("Positive feedback"));
}

#[test]
fn that_a_howling_amp_is_muted_is_said() {
    let mut bench = opened("bradawl");
    assert!(!bench.shows("Muted: the amp oscillates"));
    bench.edit.meters.howls.store(true, Relaxed);
    bench.harness.run_steps(3);
    assert!(bench.shows("Muted: the amp oscillates"));
}

#[test]
fn an_amp_that_passes_no_signal_is_told_with_its_curve() {
    let mut bench = opened("bradawl");
    assert!(!bench.shows("passes no signal"));
    bench.edit.propose("C102 fitted", 0.0);
    bench.settle();
    // Before anything was played; curve and voltages stay to find out why.
    assert!(bench.shows("passes no signal"));
    let curves = bench
        .harness
        .query_all_by_label_contains("Response from the input");
    assert_eq!(curves.count(), 1);
    bench.settle_all();
    assert!(bench.shows("passes no signal"));
    bench.edit.propose("C102 fitted", 1.0);
    bench.settle_all();
    assert!(!bench.shows("passes no signal"));
}
