//! What drives the jack, chosen in the window: a guitar changes what is shown of parts at the jack, and
//! a boost is answered for.

use crate::fixture::{Window, opened};
use egui_kittest::kittest::Queryable;
use presolder::editor::edit::{Edit, PluginSetting};

fn choose(bench: &mut Window, guitar: &str) {
    let combo = bench
        .harness
        .get_by_role_and_label(egui::Role::ComboBox, "guitar");
    combo.click();
    bench.harness.run_steps(3);
    bench.click(guitar);
    bench.settle_all();
}

#[test]
fn a_guitar_is_chosen_and_the_part_at_the_jack_is_judged_with_it() {
    let mut bench = opened("bradawl");
    bench.edit.propose("R101", 220e3);
    bench.settle_all();
    assert!(bench.shows("depends on the guitar"));
    assert!(bench.shows("No guitar is assumed"));
    bench.click("Settings");
    choose(&mut bench, "humbucker");
    assert_eq!(bench.edit.setting(PluginSetting::Guitar), 2.0);
    assert!(!bench.shows("depends on the guitar"));
    assert!(bench.shows("The guitar is assumed: humbucker"));
    assert!(bench.shows("R101 (grid leak, 1 MΩ → 220 kΩ): Clearly audible"));
    choose(&mut bench, "none");
    assert!(bench.shows("depends on the guitar"));
}

#[test]
fn a_boost_is_answered_for_and_takes_the_guitar_off_the_jack() {
    let mut bench = opened("bradawl");
    bench.edit.propose("R505", 15e3);
    bench.edit.set_setting(PluginSetting::Guitar, 2.0);
    bench.settle_all();
    assert!(!bench.shows("dB boost"));
    assert!(bench.edit.amp().circuit().guitar().is_some());
    bench.edit.set_setting(PluginSetting::Boost, 12.0);
    bench.settle_all();
    assert!(bench.shows("12 dB boost"));
    assert!(bench.edit.amp().circuit().guitar().is_none());
    bench.edit.set_setting(PluginSetting::Boost, 0.0);
    bench.settle_all();
    assert!(!bench.shows("dB boost"));
    assert!(bench.edit.amp().circuit().guitar().is_some());
}

/// A guitar of one's own with a long lead.
const OWN: &str = "format = 1\n[guitar]\nname = \"Saturday guitar\"\nlead = \"2n\"\n";

#[test]
fn a_guitar_of_ones_own_is_opened_in_the_window() {
    let folder = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| {
        let path = folder.path().join(name);
        std::fs::write(&path, text).unwrap();
        path.display().to_string()
    };
    let good = write("guitar.toml", OWN);
    let faulty = write("faulty.toml", &OWN.replace("2n", "2q"));
    let mut bench = opened("bradawl");
    bench.click("Settings");
    assert!(!bench.shows("Open guitar"));
    choose(&mut bench, "own file");
    assert!(bench.edit.amp().circuit().guitar().is_none());
    assert!(bench.shows("No guitar file yet"));
    // What is faulty is told with its line and leaves all as it is.
    bench.fill("guitar file", &faulty);
    bench.press("Open guitar");
    bench.until("was not opened");
    assert!(bench.shows("line 4"));
    assert!(bench.edit.own_guitar().is_none());
    bench.fill("guitar file", &good);
    bench.press("Open guitar");
    bench.until("In the jack: Saturday guitar");
    assert!(!bench.shows("was not opened"));
    assert_eq!(bench.edit.own_guitar().unwrap().text, OWN);
    let in_jack = |bench: &Window| {
        let amp = bench.edit.amp();
        amp.circuit().guitar().map(|guitar| guitar.lead_farads)
    };
    assert_eq!(in_jack(&bench), Some(2e-9));
    bench.press("Unplug this guitar");
    assert!(bench.edit.own_guitar().is_none());
    assert_eq!(in_jack(&bench), None);
}
