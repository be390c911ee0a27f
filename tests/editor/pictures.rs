//! Pictures of the window in the sizes and themes that it must work in, for somebody to look at; that
//! nothing is drawn outside the window, and what a frame costs.

use crate::fixture::{FakeEdit, FakePlayer, Window, opened_as};
use presolder::editor::edit::{Edit, PluginSetting};
use presolder::live::jack_guitar::JackGuitar;
use std::sync::atomic::Ordering::Relaxed;
use std::time::Instant;

/// Size in points, pixels a point, name.
const SIZES: [([f32; 2], f32, &str); 3] = [
    ([1280.0, 800.0], 1.0, "100"),
    ([900.0, 600.0], 1.0, "smallest"),
    ([900.0, 600.0], 1.5, "150"),
];

fn amp(name: &str) -> FakeEdit {
    let edit = FakeEdit::with(name);
    edit.meters.input_volts.store(0.12, Relaxed);
    edit.meters.input.store(0.1, Relaxed);
    edit.meters.output.store(0.4, Relaxed);
    edit
}

fn picture(bench: &mut Window, name: &str) {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("target/editor_pictures");
    std::fs::create_dir_all(&folder).unwrap();
    let image = bench.harness.render().expect("a renderer");
    image.save(folder.join(format!("{name}.png"))).unwrap();
}

#[test]
fn pictures() {
    for (size, pixels, name) in SIZES {
        for dark in [false, true] {
            let theme = if dark { "dark" } else { "light" };
            let mut edit = amp("bradawl");
            edit.propose("R505", 15e3);
            edit.propose("C102", 47e-9);
            edit.player = (name != "100").then(FakePlayer::default);
            *edit.view.borrow_mut() = format!(r#"{{"dark": {dark}}}"#);
            let mut bench = opened_as(edit, size, pixels);
            picture(&mut bench, &format!("{name}-{theme}"));
            if name == "100" {
                bench.settle_all();
                picture(&mut bench, &format!("{name}-{theme}-verdict"));
                bench.click("C102 coupling, as found 15 nanofarad, proposed 47 nanofarad, changed");
                bench.settle();
                picture(&mut bench, &format!("{name}-{theme}-part"));
            }
            if name == "smallest" && !dark {
                bench.settle_all();
                picture(&mut bench, "smallest-light-verdict");
            }
            bench.click("Files");
            picture(&mut bench, &format!("{name}-{theme}-files"));
            bench.click("Settings");
            picture(&mut bench, &format!("{name}-{theme}-settings"));
        }
    }
}

/// The window as the manual shows it, and the schematic of every amp alone.
#[test]
fn pictures_of_the_schematic() {
    let edit = amp("bradawl");
    edit.propose("R505", 15e3);
    let mut bench = opened_as(edit, [1680.0, 1050.0], 1.0);
    bench.settle_all();
    picture(&mut bench, "manual-window");
    for (key, dark) in [("mizzle", false), ("spokeshave", true), ("sluice", false)] {
        let edit = amp(key);
        *edit.view.borrow_mut() = format!(r#"{{"dark": {dark}}}"#);
        let mut bench = opened_as(edit, [1280.0, 800.0], 1.0);
        bench.settle();
        picture(&mut bench, &format!("schematic-{key}"));
    }
    let edit = amp("sluice");
    *edit.view.borrow_mut() = r#"{"schematic": true}"#.into();
    let mut bench = opened_as(edit, [900.0, 600.0], 2.0);
    bench.settle();
    picture(&mut bench, "schematic-smallest");
}

/// A guitar of one's own about to be chosen, and an amp that passes no signal.
#[test]
fn pictures_of_a_guitar_file_and_of_silence() {
    for (size, pixels, name) in SIZES {
        let edit = amp("bradawl");
        edit.propose("C102 fitted", 0.0);
        let own = JackGuitar::Own as usize as f64;
        edit.set_setting(PluginSetting::Guitar, own);
        let mut bench = opened_as(edit, size, pixels);
        bench.settle_all();
        picture(&mut bench, &format!("{name}-light-silent"));
        bench.click("Settings");
        picture(&mut bench, &format!("{name}-light-guitar-file"));
    }
}

/// The panels over the right column, as they are when somebody has used them.
#[test]
fn pictures_of_the_panels() {
    for (size, dark, name) in [
        ([1280.0, 800.0], false, "panel-light"),
        ([900.0, 600.0], true, "panel-smallest-dark"),
    ] {
        let edit = amp("bradawl");
        edit.propose("R505", 15e3);
        edit.propose("C102", 47e-9);
        *edit.view.borrow_mut() = format!(
            r#"{{"dark": {dark}, "over": "spread", "spread_amps": 200, "readings": [{{"amp":
            "Bradawl 15", "typed": [{{"point": "V3 screen", "volts": "100"}}, {{"point":
            "V3 anode", "volts": "4 kV"}}, {{"point": "V4 anode", "volts": "312"}}]}}]}}"#
        );
        let mut bench = opened_as(edit, size, 1.0);
        bench.click("Draw 200 amps");
        bench.until("NINE AMPS IN TEN");
        bench.settle_all();
        picture(&mut bench, &format!("{name}-spread"));
        scrolled(&mut bench);
        picture(&mut bench, &format!("{name}-spread-end"));
        bench.click("Job sheet");
        bench.until("TO BUY");
        picture(&mut bench, &format!("{name}-sheet"));
        bench.click("Readings");
        bench.until("expected as found: ");
        bench.click("Compare");
        bench.until("the reading is ");
        picture(&mut bench, &format!("{name}-readings"));
        scrolled(&mut bench);
        picture(&mut bench, &format!("{name}-readings-end"));
    }
}

/// Scrolls the right column to its end.
fn scrolled(bench: &mut Window) {
    let window = bench.harness.ctx.content_rect();
    let at = window.lerp_inside(egui::vec2(0.75, 0.4));
    bench.harness.hover_at(at);
    for _ in 0..40 {
        bench.harness.event(egui::Event::MouseWheel {
            unit: egui::MouseWheelUnit::Line,
            delta: egui::vec2(0.0, -20.0),
            modifiers: egui::Modifiers::NONE,
            phase: egui::TouchPhase::Move,
            source: egui::MouseWheelSource::Wheel,
        });
        bench.harness.run_steps(1);
    }
    bench.harness.run_steps(5);
}

#[test]
#[ignore = "a bench: it prints times and judges nothing"]
fn what_a_frame_costs() {
    let frames = 200;
    for key in ["bradawl", "sluice"] {
        // With the schematic and without, in turn, the best of five each.
        let mut benches = [true, false].map(|shown| {
            let edit = amp(key);
            *edit.view.borrow_mut() = format!(r#"{{"schematic": {shown}}}"#);
            let mut bench = opened_as(edit, [1280.0, 800.0], 1.0);
            bench.settle_all();
            bench
        });
        let mut best = [f64::INFINITY; 2];
        for _ in 0..5 {
            for (bench, best) in benches.iter_mut().zip(&mut best) {
                let start = Instant::now();
                bench.harness.run_steps(frames);
                let frame = start.elapsed().as_secs_f64() / frames as f64;
                *best = best.min(1e3 * frame);
            }
        }
        let [with, without] = best;
        println!(
            "{key}: a frame without painting {with:.2} ms, {without:.2} ms without the schematic: {:.2} ms for it",
            with - without
        );
        let bench = &mut benches[0];
        bench
            .edit
            .propose(if key == "bradawl" { "R505" } else { "R504" }, 15e3);
        bench.settle();
        let (quick, _) = bench.harness.state().took();
        println!("the quick work: {:?}", quick.unwrap());
    }
}
