//! The drawn amp in the window: parts found and changed on it, wires looked at, by pointer and by keys.

use crate::fixture::{Did, FakeEdit, Window, opened, opened_as};
use egui::{Key, Modifiers, PointerButton, Pos2, vec2};
use egui_kittest::kittest::Queryable;

const R505: &str = "R505 bias load, as found 12 kiloohm, unchanged, drawn";

fn middle(bench: &Window, name: &str) -> Pos2 {
    bench.place(name).center()
}

fn pointer(bench: &mut Window, at: Pos2, pressed: bool) {
    bench.harness.event(egui::Event::PointerButton {
        pos: at,
        button: PointerButton::Primary,
        pressed,
        modifiers: Modifiers::NONE,
    });
    bench.harness.run_steps(1);
}

fn hover(bench: &mut Window, at: Pos2) {
    bench.harness.event(egui::Event::PointerMoved(at));
    bench.harness.run_steps(2);
}

#[test]
fn every_part_stands_on_the_schematic() {
    for amp in ["bradawl", "mizzle", "spokeshave", "sluice"] {
        let bench = opened(amp);
        let circuit = bench.edit.amp.borrow().circuit().clone();
        let drawn = bench.harness.query_all_by_label_contains(", drawn").count();
        assert_eq!(drawn, circuit.parts().len(), "{amp}");
    }
}

#[test]
fn a_part_is_chosen_dragged_and_taken_back_on_the_schematic() {
    let mut bench = opened("bradawl");
    let at = middle(&bench, R505);
    hover(&mut bench, at);
    pointer(&mut bench, at, true);
    pointer(&mut bench, at, false);
    bench.settle();
    assert!(bench.edit.view.borrow().contains(r#""selected":"R505""#));
    // The list shows it too, wherever it was scrolled to.
    let row = bench.place("R505 bias load, as found 12 kiloohm, unchanged");
    assert!(row.top() > 400.0 && row.bottom() < 720.0, "{row:?}");
    // The value that is proposed stands beside it, to be typed.
    assert!(bench.shows("R505 bias load on the schematic"));

    pointer(&mut bench, at, true);
    for step in 1..=4 {
        hover(&mut bench, at + vec2(0.0, -9.0 * step as f32));
    }
    let dragged = bench.edit.now("R505");
    pointer(&mut bench, at + vec2(0.0, -36.0), false);
    bench.settle();
    assert!(dragged > 12e3, "{dragged}");
    assert_eq!(bench.edit.now("R505"), dragged);
    // One gesture for the host.
    let did = bench.edit.did.borrow().clone();
    let begun = did
        .iter()
        .filter(|did| matches!(did, Did::Begin(_)))
        .count();
    let ended = did.iter().filter(|did| matches!(did, Did::End(_))).count();
    assert_eq!((begun, ended), (1, 1));

    bench
        .harness
        .key_press_modifiers(Modifiers::COMMAND, Key::Z);
    bench.harness.run_steps(3);
    assert_eq!(bench.edit.now("R505"), 12e3);
}

#[test]
fn a_double_click_on_the_schematic_gives_the_value_as_found() {
    let mut bench = opened("bradawl");
    bench.edit.propose("R505", 15e3);
    bench.settle();
    let at = middle(
        &bench,
        "R505 bias load, as found 12 kiloohm, proposed 15 kiloohm, changed, drawn",
    );
    hover(&mut bench, at);
    for _ in 0..2 {
        pointer(&mut bench, at, true);
        pointer(&mut bench, at, false);
    }
    bench.settle();
    assert_eq!(bench.edit.now("R505"), 12e3);
}

#[test]
fn a_value_is_typed_on_the_schematic() {
    let mut bench = opened("bradawl");
    let at = middle(&bench, R505);
    hover(&mut bench, at);
    pointer(&mut bench, at, true);
    pointer(&mut bench, at, false);
    bench.settle();
    bench
        .harness
        .get_by_label("R505 bias load on the schematic")
        .click();
    bench.harness.run_steps(2);
    bench.type_and("18k", Key::Enter);
    assert_eq!(bench.edit.now("R505"), 18e3);
}

#[test]
fn arrow_keys_go_from_part_to_part() {
    let mut bench = opened("bradawl");
    bench
        .harness
        .get_by_label("schematic of Bradawl 15")
        .focus();
    bench.harness.run_steps(2);
    let selected = |bench: &Window| {
        let view: serde_json::Value = serde_json::from_str(&bench.edit.view.borrow()).unwrap();
        view["selected"].as_str().map(String::from)
    };
    let mut seen = Vec::new();
    for _ in 0..8 {
        bench.harness.key_press(Key::ArrowRight);
        bench.harness.run_steps(3);
        seen.extend(selected(&bench));
    }
    // From the jack to the right, never to and fro.
    assert_eq!(seen.len(), 8, "{seen:?}");
    let mut distinct = seen.clone();
    distinct.sort();
    distinct.dedup();
    assert_eq!(distinct.len(), 8, "{seen:?}");
    assert_eq!(seen[0], "R101");
    bench.harness.key_press(Key::Escape);
    bench.harness.run_steps(3);
    assert_eq!(selected(&bench), None);
}

#[test]
fn a_wire_tells_its_volts_and_is_measured_by_a_click() {
    let mut bench = opened("bradawl");
    // Between V1a's anode and its load: halfway from the one symbol to the other.
    let load = bench.place("R103 anode load, as found 150 kiloohm, unchanged, drawn");
    let valve = bench.place("V1a: V1 gain, as found ECC83, unchanged, drawn");
    let at = Pos2::new(load.center().x, 0.5 * (load.bottom() + valve.top()));
    hover(&mut bench, at);
    assert!(bench.shows("V1a's anode"), "no wire under the pointer");
    pointer(&mut bench, at, true);
    pointer(&mut bench, at, false);
    bench.settle();
    assert!(bench.edit.view.borrow().contains(r#""node":"a1""#));
}

#[test]
fn the_wheel_zooms_about_the_pointer_and_fit_shows_all_again() {
    let mut bench = opened("bradawl");
    let before = bench.place(R505);
    let at = before.center() - vec2(30.0, 0.0);
    hover(&mut bench, at);
    bench.harness.event(egui::Event::MouseWheel {
        unit: egui::MouseWheelUnit::Point,
        delta: vec2(0.0, 120.0),
        phase: egui::TouchPhase::Move,
        source: egui::MouseWheelSource::Wheel,
        modifiers: Modifiers::NONE,
    });
    bench.harness.run_steps(20);
    let after = bench.place(R505);
    assert!(after.width() > 1.2 * before.width());
    bench.click("Fit");
    bench.harness.run_steps(2);
    assert_eq!(bench.place(R505), before);
}

#[test]
fn in_a_small_window_the_schematic_takes_the_place_of_the_list() {
    let mut bench = opened_as(FakeEdit::with("bradawl"), [900.0, 600.0], 1.0);
    assert!(!bench.shows(", drawn"));
    bench.click("Schematic");
    assert!(bench.shows(", drawn"));
    assert!(!bench.shows("Revert all to as found"));
    bench.click("Schematic");
    assert!(bench.shows("Revert all to as found"));
}

#[test]
fn a_file_read_again_with_a_part_more_keeps_its_places() {
    let text = presolder::circuit::built_in_circuit("bradawl")
        .unwrap()
        .text;
    let more = format!(
        "{text}\nC199 = {{ capacitor = \"120p\", between = [\"m2\", \"w1\"], rated = \"400 V\" }}\n"
    );
    let mut bench = opened("bradawl");
    // Where one looks is kept too, once one has chosen it.
    bench.click("Zoom in");
    bench.harness.run_steps(2);
    let names = [
        R505,
        "C102 coupling, as found 15 nanofarad, unchanged, drawn",
    ];
    let before = names.map(|name| bench.place(name));
    use presolder::editor::edit::Edit;
    bench.edit.load(more.as_bytes(), None).unwrap();
    bench.settle();
    assert!(bench.shows("C199 bright, as found 120 picofarad, unchanged, drawn"));
    assert_eq!(names.map(|name| bench.place(name)), before);
}
