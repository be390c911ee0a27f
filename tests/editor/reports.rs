//! What the window tells: the curve follows a value, the valves and the verdict are recomputed with
//! the old ones said to be of before, a part says where it acts; and everything fits into the
//! smallest window.

use crate::figures::bradawl;
use crate::fixture::{FakeEdit, FakePlayer, Window, opened, opened_as};
use egui::Rect;
use egui_kittest::kittest::{NodeT, Queryable};
use std::sync::atomic::Ordering::Relaxed;

/// What the curve says to those who do not see it.
fn curve(bench: &Window) -> String {
    let curves = bench
        .harness
        .query_all_by_label_contains("Response from the input");
    let label = curves.map(|curve| curve.accesskit_node().label()).next();
    label.flatten().expect("a curve")
}

#[test]
fn the_curve_and_the_valves_follow_a_value() {
    let mut bench = opened("bradawl");
    let before = curve(&bench);
    assert!(before.contains("difference 0.0 dB"), "{before}");
    let [found, cooler] = ["12k", "15k"].map(bradawl);
    let over = found.anode_percent().round();
    assert!(over > 100.0);
    bench.click("Valves");
    assert!(bench.shows(&format!(
        "V3, V4 EL84, anode, at rest, proposed: {:.1} of 12 W, {over} %, {} % over its limit",
        found.anode_watts,
        over - 100.0
    )));
    bench.click("Response");
    bench.edit.propose("R505", 15e3);
    bench.settle();
    let after = curve(&bench);
    let less = found.gain_db - cooler.gain_db;
    assert!(less > 0.2);
    let expected = format!(
        "1 kHz: as found {:.1} dB, proposed {:.1} dB, difference −{less:.1} dB",
        found.gain_db, cooler.gain_db
    );
    assert!(after.contains(&expected), "{expected}: {after}");
    let anode = "V3, V4 EL84, anode, at rest";
    bench.click("Valves");
    assert!(bench.shows(&format!(
        "{anode}, as found: {:.1} of 12 W",
        found.anode_watts
    )));
    assert!(bench.shows(&format!(
        "{anode}, proposed: {:.1} of 12 W, {:.0} %",
        cooler.anode_watts,
        cooler.anode_percent()
    )));
}

#[test]
fn a_node_can_be_chosen_for_the_curve() {
    let mut bench = opened("bradawl");
    let before = curve(&bench);
    let combo = bench.harness.query_all_by_role(egui::Role::ComboBox);
    let combo = combo.filter(|c| {
        c.value()
            .is_some_and(|v| v == "output" || v.contains("LS1"))
    });
    let at = combo
        .map(|c| c.rect())
        .next()
        .expect("the node's box")
        .center();
    bench.harness.drag_at(at);
    bench.harness.drop_at(at);
    bench.harness.run_steps(3);
    bench.harness.get_by_label("node a1").click_accesskit();
    bench.settle();
    assert_ne!(curve(&bench), before);
}

#[test]
fn the_slow_analyses_come_later_and_the_old_ones_are_said_to_be_of_before() {
    let mut bench = opened("bradawl");
    bench.edit.propose("R505", 15e3);
    bench.settle();
    assert!(bench.shows("being computed"));
    bench.settle_all();
    assert!(!bench.shows("being computed"));
    assert!(bench.shows("The anodes of V3 and V4 run at 9.4 W"));
    bench.click("Valves");
    assert!(bench.shows("V3, V4 EL84, anode, while playing, proposed"));
    assert!(bench.shows("SUPPLY SAG"));
    bench.click("Headroom");
    assert!(bench.shows("(clips first)"));
    bench.edit.propose("R505", 18e3);
    bench.settle();
    assert!(bench.shows("of before; being recomputed"));
    assert!(
        bench.shows("The anodes of V3 and V4 run at 9.4 W"),
        "the old one stays"
    );
    let (quick, slow) = bench.harness.state().took();
    println!(
        "quick work {:?}, slow work {:?}",
        quick.unwrap(),
        slow.unwrap()
    );
}

#[test]
fn headroom_is_told_for_what_is_played() {
    let mut bench = opened("bradawl");
    bench.settle_all();
    bench.click("Headroom");
    assert!(bench.shows("nothing is played"));
    bench.edit.meters.input_volts.store(0.002, Relaxed);
    bench.harness.run_steps(2);
    assert!(bench.shows("with 2.0 mV at the jack"));
    assert!(bench.shows("dB left"));
    bench.edit.meters.input_volts.store(9.0, Relaxed);
    bench.harness.run_steps(2);
    assert!(bench.shows("dB over"));
}

#[test]
fn a_part_that_is_looked_at_says_where_it_acts() {
    let mut bench = opened("bradawl");
    assert!(bench.shows("THE WHOLE PROPOSAL"));
    bench.edit.propose("C102", 47e-9);
    bench.settle();
    bench.click("C102 coupling, as found 15 nanofarad, proposed 47 nanofarad, changed");
    bench.settle();
    assert!(bench.shows("it sets a low cut at 13 Hz"));
    assert!(bench.shows("Where it acts, dB for twice the value: "));
    assert!(bench.shows("At rest: 135 V across, no current"));
    bench.click("Back to as found");
    assert_eq!(bench.edit.now("C102"), 15e-9);
    bench.click("Whole proposal");
    bench.harness.remove_cursor();
    bench.harness.run_steps(3);
    assert!(bench.shows("THE WHOLE PROPOSAL"));
}

#[test]
fn the_cautions_are_always_one_click_away() {
    let mut bench = opened("bradawl");
    assert!(bench.shows("Lethal voltages stay"));
    bench.click("What these numbers are, and how to stay alive");
    for words in [
        "Every number here is computed",
        "licensed technician",
        "one hand",
        "measure that they are empty",
    ] {
        assert!(bench.shows(words), "{words}");
    }
}

/// In the smallest window, and the same enlarged, with every bar at its fullest.
#[test]
fn nothing_is_cut_off_or_covered_in_the_smallest_window() {
    for pixels in [1.0, 1.5] {
        let mut edit = FakeEdit::with("sluice");
        edit.player = Some(FakePlayer::default());
        let mut bench = opened_as(edit, [900.0, 600.0], pixels);
        bench.click("Valves");
        if pixels == 1.0 {
            bench.settle_all();
            assert!(bench.shows(", while playing, proposed"));
        }
        let last = bench.harness.query_all_by_label_contains(", bias ");
        let rights: Vec<f32> = last.map(|bias| bias.rect().right()).collect();
        assert!(
            rights.len() > 2 && rights.iter().all(|right| *right < 890.0),
            "{rights:?}"
        );
        let window = Rect::from_min_size(egui::Pos2::ZERO, egui::vec2(900.0, 600.0));
        let names = [
            "bypass",
            "Undo",
            "Redo",
            "Files",
            "Settings",
            "Play",
            "Built-in phrase",
            "Open recording",
            "live input",
            "find",
            "Revert all to as found",
            "Copy proposed to as found",
            "What these numbers are, and how to stay alive",
        ];
        let mut places: Vec<(&str, Rect)> = Vec::new();
        for name in names {
            let all = bench.harness.query_all_by_label(name);
            let rect = all
                .map(|node| node.rect())
                .next()
                .unwrap_or_else(|| panic!("no {name}"));
            assert!(window.contains_rect(rect), "{name} at {rect:?}");
            places.push((name, rect));
        }
        for slider in bench.harness.query_all_by_role(egui::Role::Slider) {
            assert!(
                window.contains_rect(slider.rect()),
                "a control at {:?}",
                slider.rect()
            );
            places.push(("a control", slider.rect()));
        }
        assert!(places.len() > 14);
        for (i, (a, first)) in places.iter().enumerate() {
            for (b, second) in &places[..i] {
                let both = first.intersect(*second);
                assert!(!both.is_positive(), "{a} covers {b}");
            }
        }
    }
}

/// Every field and button has a name of its own kind for a screen reader.
#[test]
fn everything_that_can_be_used_has_a_name() {
    let mut bench = opened("spokeshave");
    bench.click("Files");
    bench.click("Settings");
    let roles = [
        egui::Role::Button,
        egui::Role::CheckBox,
        egui::Role::ComboBox,
        egui::Role::RadioButton,
        egui::Role::Slider,
        egui::Role::SpinButton,
        egui::Role::TextInput,
        egui::Role::ListBoxOption,
    ];
    let mut seen = 0;
    for role in roles {
        for node in bench.harness.query_all_by_role(role) {
            let node = node.accesskit_node();
            let named = node.label().is_some_and(|name| !name.trim().is_empty());
            assert!(named, "{role:?} at {:?}", node.bounding_box());
            seen += 1;
        }
    }
    assert!(seen > 150, "{seen}");
}

#[test]
fn the_verdict_tells_limits_first_then_each_change_and_unfolds_the_rest() {
    let mut bench = opened("bradawl");
    bench.edit.propose("R505", 15e3);
    bench.settle_all();
    assert!(bench.shows("Over a limit"));
    assert!(bench.shows(&format!(
        "V3 and V4: as found the anode dissipation is {:.1} W at rest",
        bradawl("12k").anode_watts
    )));
    assert!(bench.shows("R505 (bias load, 12 kΩ → 15 kΩ)"));
    // What takes a second by itself is there when all is done.
    for title in [
        "The idle of the output valves",
        "What stays charged, as proposed",
        "Clean headroom and harmonics",
        "As the volume control is turned",
        "After a burst",
        "Every valve and part beside its limit, as proposed",
    ] {
        bench.harness.get_by_label(title).click_accesskit();
        bench.harness.run_steps(4);
    }
    assert!(bench.shows("R505 (bias load) sets the idle of V3 and V4"));
    assert!(bench.shows("it can stay charged for hours or days"));
    assert!(bench.shows("Harmonics at 5 % distortion"));
}
