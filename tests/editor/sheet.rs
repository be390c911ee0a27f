//! The window's job sheet panel: what it says in short follows the proposal, the sheet is written
//! where it was asked for and never over a file unasked, and what fails is told.

use crate::fixture::{FakeEdit, Window, opened_as};
use egui_kittest::kittest::{NodeT, Queryable};
use std::path::Path;

/// The panel open over an amp with a cooler bias proposed.
fn sheet() -> Window {
    let edit = FakeEdit::with("bradawl");
    edit.propose("R505", 15e3);
    *edit.view.borrow_mut() = r#"{"over": "job_sheet"}"#.into();
    opened_as(edit, [1280.0, 800.0], 1.0)
}

fn write_to(bench: &mut Window, path: &Path) {
    bench.fill("job sheet file", &path.display().to_string());
    bench.click("Write job sheet");
}

#[test]
fn it_says_in_short_what_to_buy_and_follows_the_proposal() {
    let mut bench = sheet();
    bench.until("TO BUY");
    assert!(bench.shows("This can kill."));
    assert!(bench.shows("R505 bias load: resistor 15 kΩ ±"));
    assert!(bench.shows("the chassis is opened once"));
    assert!(bench.shows("Work: about 40 minutes"));
    assert!(bench.shows("Invented prices"));
    assert!(bench.shows("Over a limit as found, within it as proposed:"));
    bench.edit.propose("C102", 47e-9);
    bench.until("C102 coupling: capacitor 47 nF");
    // Nothing proposed, nothing to write.
    for (id, value) in [("R505", 12e3), ("C102", 15e-9)] {
        bench.edit.propose(id, value);
    }
    bench.until("Nothing is proposed yet");
    bench.fill("job sheet file", "sheet.html");
    let button = bench.harness.get_by_label("Write job sheet");
    assert!(button.accesskit_node().is_disabled());
}

#[test]
fn the_sheet_is_written_and_never_over_a_file_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("sheet.html");
    let mut bench = sheet();
    write_to(&mut bench, &path);
    bench.until("working out the job, ");
    // The panel may be closed meanwhile.
    bench.click("Close job sheet");
    let start = std::time::Instant::now();
    while !path.exists() {
        assert!(start.elapsed().as_secs() < 120, "never written");
        std::thread::sleep(std::time::Duration::from_millis(50));
        bench.harness.run_steps(1);
    }
    bench.click("Job sheet");
    bench.until("Written: ");
    assert!(bench.shows("Open it in a browser and print it."));
    let page = std::fs::read_to_string(&path).unwrap();
    assert!(page.starts_with("<!DOCTYPE html>"));
    assert!(page.contains("R505") && page.contains("Invented data"));
    // What was made is shown in full now.
    assert!(bench.shows("R505 bias load: resistor 15 kΩ"));

    std::fs::write(&path, "somebody's").unwrap();
    bench.click("Write job sheet");
    bench.until("is there already. It was left as it is.");
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "somebody's");
    bench.click("Replace that file");
    bench.until("Written: ");
    assert_eq!(std::fs::read_to_string(&path).unwrap(), page);
    // Nothing is left beside it.
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    // The path is kept with the project.
    assert!(bench.edit.view.borrow().contains("sheet.html"));
}

#[test]
fn what_fails_is_told_and_the_making_can_be_called_off() {
    let folder = tempfile::tempdir().unwrap();
    let mut bench = sheet();
    write_to(&mut bench, folder.path());
    bench.until("is a folder.");
    write_to(&mut bench, &folder.path().join("none/sheet.html"));
    bench.until("cannot be written");
    let mut bench = sheet();
    write_to(&mut bench, &folder.path().join("sheet.html"));
    bench.until("working out the job, ");
    bench.click("Call off");
    bench.until("Called off.");
    assert!(!folder.path().join("sheet.html").exists());
}
