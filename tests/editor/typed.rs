//! Values typed into a slow window: however the keys fall into frames, none is lost and none goes
//! elsewhere; and what lies outside a part's range is refused with the range.

use crate::fixture::{Did, Window, opened, opened_at};
use egui::{Event, Key, Modifiers, Pos2};
use egui_kittest::kittest::Queryable;

const R103: &str = "R103 anode load, proposed";
const R104: &str = "R104 cathode bias, proposed";

fn key(key: Key, pressed: bool) -> Event {
    Event::Key {
        key,
        physical_key: None,
        pressed,
        repeat: false,
        modifiers: Modifiers::NONE,
    }
}

/// What a keyboard sends for a text, a list a key; "⏎", "⌫" and "⇥" are the keys of that name.
fn keys(text: &str) -> Vec<Vec<Event>> {
    let one = |c: char| match c {
        '⏎' => vec![key(Key::Enter, true), key(Key::Enter, false)],
        '⌫' => vec![key(Key::Backspace, true), key(Key::Backspace, false)],
        '⇥' => vec![key(Key::Tab, true), key(Key::Tab, false)],
        '⎋' => vec![key(Key::Escape, true), key(Key::Escape, false)],
        c => {
            let name = Key::from_name(&c.to_uppercase().to_string()).expect("a key");
            let text = Event::Text(c.to_string());
            vec![key(name, true), text, key(name, false)]
        }
    };
    text.chars().map(one).collect()
}

fn press(at: Pos2, pressed: bool) -> Event {
    Event::PointerButton {
        pos: at,
        button: egui::PointerButton::Primary,
        pressed,
        modifiers: Modifiers::NONE,
    }
}

/// Draws one frame in which all these come.
fn frame(bench: &mut Window, events: impl IntoIterator<Item = Event>) {
    bench.harness.input_mut().events.extend(events);
    bench.harness.step();
}

/// Types keys, so many a frame, the first so many of them in a frame of their own.
fn type_slowly(bench: &mut Window, keys: &[Vec<Event>], a_frame: usize, first: usize) {
    let (head, tail) = keys.split_at(first.min(keys.len()));
    if !head.is_empty() {
        frame(bench, head.concat());
    }
    for some in tail.chunks(a_frame) {
        frame(bench, some.concat());
    }
    bench.harness.run_steps(3);
}

/// What the window set since the last call, by id.
fn set(bench: &Window) -> Vec<(String, f64)> {
    let did = std::mem::take(&mut *bench.edit.did.borrow_mut());
    let sets = did.into_iter().filter_map(|did| match did {
        Did::Set(id, value) => Some((id, value)),
        _ => None,
    });
    sets.collect()
}

/// A window of five frames a second with a number that has the keyboard.
fn focused(name: &str) -> Window {
    let mut bench = opened_at("bradawl", 5.0);
    bench.harness.get_by_label(name).click();
    bench.harness.run_steps(4);
    set(&bench);
    bench
}

#[test]
fn no_key_is_lost_however_they_fall_into_frames() {
    let mut bench = focused(R103);
    let typed = keys("330k⏎47k⏎18x⌫0k⏎820k⏎");
    let meant = [330e3, 47e3, 180e3, 820e3].map(|value| ("R103".to_owned(), value));
    // Four keys a frame are 20 a second at 5 frames a second; the others are slower and faster.
    for a_frame in [4, 1, 2, 3, 5, 8, typed.len()] {
        for first in 0..a_frame {
            type_slowly(&mut bench, &typed, a_frame, first);
            let set = set(&bench);
            assert_eq!(set, meant, "{a_frame} a frame, {first} first");
        }
    }
}

#[test]
fn events_of_one_key_may_come_in_frames_of_their_own() {
    let mut bench = focused(R103);
    for events in [1, 2, 4, 7] {
        for some in keys("330k⏎120k⏎").concat().chunks(events) {
            frame(&mut bench, some.to_vec());
        }
        bench.harness.run_steps(3);
        let meant = [330e3, 120e3].map(|value| ("R103".to_owned(), value));
        assert_eq!(set(&bench), meant, "{events} events a frame");
    }
}

#[test]
fn the_click_and_the_first_keys_may_come_in_one_frame() {
    let mut bench = opened_at("bradawl", 5.0);
    let at = bench.place(R103).center();
    frame(&mut bench, [Event::PointerMoved(at)]);
    set(&bench);
    let mut first = vec![press(at, true), press(at, false)];
    first.extend(keys("33").concat());
    frame(&mut bench, first);
    type_slowly(&mut bench, &keys("0k⏎"), 4, 0);
    assert_eq!(set(&bench), [("R103".to_owned(), 330e3)]);
}

#[test]
fn a_value_is_taken_when_the_keyboard_goes_elsewhere_in_the_same_frame() {
    let mut bench = focused(R103);
    let [first, other] = [R103, R104].map(|name| bench.place(name).center());
    let click = |at| vec![Event::PointerMoved(at), press(at, true), press(at, false)];
    for a_frame in [1, 2, 4, 8] {
        frame(&mut bench, click(first));
        bench.harness.run_steps(3);
        type_slowly(&mut bench, &keys("330k⇥"), a_frame, 0);
        assert_eq!(set(&bench), [("R103".to_owned(), 330e3)], "{a_frame}");
        frame(&mut bench, click(first));
        bench.harness.run_steps(3);
        let mut typed = keys("470k");
        typed.push(click(other));
        typed.extend(keys("2k2⏎"));
        type_slowly(&mut bench, &typed, a_frame, 0);
        let meant = [("R103", 470e3), ("R104", 2.2e3)].map(|(id, v)| (id.to_owned(), v));
        assert_eq!(set(&bench), meant, "{a_frame} a frame");
        bench.edit.propose("R104", 1.8e3);
        bench.harness.run_steps(2);
    }
}

#[test]
fn escape_gives_up_what_was_typed_in_the_same_frame_too() {
    let mut bench = focused(R103);
    for a_frame in [1, 2, 5] {
        type_slowly(&mut bench, &keys("330k⎋"), a_frame, 0);
        assert_eq!(set(&bench), [], "{a_frame}");
        assert_eq!(bench.edit.now("R103"), 150e3);
    }
    type_slowly(&mut bench, &keys("330k⏎"), 2, 0);
    assert_eq!(bench.edit.now("R103"), 330e3);
}

#[test]
fn a_value_outside_the_range_is_refused_with_the_range() {
    let mut bench = focused(R103);
    for (text, fault) in [
        ("10M", "R103 takes 15k to 1M5"),
        ("4k7", "R103 takes 15k to 1M5"),
    ] {
        type_slowly(&mut bench, &keys(text), 4, 0);
        type_slowly(&mut bench, &keys("⏎"), 4, 0);
        assert_eq!(set(&bench), [], "{text}");
        assert!(bench.shows(fault), "{text}");
        let field = bench.harness.get_by_label(R103);
        assert_eq!(field.value().as_deref(), Some(text), "what was typed stays");
        bench.harness.key_press(Key::Escape);
        bench.harness.run_steps(3);
        assert!(!bench.shows(fault));
    }
    // What is refused can be put right at once, at the same pace.
    type_slowly(&mut bench, &keys("10M⏎"), 4, 0);
    assert!(bench.shows("R103 takes 15k to 1M5"));
    type_slowly(&mut bench, &keys("⌫⌫⌫1M5⏎"), 4, 0);
    assert_eq!(set(&bench), [("R103".to_owned(), 1.5e6)]);
}

#[test]
fn letters_of_a_value_are_no_shortcuts() {
    let mut bench = focused(R104);
    bench.edit.recording.put.set(Some([100, 100]));
    for a_frame in [1, 4, 8] {
        type_slowly(&mut bench, &keys("820R⏎"), a_frame, 0);
        assert_eq!(bench.edit.now("R104"), 820.0);
        assert!(!bench.edit.recording.hears.get(), "{a_frame}");
        bench.edit.propose("R104", 1.8e3);
        bench.harness.run_steps(2);
    }
    let shown = opened("bradawl");
    shown.edit.propose("R104", 820.0);
    let adjustable = shown.edit.amp.borrow().find("R104").unwrap();
    let amp = shown.edit.amp.borrow().clone();
    assert_eq!(amp.adjustables()[adjustable].text(820.0), "820R");
}
