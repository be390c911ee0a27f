//! The window's panel of loudspeakers: its rows and sentences are those of the command line's
//! report, another loudspeaker is proposed from it, what is of before is told, it can be called off,
//! and an amp without a loudspeaker is told why there is nothing.

use crate::fixture::{FakeEdit, Window, opened_as};
use crate::program::{json, number};
use egui_kittest::kittest::{NodeT, Queryable};
use presolder::circuit::built_in_circuit;
use presolder::editor::edit::{Edit, PluginSetting};
use presolder::text::digits::{percent, printed, significant};
use serde_json::Value;

fn window(amp: &str) -> Window {
    window_of(FakeEdit::with(amp), [1280.0, 800.0])
}

fn window_of(edit: FakeEdit, size: [f32; 2]) -> Window {
    let dark = size[0] < 1000.0;
    *edit.view.borrow_mut() = format!(r#"{{"over": "loads", "dark": {dark}}}"#);
    opened_as(edit, size, 1.0)
}

fn work_out(bench: &mut Window) {
    bench.press("Work out loudspeakers");
    bench.until(": ohms on the tap ");
}

fn picture(bench: &mut Window, name: &str) {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("target/editor_pictures");
    std::fs::create_dir_all(&folder).unwrap();
    let image = bench.harness.render().expect("a renderer");
    image.save(folder.join(format!("{name}.png"))).unwrap();
}

/// Clicks the row whose name begins so.
fn choose(bench: &mut Window, name: &str) {
    let row = format!("{name}: ohms on the tap ");
    let rows = bench.harness.query_all_by_label_contains(&row);
    let rows: Vec<_> = rows.collect();
    assert_eq!(rows.len(), 1, "{name}");
    rows[0].click_accesskit();
    drop(rows);
    bench.harness.run_steps(3);
}

/// What a row of the window is called.
fn named(case: &Value) -> String {
    let name = case["name"].as_str().unwrap();
    match name {
        "As it is" => {
            let loudspeakers = case["loudspeakers"].as_array().unwrap().iter();
            let names: Vec<&str> = loudspeakers.map(|l| l["name"].as_str().unwrap()).collect();
            format!("{name}: {}", names.join(" + "))
        }
        name => name.into(),
    }
}

/// A row as it must be told, from the figures that the command line prints.
fn row(case: &Value) -> String {
    let watts = |figure: &str| {
        let share = number(&case["hard"][format!("{figure}_percent")]);
        let over = if share > 100.0 {
            ", over the limit"
        } else {
            ""
        };
        let watts = significant(number(&case["hard"][format!("{figure}_watts")]), 2);
        format!("{watts} W, {}{over}", percent(share))
    };
    let (screen, anode) = (watts("screen"), watts("anode"));
    let nominal = &case["nominal"];
    if nominal.is_null() {
        return format!(
            "{}: ohms on the tap –; valves see no load; screen, driven hard {screen}; anode, driven \
             hard {anode}; loudspeaker gets –; clean –; damping –",
            named(case)
        );
    }
    let ratio = number(&nominal["ratio"]);
    let word = match ratio {
        // Ratios of rated impedances are round: 0.5, 1 or 2.
        r if r > 1.5 => ", too high",
        r if r < 0.75 => ", too low",
        _ => "",
    };
    let of = |key: &str, scale: f64| printed(number(&nominal[key]) / scale);
    let loudspeakers = case["loudspeakers"].as_array().unwrap();
    let most = |l: &Value| number(&l["hard_watts"]).max(number(&l["clean_watts"]));
    let share = |l: &Value| most(l) / number(&l["rated_watts"]);
    let worst = loudspeakers.iter();
    let worst = worst.max_by(|a, b| share(a).total_cmp(&share(b))).unwrap();
    let over = if share(worst) > 1.0 {
        ", over the limit"
    } else {
        ""
    };
    format!(
        "{}: ohms on the tap {} on {} Ω; valves see {} kΩ{word}; screen, driven hard {screen}; \
         anode, driven hard {anode}; loudspeaker gets {} of {} W{over}; clean {} W; damping {}",
        named(case),
        of("ohms", 1.0),
        of("meant_ohms", 1.0),
        of("primary_ohms", 1000.0),
        significant(most(worst), 2),
        printed(number(&worst["rated_watts"])),
        significant(number(&case["clean_watts"]), 2),
        significant(number(&case["damping"]), 2)
    )
}

#[test]
fn rows_and_sentences_are_those_of_the_command_line() {
    let report = json(&["check", "bradawl", "--load"]);
    let cases = report["cases"].as_array().unwrap();
    let mut bench = window("bradawl");
    assert!(bench.shows("Never run the amp without a loudspeaker"));
    assert!(!bench.shows(": ohms on the tap "));
    work_out(&mut bench);
    for case in cases {
        assert!(bench.shows(&row(case)), "{}", row(case));
    }
    let meant = printed(number(&cases[0]["nominal"]["meant_primary_ohms"]) / 1000.0);
    assert!(bench.shows(&format!("valves see,\nmeant {meant} kΩ")));
    // What it is at first, then what is over a limit, the worst first.
    let mut places: Vec<(f32, &Value)> = Vec::new();
    for case in cases {
        let row = row(case);
        let rows = bench.harness.query_all_by_label_contains(&row);
        places.extend(rows.map(|row| (row.rect().top(), case)));
    }
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    assert_eq!(places.len(), cases.len());
    assert_eq!(places[0].1["name"], "As it is");
    let over: Vec<bool> = places[1..]
        .iter()
        .map(|(_, c)| row(c).contains("over"))
        .collect();
    assert!(over.is_sorted_by(|a, b| a >= b), "{over:?}");
    assert!(over.contains(&true), "nothing connected is over a limit");
    for case in cases {
        choose(&mut bench, &named(case));
        for sentence in case["sentences"].as_array().unwrap() {
            assert!(bench.shows(sentence.as_str().unwrap()), "{sentence}");
        }
        let current = significant(1e3 * number(&case["hard"]["peak_amps"]), 2);
        let current = format!("most current of a cathode, driven hard: {current} mA");
        assert!(bench.shows(&current), "{current}");
    }
    // The second one in series has no place in this file.
    choose(&mut bench, "A second Tin Ten in series");
    assert!(bench.shows("write the second loudspeaker into the circuit file"));
    assert!(!bench.shows("Propose LS1"));
    choose(&mut bench, "Nothing connected");
    assert!(!bench.shows("Propose"));
    bench.press("How the figures are meant");
    assert!(bench.shows("Clean power is a sine of 1 kHz at 5 % distortion"));
}

#[test]
fn a_loudspeaker_is_proposed_heard_and_taken_back() {
    let mut bench = window("bradawl");
    bench.edit.set_setting(PluginSetting::Heard, 0.0);
    work_out(&mut bench);
    assert!(bench.shows("This is what is plugged in now."));
    choose(&mut bench, "Anvil Twelve instead");
    bench.press("Propose LS1 = Anvil Twelve");
    bench.settle();
    let (found, proposed) = bench.edit.numbers("LS1");
    let text = |number: f64| {
        let amp = bench.edit.amp();
        amp.adjustables()[amp.find("LS1").unwrap()].text(number)
    };
    assert_eq!([text(found), text(proposed)], ["Tin Ten", "Anvil Twelve"]);
    // Every row says what is plugged in, so a swap makes none of them old.
    assert!(!bench.shows("Of before"));
    assert!(bench.shows("Anvil Twelve instead ● proposed: ohms on the tap "));
    assert!(bench.shows("This is what is proposed now; \"as it is\" still means Tin Ten."));
    assert!(bench.shows("Heard is the amp as found: choose \"proposed\""));
    bench.edit.set_setting(PluginSetting::Heard, 1.0);
    bench.harness.run_steps(2);
    assert!(!bench.shows("Heard is the amp as found"));
    // From one to the next without working it out again, and back.
    choose(&mut bench, "Harbour Ten instead");
    bench.press("Propose LS1 = Harbour Ten");
    bench.settle();
    assert!(!bench.shows("Of before"));
    choose(&mut bench, "As it is: Tin Ten");
    bench.press("Propose the loudspeaker as it was");
    bench.settle();
    assert_eq!(bench.edit.now("LS1"), found);
    bench.press("Undo");
    bench.press("Undo");
    assert_eq!(bench.edit.now("LS1"), proposed, "each was one step");
}

#[test]
fn what_is_of_before_is_told_and_can_be_worked_out_again() {
    let mut bench = window("bradawl");
    work_out(&mut bench);
    let before = row(&json(&["check", "bradawl", "--load"])["cases"][0]);
    choose(&mut bench, "Anvil Twelve instead");
    bench.edit.propose("R505", 15e3);
    bench.settle();
    assert!(bench.shows("Of before: something has changed since."));
    assert!(bench.shows(&before), "the old figures stay");
    let button = bench.harness.get_by_label("Propose LS1 = Anvil Twelve");
    assert!(button.accesskit_node().is_disabled());
    bench.press("Work out loudspeakers");
    let start = std::time::Instant::now();
    while bench.shows("Of before") {
        assert!(start.elapsed().as_secs() < 120);
        std::thread::sleep(std::time::Duration::from_millis(20));
        bench.harness.run_steps(1);
    }
    let report = json(&["check", "bradawl", "--load", "--set", "R505=15k"]);
    for case in report["cases"].as_array().unwrap() {
        assert!(bench.shows(&row(case)), "{}", row(case));
    }
    // Another amp on the bench: its own are not known yet, and the old ones say whose they are.
    let sluice = built_in_circuit("sluice").unwrap().text;
    bench.edit.load(sluice.as_bytes(), None).unwrap();
    bench.settle();
    assert!(bench.shows("Bradawl 15, which is not on the bench now."));
    assert!(bench.shows("Of before"));
}

#[test]
fn an_extension_socket_is_plugged_in() {
    let mut bench = window("sluice");
    work_out(&mut bench);
    choose(&mut bench, "LS2 (Breakwater Quad) as well");
    bench.press("Propose LS2 plugged in");
    bench.settle();
    assert_eq!(bench.edit.now("LS2 fitted"), 1.0);
    assert!(!bench.shows("Of before"));
    assert!(bench.shows("LS2 (Breakwater Quad) as well ● proposed"));
    // Both the socket and another type: no row is of that.
    let other = 1.0 - bench.edit.now("LS1").min(1.0);
    bench.edit.propose("LS1", other);
    bench.settle();
    assert!(bench.shows("Of before"));
}

#[test]
fn it_can_be_called_off_and_the_window_goes_on() {
    let mut bench = window("bradawl");
    bench.press("Work out loudspeakers");
    bench.until("working out, ");
    let button = bench.harness.get_by_label("Work out loudspeakers");
    assert!(button.accesskit_node().is_disabled());
    bench.press("Call off");
    bench.until("Called off.");
    assert!(!bench.shows(": ohms on the tap "));
    // A window that closes meanwhile ends the work.
    bench.press("Work out loudspeakers");
    bench.until("working out, ");
    drop(bench);
}

#[test]
fn without_a_loudspeaker_it_is_said_what_to_write() {
    let edit = FakeEdit::with("bradawl");
    let text = built_in_circuit("bradawl").unwrap().text;
    let text = text.replace("output = \"LS1\"", "output = \"spk\"");
    edit.load(text.as_bytes(), None).unwrap();
    let bench = window_of(edit, [1280.0, 800.0]);
    assert!(bench.shows("What is heard is no loudspeaker behind an output transformer"));
    assert!(!bench.shows("Work out loudspeakers"));
}

#[test]
fn pictures_of_the_panel() {
    for (size, name) in [
        ([1280.0, 800.0], "100-light"),
        ([900.0, 600.0], "smallest-dark"),
    ] {
        let mut bench = window_of(FakeEdit::with("bradawl"), size);
        work_out(&mut bench);
        picture(&mut bench, &format!("loads-{name}"));
        choose(&mut bench, "Breakwater Quad instead");
        bench.press("Propose LS1 = Breakwater Quad");
        bench.settle();
        picture(&mut bench, &format!("loads-{name}-proposed"));
        bench.edit.propose("R505", 15e3);
        bench.settle();
        picture(&mut bench, &format!("loads-{name}-before"));
    }
}
