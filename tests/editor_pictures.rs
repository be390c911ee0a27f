//! Pictures of the window in the sizes and themes that it must work in, for somebody to look at; that
//! nothing is drawn outside the window, and what a frame costs.

mod editor_bench;

use editor_bench::{Bench, FakeEdit, FakePlayer, bench_of};
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

fn picture(bench: &mut Bench, name: &str) {
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
            let mut bench = bench_of(edit, size, pixels);
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

#[test]
#[ignore = "a bench: it prints times and judges nothing"]
fn what_a_frame_costs() {
    let mut bench = bench_of(amp("bradawl"), [1280.0, 800.0], 1.0);
    let frames = 100;
    let start = Instant::now();
    bench.harness.run_steps(frames);
    let frame = start.elapsed() / frames as u32;
    bench.edit.propose("R505", 15e3);
    bench.settle();
    let (quick, _) = bench.harness.state().took();
    println!(
        "a frame without painting: {frame:?}; the quick work: {:?}",
        quick.unwrap()
    );
}
