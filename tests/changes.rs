//! x
use presolder::analysis::changes::changes_report;
use presolder::analysis::phrase::phrase;
use presolder::analysis::prices::Prices;
use presolder::circuit::{built_in_circuits, built_in_proposals, read, read_proposal};
use presolder::command_line::changes_text::changes_text;
use presolder::device::Catalogue;

/// For reading, not for checking: every report of every proposal that comes with the program.
#[test]
#[ignore = "prints every report, for reading"]
fn print_reports() {
    let catalogue = Catalogue::built_in();
    let sound = phrase(48_000);
    for built_in in built_in_circuits() {
        let found = read(built_in.text, &catalogue).expect("a sound file");
        for file in built_in_proposals(built_in.key) {
            let proposal = read_proposal(file.text).expect("a sound file");
            let start = std::time::Instant::now();
            let report = changes_report(
                &found,
                &proposal,
                &catalogue,
                &Prices::built_in(),
                (&[&sound], 48_000),
                &mut |_| true,
            );
            let report = report.expect("not given up").expect("a report");
            println!(
                "== {}: {} ({:.2} s)",
                built_in.name,
                report.proposal,
                start.elapsed().as_secs_f64()
            );
            println!("{}", changes_text(&report));
            for row in &report.rows {
                for (what, e) in [("alone", &row.alone), ("beside", &row.beside_others)] {
                    if let Some(e) = e {
                        for (n, a) in [("played", &e.played), ("response", &e.response)] {
                            let a = a.as_ref().unwrap();
                            println!(
                                "{} {what} {n}: {} {:?} {:?}",
                                row.name, a.in_words, a.summary, a.passage
                            );
                        }
                    }
                }
            }
        }
    }
}
