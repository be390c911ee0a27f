//! The window with a file that brings a loudspeaker of its own: the choice shows it, the curve
//! follows it, and a file saved without it is told.

use crate::fixture::{FakeEdit, Window, opened_as};
use crate::own_loudspeaker_files::{FERRY, SHEET, amp};
use egui_kittest::kittest::Queryable;
use presolder::editor::edit::Edit;
use std::time::{Duration, Instant};

const LS1: &str = "LS1 10-inch loudspeaker, proposed";

fn window(tables: &[&str]) -> Window {
    let edit = FakeEdit::with("mizzle");
    edit.load(amp("mizzle", tables).as_bytes(), None).unwrap();
    opened_as(edit, [1280.0, 800.0], 1.0)
}

/// The loudspeaker that is proposed.
fn proposed(bench: &Window) -> String {
    let amp = bench.edit.amp.borrow().clone();
    let adjustable = amp.find("LS1").unwrap();
    amp.adjustables()[adjustable].text(bench.edit.now("LS1"))
}

#[test]
fn the_choice_shows_it_and_takes_it() {
    let mut bench = window(&[FERRY, SHEET]);
    bench.press(LS1);
    for name in ["Anvil Twelve", "Tin Ten", "Ferry Eight", "Plain Ten"] {
        assert!(
            bench.harness.query_all_by_label(name).next().is_some(),
            "{name}"
        );
    }
    bench.press("Ferry Eight");
    bench.harness.run_steps(3);
    assert_eq!(proposed(&bench), "Ferry Eight");
    bench.settle();
    assert!(bench.shows("proposed Ferry Eight, changed"));
    // Without the tables it is not there.
    let mut plain = window(&[]);
    plain.press(LS1);
    assert!(plain.harness.query_all_by_label("Tin Ten").next().is_some());
    assert!(
        plain
            .harness
            .query_all_by_label("Ferry Eight")
            .next()
            .is_none()
    );
}

/// Read again with its tables in another order the choice stays by its name; without its table it
/// is left out and told, instead of another one being taken.
#[test]
fn a_file_that_is_read_again_keeps_the_choice_by_name() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("amp.toml");
    std::fs::write(&path, amp("mizzle", &[FERRY, SHEET])).unwrap();
    let mut bench = window(&[]);
    bench.click("Files");
    bench.fill("circuit file", &path.display().to_string());
    bench.click("Open circuit");
    bench.until("Loaded");
    bench.edit.propose("LS1", 5.0);
    bench.harness.run_steps(2);
    assert_eq!(proposed(&bench), "Plain Ten");
    let mut saved = |tables: &[&str], known: usize| {
        std::fs::write(&path, amp("mizzle", tables)).unwrap();
        let start = Instant::now();
        while bench.edit.amp.borrow().circuit().own_loudspeakers().count() != known {
            assert!(
                start.elapsed() < Duration::from_secs(60),
                "never read again"
            );
            std::thread::sleep(Duration::from_millis(20));
            bench.harness.run_steps(1);
        }
        bench.harness.run_steps(3);
        (proposed(&bench), bench.shows("left out: LS1 Plain Ten"))
    };
    let third = SHEET.replace("Plain Ten", "Third");
    assert_eq!(
        saved(&[SHEET, FERRY, &third], 3),
        ("Plain Ten".into(), false)
    );
    assert_eq!(saved(&[FERRY], 1), ("Harbour Ten".into(), true));
}
