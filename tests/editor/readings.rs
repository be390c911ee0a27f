//! The window's readings panel: volts are typed and compared with healthy amps, a wrong one is told
//! in words, what would explain a deviation is named, and readings become what the amp has now.

use crate::fixture::{FakeEdit, Window, opened_as};
use egui::{Key, Role};
use egui_kittest::kittest::{NodeT, Queryable};

fn readings(amp: &str) -> Window {
    let edit = FakeEdit::with(amp);
    *edit.view.borrow_mut() = r#"{"over": "readings"}"#.into();
    let mut bench = opened_as(edit, [1280.0, 800.0], 1.0);
    bench.until("expected as found: ");
    bench
}

/// The name of the row that a point's field belongs to.
fn row(bench: &Window, point: &str) -> String {
    let wanted = format!("reading at {point}");
    let fields = bench.harness.query_all_by_role(Role::TextInput);
    let names = fields.filter_map(|field| field.accesskit_node().label());
    let mut found = names.filter(|name| name.starts_with(&wanted));
    found
        .next()
        .unwrap_or_else(|| panic!("no field for {point}"))
}

fn reading(bench: &mut Window, point: &str, volts: &str) {
    let name = row(bench, point);
    bench.fill(&name, volts);
}

#[test]
fn readings_are_typed_compared_and_a_wrong_one_is_told() {
    let mut bench = readings("bradawl");
    // The cautions come first.
    assert!(bench.shows("Never work on a live chassis"));
    assert!(bench.shows("Readings under power are for a licensed technician"));
    assert!(!bench.shows("expected proposed: "));
    for point in ["V3 anode", "V3 screen", "V3 grid", "V1a cathode"] {
        row(&bench, point);
    }
    reading(&mut bench, "V3 anode", "4 kV");
    reading(&mut bench, "V4 anode", "abc");
    bench.click("Compare");
    bench.until("the reading is not read");
    assert!(bench.shows("V3 anode, not read: "));
    assert!(bench.shows("look at the meter's range"));
    assert!(bench.shows("V4 anode, not read: "));
    // What can be read is compared, whatever stands beside it; Enter compares.
    reading(&mut bench, "V3 screen", "100");
    assert!(bench.shows("Of before: a reading or a value has changed since"));
    bench.harness.key_press(Key::Enter);
    bench.until("the reading is outside");
    assert!(bench.shows("V3 anode, not read: "));
    assert!(bench.shows("healthy amps of this model give"));
    // Nothing in this amp reaches 900 V.
    reading(&mut bench, "V3 screen", "900");
    bench.click("Compare");
    bench.until("the reading is impossible");
    // They are kept with the project.
    let view = bench.edit.view.borrow().clone();
    assert!(
        view.contains(r#"{"point":"V3 anode","volts":"4 kV"}"#),
        "{view}"
    );
    let edit = FakeEdit::with("bradawl");
    *edit.view.borrow_mut() = view;
    let mut again = opened_as(edit, [1280.0, 800.0], 1.0);
    again.until("expected as found: ");
    let name = row(&again, "V3 anode");
    let field = again.harness.get_by_label(&name);
    assert_eq!(field.accesskit_node().value().as_deref(), Some("4 kV"));
    again.click("Clear readings");
    assert!(!again.edit.view.borrow().contains("4 kV"));
}

/// A bias load that has drifted from 12k to 18k: the grids of the output valves stand lower, and the
/// part is among those named. The readings are those of the model with 18k.
#[test]
fn the_part_that_explains_the_readings_is_named() {
    let mut bench = readings("bradawl");
    let amp = bench.edit.amp.borrow().clone();
    let mut values = amp.filed();
    values[amp.find("R505").unwrap()] = 18e3;
    let circuit = amp.circuit_with(&values).unwrap();
    let rest = presolder::solve::solved::SolvedAmp::new(&circuit, None).unwrap();
    let report = presolder::advice::voltages::voltages(&rest);
    let v3 = &report.chart.valves.get("V3").unwrap().reading;
    for (point, volts) in [
        ("V3 anode", v3.anode_volts),
        ("V3 screen", v3.screen_volts.unwrap()),
        ("V3 grid", v3.grid_volts),
        (
            "V4 grid",
            report.chart.valves.get("V4").unwrap().reading.grid_volts,
        ),
    ] {
        reading(&mut bench, point, &format!("{volts:.2}"));
    }
    bench.click("Compare");
    bench.until("WHAT WOULD EXPLAIN IT");
    assert!(bench.shows("once the amp is off, unplugged and discharged"));
    assert!(bench.shows("R505"));
}

#[test]
fn readings_are_compared_after_the_work_and_taken_as_found() {
    let mut bench = readings("bradawl");
    bench.edit.propose("R505", 15e3);
    bench.until("expected proposed: ");
    bench.press("as proposed (after the work)");
    assert_eq!(volts_of(&bench, "HT"), 312.0);
    // A little more than the model's own: a mains that is some per cent up.
    reading(&mut bench, "ht1 at HT", "320");
    bench.click("Compare");
    bench.until("the reading is within");
    bench.press("Take these readings as found");
    bench.harness.run_steps(3);
    assert!(bench.shows("What was proposed is as found now."));
    assert!(bench.shows("HT: "));
    assert!(bench.shows("so that ht1 reads as it did"));
    assert_eq!(bench.edit.numbers("R505"), (15e3, 15e3));
    let volts = volts_of(&bench, "HT");
    assert!((320.0..350.0).contains(&volts), "{volts}");
    // The model agrees with the meter now.
    let amp = bench.edit.amp.borrow().clone();
    let circuit = amp.circuit_with(&amp.all_as_found()).unwrap();
    let rest = presolder::solve::solved::SolvedAmp::new(&circuit, None).unwrap();
    let chart = presolder::advice::voltages::voltages(&rest).chart;
    let ht1 = chart.nodes.get("ht1").unwrap();
    // Supplies are written to a tenth of a volt.
    assert!((ht1 - 320.0).abs() < 0.1, "{ht1}");
    // And back: the supply by its button, the part by undo.
    bench.press("Put the supplies back");
    bench.harness.run_steps(3);
    assert!(bench.shows("The supplies are as they were before the readings."));
    assert!(!bench.shows("Put the supplies back"));
    assert_eq!(volts_of(&bench, "HT"), 312.0);
    assert_eq!(bench.edit.numbers("R505"), (15e3, 15e3));
    bench.click("Undo");
    assert_eq!(bench.edit.numbers("R505").0, 12e3, "one step");
}

/// Volts of a supply on the bench.
fn volts_of(bench: &Window, supply: &str) -> f64 {
    use presolder::circuit::PartKind;
    let amp = bench.edit.amp.borrow();
    let id = amp.circuit().find_part(supply).unwrap();
    match amp.circuit().part(id).kind {
        PartKind::Supply { volts, .. } | PartKind::BiasSupply { volts, .. } => volts,
        _ => panic!("{supply} is no supply"),
    }
}
