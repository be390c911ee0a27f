//! The owner's price file in the window: verdict and job sheet go by it, its faults are told and
//! leave the prices as they are, and the project keeps it where the file is not.

use crate::fixture::{FakeEdit, Window, opened_as};
use egui_kittest::kittest::{NodeT, Queryable};
use std::path::Path;

/// Prices that nobody asks (invented): the words tell them from the program's.
const OWN: &str = r#"
format = 1
[prices]
currency = "shells"
about = "What my shop asks."
[minutes]
chassis = 50
resistor = 11
capacitor = 12
inductor = 13
pot = 14
valve = 15
rectifier = 16
output_transformer = 17
loudspeaker = 18
[parts]
resistor = [{ price = 7 }]
capacitor = [{ price = 9 }]
"#;

fn window(view: &str) -> Window {
    let edit = FakeEdit::with("bradawl");
    edit.propose("R505", 15e3);
    edit.propose("C102", 47e-9);
    *edit.view.borrow_mut() = view.into();
    opened_as(edit, [1280.0, 800.0], 1.0)
}

fn open(bench: &mut Window, path: &Path) {
    bench.fill("price file", path.to_str().unwrap());
    bench.press("Open prices");
}

#[test]
fn verdict_and_job_sheet_go_by_the_owners_prices() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("prices.toml");
    std::fs::write(&path, OWN).unwrap();
    let mut bench = window("");
    bench.settle_all();
    assert!(bench.shows(" coins, 40 min") && !bench.shows("shells"));
    bench.click("Files");
    assert!(bench.shows("Prices in use: those of the program, which are invented."));
    open(&mut bench, &path);
    bench.until("Opened ");
    assert!(bench.shows("kept with the project.") && bench.shows("in shells"));
    bench.settle_all();
    bench.click("Close files");
    // 50 minutes for the chassis, 11 for a resistor, 12 for a capacitor; the chassis but once.
    for effort in [
        "7.00 shells, 61 min",
        "9.00 shells, 62 min",
        "16.00 shells, 73 min",
    ] {
        assert!(bench.shows(effort), "{effort}");
    }
    assert!(!bench.shows("coins"));
    bench.click("Job sheet");
    bench.until("R505 bias load: resistor 15 kΩ");
    assert!(bench.shows("; 7.00 shells"));
    assert!(bench.shows("All parts: 16.00 shells."));

    // The project keeps them where the file is not.
    let view = bench.edit.view.borrow().clone();
    std::fs::remove_file(&path).unwrap();
    let mut bench = window(&view);
    bench.until("R505 bias load: resistor 15 kΩ");
    assert!(bench.shows("; 7.00 shells"));
    bench.press("Other prices…");
    bench.press("Back to the invented prices");
    bench.click("Job sheet");
    bench.until("All parts: ");
    let start = std::time::Instant::now();
    while bench.shows("shells") {
        assert!(start.elapsed().as_secs() < 120, "never recomputed");
        std::thread::sleep(std::time::Duration::from_millis(20));
        bench.harness.run_steps(1);
    }
    assert!(bench.shows(" coins."));
}

#[test]
fn what_is_wrong_with_a_file_is_told_and_the_prices_stay() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("prices.toml");
    std::fs::write(&path, OWN).unwrap();
    let in_use = format!("Prices in use: those of {}", path.display());
    let mut bench = window(r#"{"over": "files"}"#);
    open(&mut bench, &path);
    bench.until("Opened ");
    // Every fault with its line.
    let faulty = OWN.replace("price = 7", "price = -7");
    let faulty = faulty.replace("price = 9", "prize = 9");
    std::fs::write(&path, faulty).unwrap();
    open(&mut bench, &path);
    bench.until("was not opened; the prices in use stay.");
    for wrong in ["price = 7", "price = 9"] {
        let line = OWN.lines().position(|line| line.contains(wrong)).unwrap() + 1;
        assert!(bench.shows(&format!("line {line}")), "{wrong}");
    }
    assert!(bench.shows(&in_use));
    bench.click("Close files");
    bench.settle_all();
    assert!(bench.shows("7.00 shells"));
    // A file that is not there, and one that no project could keep.
    bench.click("Files");
    open(&mut bench, &folder.path().join("nowhere.toml"));
    bench.until("cannot be read");
    let long = format!("{OWN}{}", "# a long story\n".repeat(1200));
    std::fs::write(&path, long).unwrap();
    open(&mut bench, &path);
    bench.until("the project keeps at most 16384 (16 KiB); leave out what you do not buy");
    assert!(bench.shows(&in_use));
    let back = bench.harness.get_by_label("Back to the invented prices");
    assert!(!back.accesskit_node().is_disabled());
}

/// Before the text was kept a project had the path alone; and what it keeps may be damaged.
#[test]
fn a_project_of_before_and_a_damaged_one_are_opened() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("prices.toml");
    std::fs::write(&path, OWN).unwrap();
    let view = serde_json::json!({"over": "files", "price_path": path});
    let mut bench = window(&view.to_string());
    bench.until(&format!("Prices in use: those of {}", path.display()));
    let view = r#"{"over": "files", "prices": {"path": "own.toml", "text": "format = 7"}}"#;
    let mut bench = window(view);
    bench.until("The prices that the project keeps of own.toml cannot be used");
    assert!(bench.shows("line 1"));
    // Nothing of it is lost by looking at it.
    assert!(bench.edit.view.borrow().contains("format = 7"));
}
