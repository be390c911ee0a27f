//! The text of the report on changes: the table has a line a change and one for all, every sentence is
//! there, and no figure is missing.

use crate::changes_fixture::{RATE, amp, report, report_with};
use engine::sound::phrase::phrase;
use presolder::command_line::changes_text::changes_text;

#[test]
fn the_text_has_everything() {
    let report = report("bradawl", &["R103=100k", "R205=22k"]);
    let text = changes_text(&report);
    for row in &report.rows {
        assert!(text.contains(&format!("{}: {}", row.what, row.sentence)));
    }
    for expected in [
        "As found the anode dissipation of V3 and V4 is OVER the limit",
        "All together",
        "Can be undone",
        "OVER at 107 %",
        "Ranked: first what brings a valve or part within its limits",
        "Invented prices",
    ] {
        assert!(text.contains(expected), "{expected}\n{text}");
    }
}

#[test]
fn nothing_changed_and_hostile_circuits_have_a_text() {
    let sound = phrase(RATE);
    let text = |edits: &[&str]| {
        changes_text(&report_with(
            &amp("bradawl"),
            edits,
            &sound[..RATE as usize],
        ))
    };
    assert!(text(&["R505=12k"]).contains("The proposal changes nothing."));
    for edits in [
        &["V3=out", "V4=out"][..],
        &["V1=out"],
        &["R103=out", "C102=out"],
        &["R505=out"],
        &["Volume=0"],
    ] {
        let text = text(edits);
        assert!(!text.contains("NaN"), "{text}");
    }
}
