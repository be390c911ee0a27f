//! The window's numbers: dragged, typed, turned, given back; found, left out, undone. What a user
//! does with pointer and keys must reach the amp as one gesture, and nothing else.

use crate::fixture::{Did, Window, opened};
use egui::{Event, Key, Modifiers, MouseWheelUnit, PointerButton, TouchPhase, Vec2, vec2};
use egui_kittest::kittest::{NodeT, Queryable};
use presolder::editor::edit::PluginSetting;

const R103: &str = "R103 anode load, proposed";
const C102: &str = "C102 coupling, proposed";

/// Presses on a number and moves so far, without letting go.
fn grab(bench: &mut Window, name: &str, way: Vec2) {
    let from = bench.place(name).center();
    bench.harness.drag_at(from);
    bench.harness.run_steps(2);
    // In two moves, so that it is a drag to anybody.
    for share in [0.5, 1.0] {
        bench.harness.hover_at(from + share * way);
        bench.harness.run_steps(1);
    }
}

fn let_go(bench: &mut Window, name: &str, way: Vec2) {
    let at = bench.place(name).center() + way;
    bench.harness.drop_at(at);
    bench.harness.run_steps(2);
}

fn focus(bench: &mut Window, name: &str) {
    bench.harness.get_by_label(name).click();
    bench.harness.run_steps(2);
    // Long enough that a click that follows makes no double click.
    bench.harness.run_steps(15);
}

#[test]
fn a_drag_moves_through_preferred_values_and_is_one_gesture_and_one_step() {
    let mut bench = opened("bradawl");
    let way = vec2(20.0, 0.0);
    grab(&mut bench, R103, way);
    // Two steps of E24 above 150k, 9 points each.
    assert_eq!(bench.edit.now("R103"), 180e3);
    grab_on(&mut bench, R103, vec2(32.0, 0.0));
    assert_eq!(bench.edit.now("R103"), 200e3);
    let_go(&mut bench, R103, vec2(32.0, 0.0));
    let did = bench.edit.did.borrow().clone();
    assert_eq!(did.first(), Some(&Did::Begin("R103".into())));
    assert_eq!(did.last(), Some(&Did::End("R103".into())));
    let inside = &did[1..did.len() - 1];
    assert!(
        inside
            .iter()
            .all(|d| matches!(d, Did::Set(id, _) if id == "R103"))
    );
    bench.click("Undo");
    assert_eq!(bench.edit.now("R103"), 150e3);
    bench.click("Redo");
    assert_eq!(bench.edit.now("R103"), 200e3);
}

fn grab_on(bench: &mut Window, name: &str, way: Vec2) {
    let from = bench.place(name).center();
    bench.harness.hover_at(from + way);
    bench.harness.run_steps(1);
}

#[test]
fn shift_moves_freely() {
    let mut bench = opened("bradawl");
    bench
        .harness
        .event(Event::ModifiersChanged(Modifiers::SHIFT));
    grab(&mut bench, R103, vec2(11.0, 0.0));
    let now = bench.edit.now("R103");
    assert!(now > 150e3 && now < 180e3, "{now}");
    assert_ne!(now, 160e3, "a preferred value");
}

#[test]
fn escape_gives_the_value_before_a_drag_back() {
    let mut bench = opened("bradawl");
    let way = vec2(30.0, 0.0);
    grab(&mut bench, R103, way);
    assert_ne!(bench.edit.now("R103"), 150e3);
    bench.harness.key_press(Key::Escape);
    bench.harness.run_steps(2);
    assert_eq!(bench.edit.now("R103"), 150e3);
    assert_eq!(
        bench.edit.did.borrow().last(),
        Some(&Did::End("R103".into()))
    );
    // What is left of the drag moves nothing, and there is nothing to undo.
    grab_on(&mut bench, R103, vec2(60.0, 0.0));
    let_go(&mut bench, R103, vec2(60.0, 0.0));
    assert_eq!(bench.edit.now("R103"), 150e3);
    bench
        .harness
        .key_press_modifiers(Modifiers::COMMAND, Key::Z);
    bench.harness.run_steps(2);
    assert_eq!(bench.edit.now("R103"), 150e3);
}

#[test]
fn a_value_is_typed_in_the_trades_notation() {
    let mut bench = opened("bradawl");
    focus(&mut bench, R103);
    bench.type_and("0.12M", Key::Enter);
    assert_eq!(bench.edit.now("R103"), 120e3);
    assert!(bench.shows("R103 anode load, as found 150 kiloohm, proposed 120 kiloohm, changed"));
}

#[test]
fn nonsense_is_told_and_kept_and_escape_leaves_the_value() {
    let mut bench = opened("bradawl");
    focus(&mut bench, C102);
    bench.type_and("4q7", Key::Enter);
    assert_eq!(bench.edit.now("C102"), 15e-9);
    let field = bench.harness.get_by_label(C102);
    assert_eq!(
        field.value().as_deref(),
        Some("4q7"),
        "what was typed stays"
    );
    assert!(bench.shows("write it like"));
    bench.harness.key_press(Key::Escape);
    bench.harness.run_steps(3);
    assert_eq!(bench.edit.now("C102"), 15e-9);
    assert!(!bench.shows("write it like"));
}

#[test]
fn as_found_can_be_typed_too() {
    let mut bench = opened("bradawl");
    focus(&mut bench, "R103 anode load, as found");
    bench.type_and("147k", Key::Enter);
    assert_eq!(bench.edit.numbers("R103"), (147e3, 150e3));
    bench.click("Undo");
    assert_eq!(bench.edit.numbers("R103"), (150e3, 150e3));
}

#[test]
fn a_double_click_makes_it_as_found() {
    let mut bench = opened("bradawl");
    bench.edit.propose("C102", 47e-9);
    bench.harness.run_steps(2);
    bench.harness.get_by_label(C102).click();
    bench.harness.get_by_label(C102).click();
    bench.harness.run_steps(4);
    assert_eq!(bench.edit.now("C102"), 15e-9);
    bench.click("Undo");
    assert_eq!(bench.edit.now("C102"), 47e-9);
}

#[test]
fn the_wheel_and_the_arrow_keys_step_what_has_the_keyboard() {
    let mut bench = opened("bradawl");
    let turn = |bench: &mut Window, by: f32| {
        bench.harness.event(Event::MouseWheel {
            unit: MouseWheelUnit::Line,
            delta: vec2(0.0, by),
            phase: TouchPhase::Move,
            modifiers: Modifiers::NONE,
            source: egui::MouseWheelSource::Unknown,
        });
        bench.harness.run_steps(20);
    };
    let at = bench.place(C102).center();
    bench.harness.hover_at(at);
    bench.harness.run_steps(1);
    turn(&mut bench, 1.0);
    assert_eq!(
        bench.edit.now("C102"),
        15e-9,
        "a list that is scrolled changes nothing"
    );
    focus(&mut bench, C102);
    turn(&mut bench, 1.0);
    assert_eq!(bench.edit.now("C102"), 18e-9);
    bench.harness.key_press(Key::ArrowUp);
    bench.harness.run_steps(2);
    assert_eq!(bench.edit.now("C102"), 22e-9);
    bench.harness.key_press(Key::Escape);
    bench.harness.run_steps(2);
    assert_eq!(
        bench.edit.now("C102"),
        15e-9,
        "Escape gives back what it was before"
    );
}

#[test]
fn revert_all_and_copy_to_as_found() {
    let mut bench = opened("bradawl");
    bench.edit.propose("C102", 47e-9);
    bench.edit.propose("R505", 15e3);
    bench.edit.propose("Volume", 0.8);
    bench.harness.run_steps(2);
    bench.click("Revert all to as found");
    assert_eq!(bench.edit.now("C102"), 15e-9);
    assert_eq!(bench.edit.now("R505"), 12e3);
    assert_eq!(bench.edit.now("Volume"), 0.8, "the player's controls stay");
    bench
        .harness
        .key_press_modifiers(Modifiers::COMMAND, Key::Z);
    bench.harness.run_steps(2);
    assert_eq!(
        (bench.edit.now("C102"), bench.edit.now("R505")),
        (47e-9, 15e3),
        "one step"
    );
    bench.click("Copy proposed to as found");
    assert_eq!(bench.edit.numbers("C102"), (47e-9, 47e-9));
    assert_eq!(bench.edit.numbers("R505"), (15e3, 15e3));
    assert!(bench.shows("changed: 0"));
}

#[test]
fn a_part_can_be_left_out_and_a_type_chosen() {
    let mut bench = opened("bradawl");
    bench.click("C101 cathode bypass, fitted");
    assert_eq!(bench.edit.now("C101 fitted"), 0.0);
    assert!(
        bench.shows("C101 cathode bypass, as found 4.7 microfarad, proposed not fitted, changed")
    );
    bench.click("V1 gain, proposed");
    bench.harness.get_by_label("ECC81").click();
    bench.harness.run_steps(3);
    let amp = bench.edit.amp.borrow().clone();
    let adjustable = amp.find("V1").unwrap();
    assert_eq!(
        amp.adjustables()[adjustable].text(bench.edit.now("V1")),
        "ECC81"
    );
}

#[test]
fn search_finds_by_designator_role_and_value() {
    let mut bench = opened("bradawl");
    let everything = rows(&bench);
    for (text, designator, most) in [
        ("r103", "R103", 1),
        ("cathode byp", "C101", 3),
        ("390p", "C103", 1),
    ] {
        bench.harness.get_by_label("find").click();
        bench.harness.run_steps(2);
        bench.harness.event(Event::Text(text.into()));
        bench.harness.run_steps(3);
        let found = rows(&bench);
        assert!(
            found.iter().any(|name| name.starts_with(designator)),
            "{text}: {found:?}"
        );
        assert!(found.len() <= most, "{text}: {found:?}");
        bench.click("show all");
    }
    assert_eq!(rows(&bench), everything);
}

/// The rows that are listed, by what they say.
fn rows(bench: &Window) -> Vec<String> {
    let rows = bench.harness.query_all_by_role(egui::Role::ListBoxOption);
    rows.filter_map(|row| row.accesskit_node().label())
        .collect()
}

#[test]
fn undo_and_redo_by_keys_over_parts_and_controls() {
    let mut bench = opened("bradawl");
    focus(&mut bench, R103);
    bench.type_and("120k", Key::Enter);
    bench.click("Feedback (closed)");
    assert_eq!(bench.edit.now("Feedback"), 0.0);
    let press = |bench: &mut Window, modifiers, key| {
        bench.harness.key_press_modifiers(modifiers, key);
        bench.harness.run_steps(2);
        (bench.edit.now("R103"), bench.edit.now("Feedback"))
    };
    let command = Modifiers::COMMAND;
    assert_eq!(press(&mut bench, command, Key::Z), (120e3, 1.0));
    assert_eq!(press(&mut bench, command, Key::Z), (150e3, 1.0));
    assert_eq!(
        press(&mut bench, command | Modifiers::SHIFT, Key::Z),
        (120e3, 1.0)
    );
    assert_eq!(press(&mut bench, command, Key::Y), (120e3, 0.0));
}

#[test]
fn what_is_heard_is_switched() {
    let mut bench = opened("bradawl");
    for (name, number) in [("pair", 2.0), ("as found", 0.0), ("proposed", 1.0)] {
        bench.click(&format!("heard: {name}"));
        assert_eq!(bench.edit.settings.borrow()[&PluginSetting::Heard], number);
    }
    bench.click("match off");
    assert_eq!(bench.edit.settings.borrow()[&PluginSetting::Match], 1.0);
    bench.click("bypass");
    assert_eq!(bench.edit.settings.borrow()[&PluginSetting::Bypass], 1.0);
}

#[test]
fn a_press_with_another_button_drags_nothing() {
    let mut bench = opened("bradawl");
    let at = bench.place(R103).center();
    let press = |pressed| Event::PointerButton {
        pos: at,
        button: PointerButton::Secondary,
        pressed,
        modifiers: Modifiers::NONE,
    };
    bench.harness.event(press(true));
    bench.harness.run_steps(1);
    bench.harness.hover_at(at + vec2(40.0, 0.0));
    bench.harness.run_steps(2);
    bench.harness.event(press(false));
    bench.harness.run_steps(2);
    assert_eq!(bench.edit.now("R103"), 150e3);
}
