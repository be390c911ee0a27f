//! The window and files: opened, watched, saved; what fails leaves the running amp alone, and what
//! was typed is not lost.

use crate::fixture::{FakeEdit, Window, opened, opened_as};
use egui::{Event, Key};
use egui_kittest::kittest::Queryable;
use presolder::circuit::built_in_circuit;
use std::path::Path;
use std::time::{Duration, Instant};

/// Opens the files and a circuit by its path.
fn open(bench: &mut Window, path: &Path) {
    bench.harness.get_by_label("circuit file").click();
    bench.harness.run_steps(2);
    bench
        .harness
        .key_press_modifiers(egui::Modifiers::COMMAND, Key::A);
    bench.harness.run_steps(1);
    let text = path.display().to_string();
    bench.harness.event(Event::Text(text));
    bench.harness.run_steps(2);
    bench.click("Open circuit");
}

fn mizzle() -> &'static str {
    built_in_circuit("mizzle").unwrap().text
}

#[test]
fn a_file_with_faults_shows_every_line_and_leaves_the_amp_playing() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("broken.toml");
    let mut lines: Vec<String> = mizzle().lines().map(str::to_owned).collect();
    let resistors: Vec<usize> = (0..lines.len())
        .filter(|&i| lines[i].contains("resistor = \""))
        .take(2)
        .collect();
    for &line in &resistors {
        let from = lines[line].find("resistor = \"").unwrap();
        lines[line].insert_str(from + "resistor = \"".len(), "about ");
    }
    std::fs::write(&path, lines.join("\n")).unwrap();
    let mut bench = opened("bradawl");
    bench.edit.propose("R505", 15e3);
    bench.click("Files");
    open(&mut bench, &path);
    bench.until("was not loaded");
    for line in resistors {
        assert!(bench.shows(&format!("line {}", line + 1)));
    }
    assert_eq!(bench.edit.amp.borrow().circuit().name(), "Bradawl 15");
    assert_eq!(bench.edit.now("R505"), 15e3);
    // A file that is not there, likewise.
    open(&mut bench, &folder.path().join("nowhere.toml"));
    bench.until("cannot be read");
    assert_eq!(bench.edit.amp.borrow().circuit().name(), "Bradawl 15");
}

#[test]
fn a_file_is_read_again_when_saved_and_what_was_typed_is_carried_over() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("amp.toml");
    std::fs::write(&path, mizzle()).unwrap();
    let mut bench = opened("mizzle");
    bench.click("Files");
    open(&mut bench, &path);
    bench.until("Loaded");
    let adjustable = bench.edit.amp.borrow().adjustables()[0].clone();
    bench.edit.propose(&adjustable.id, adjustable.filed * 2.0);
    bench.harness.run_steps(2);
    let text = mizzle().replace("about = \"", "about = \"Written anew. ");
    std::fs::write(&path, &text).unwrap();
    let start = Instant::now();
    while !bench
        .edit
        .amp
        .borrow()
        .circuit()
        .about()
        .starts_with("Written anew")
    {
        assert!(
            start.elapsed() < Duration::from_secs(30),
            "never read again"
        );
        std::thread::sleep(Duration::from_millis(20));
        bench.harness.run_steps(1);
    }
    assert_eq!(bench.edit.now(&adjustable.id), adjustable.filed * 2.0);
    // A faulty save leaves the circuit that plays.
    std::fs::write(&path, "format = 1\n[amp]\n").unwrap();
    bench.until("was not loaded");
    assert!(
        bench
            .edit
            .amp
            .borrow()
            .circuit()
            .about()
            .starts_with("Written anew")
    );
}

#[test]
fn another_amp_keeps_the_proposal_of_the_one_before() {
    let mut bench = opened("bradawl");
    bench.edit.propose("R505", 15e3);
    bench.harness.run_steps(2);
    bench.click("Files");
    bench.click("Mizzle 5");
    assert_eq!(bench.edit.amp.borrow().circuit().name(), "Mizzle 5");
    assert!(bench.shows("what was proposed for Bradawl 15"));
    bench.click("Bradawl 15");
    assert_eq!(bench.edit.now("R505"), 12e3);
    bench.click("Bring back");
    assert_eq!(bench.edit.now("R505"), 15e3);
    assert!(!bench.shows("what was proposed for"));
}

#[test]
fn a_proposal_is_opened_saved_and_not_written_over_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("mine.toml");
    let mut bench = opened("bradawl");
    bench.click("Files");
    bench.click("Cooler bias");
    assert_eq!(bench.edit.now("R505"), 15e3);
    bench.harness.get_by_label("proposal file").click();
    bench.harness.run_steps(2);
    bench.harness.event(Event::Text(path.display().to_string()));
    bench.harness.run_steps(2);
    bench.click("Save proposal");
    bench.until("Saved");
    assert!(
        std::fs::read_to_string(&path)
            .unwrap()
            .contains("R505 = \"15k\"")
    );
    bench.click("Undo");
    assert_eq!(
        bench.edit.now("R505"),
        12e3,
        "opening a proposal is one step"
    );
    bench.click("Open proposal");
    bench.until("Opened");
    assert_eq!(bench.edit.now("R505"), 15e3);
    std::fs::write(&path, "somebody's").unwrap();
    bench.click("Save proposal");
    bench.until("is there already");
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "somebody's");
    bench.click("Replace that file");
    bench.until("Saved");
    assert!(std::fs::read_to_string(&path).unwrap().contains("R505"));
}

#[test]
fn the_view_is_kept_with_the_project() {
    let mut bench = opened("bradawl");
    bench.click("Files");
    bench.harness.run_steps(2);
    let view = bench.edit.view.borrow().clone();
    assert!(view.contains("\"over\":\"files\""), "{view}");
    let edit = FakeEdit::with("bradawl");
    *edit.view.borrow_mut() = view;
    let again = opened_as(edit, [1280.0, 800.0], 1.0);
    assert!(again.shows("THE PROPOSAL"));
}

#[test]
fn what_could_not_be_restored_is_told_until_it_is_read() {
    let edit = FakeEdit::with("bradawl");
    edit.notes
        .borrow_mut()
        .push("R9 is not in this amp; its value was left out.".into());
    let mut bench = opened_as(edit, [1280.0, 800.0], 1.0);
    assert!(bench.shows("R9 is not in this amp"));
    bench.click("I have read this");
    assert!(!bench.shows("R9 is not in this amp"));
}
