//! The window's spread panel: amps are drawn when asked for, the drawing can be called off, what is
//! of before is told, nothing is lost meanwhile.

use crate::figures::bradawl;
use crate::fixture::{FakeEdit, Window, opened_as};
use egui_kittest::kittest::{NodeT, Queryable};

/// The panel open, with so many amps to draw.
fn spread(amps: usize) -> Window {
    let edit = FakeEdit::with("bradawl");
    *edit.view.borrow_mut() = format!(r#"{{"over": "spread", "spread_amps": {amps}}}"#);
    opened_as(edit, [1280.0, 800.0], 1.0)
}

#[test]
fn amps_are_drawn_and_what_is_of_before_is_told() {
    let mut bench = spread(64);
    assert!(!bench.shows("NINE AMPS IN TEN"));
    bench.click("Draw 64 amps");
    bench.until("64 amps drawn with seed 1");
    // Without a change there is one side, and nothing that stands out.
    let found = bradawl("12k");
    let gain = format!("gain at 1 kHz, as found: {:.1} (", found.gain_db);
    assert!(bench.shows(&gain));
    assert!(!bench.shows("gain at 1 kHz, proposed"));
    let anode = format!(
        "V3 EL84 anode, limit 12 W, as found: {:.1} (",
        found.anode_watts
    );
    assert!(bench.shows(&anode));
    assert!(bench.shows("Response, nine amps in ten lie within"));
    assert!(!bench.shows("Of before"));
    bench.edit.propose("R505", 18e3);
    bench.settle();
    assert!(bench.shows("Of before: the values have changed since"));
    assert!(bench.shows(&gain), "the old figures stay");
    bench.click("Draw 64 amps");
    bench.until("gain at 1 kHz, proposed: ");
    assert!(!bench.shows("Of before"));
    // 18k sets the output valves far cooler than two amps differ.
    assert!(bench.shows("Anode dissipation of V3 and V4: the change of −"));
    assert!(bench.shows("stands out: two amps of this model differ by less"));
    assert!(bench.shows("How the amps are drawn".to_uppercase().as_str()));
    bench.click("Close spread");
    assert!(bench.shows("RESPONSE"));
    assert!(!bench.shows("Draw 64 amps"));
    // What was drawn is there when the panel is opened again.
    bench.click("Spread");
    assert!(bench.shows("gain at 1 kHz, proposed: "));
}

#[test]
fn the_drawing_can_be_called_off_and_the_window_goes_on() {
    let mut bench = spread(10_000);
    bench.click("Draw 10,000 amps");
    bench.until("drawing, ");
    let draw = bench.harness.get_by_label("Draw 10,000 amps");
    assert!(draw.accesskit_node().is_disabled());
    bench.click("Call off");
    bench.until("Called off.");
    assert!(!bench.shows("drawing, "));
    assert!(!bench.shows("NINE AMPS IN TEN"));
    // A window that closes meanwhile ends the drawing.
    bench.click("Draw 10,000 amps");
    bench.until("drawing, ");
    drop(bench);
}

#[test]
fn number_and_seed_are_typed_and_kept_with_the_project() {
    let mut bench = spread(50);
    bench.fill("seed", "7");
    bench.harness.key_press(egui::Key::Enter);
    bench.harness.run_steps(3);
    bench.fill("amps", "99999999");
    bench.harness.key_press(egui::Key::Enter);
    bench.harness.run_steps(3);
    assert!(bench.shows("Draw 10,000 amps"), "no more than that");
    bench.fill("amps", "40");
    bench.harness.key_press(egui::Key::Enter);
    bench.harness.run_steps(3);
    bench.click("Draw 40 amps");
    bench.until("40 amps drawn with seed 7");
    let view = bench.edit.view.borrow().clone();
    assert!(view.contains("\"spread_seed\":7"), "{view}");
    assert!(view.contains("\"spread_amps\":40"), "{view}");
}
