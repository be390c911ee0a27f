//! The quick sweep against the plain one that only waits.

use presolder::analysis::at_rest::AtRest;
use presolder::analysis::drive::{Asked, Drive, Pace, drive_asked};
use presolder::circuit::{built_in_circuits, built_in_proposals, read, read_proposal};
use presolder::device::Catalogue;

/// Processor time of this thread, ms.
fn processor_ms() -> f64 {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    let ns = text.split(' ').next().and_then(|t| t.parse::<f64>().ok());
    ns.unwrap_or(0.0) / 1e6
}

fn run(amp: &AtRest, pace: Pace) -> Drive {
    let asked = Asked {
        pace,
        ..Asked::default()
    };
    drive_asked(&amp.network, amp.asked_for(), asked, &mut |_| true).unwrap()
}

#[test]
#[ignore = "prints times; run it by hand in an optimised build"]
fn print_both() {
    let catalogue = Catalogue::built_in();
    for built_in in built_in_circuits() {
        let found = read(built_in.text, &catalogue).unwrap();
        let mut runs = vec![("as found", None)];
        for file in built_in_proposals(built_in.key) {
            let proposal = read_proposal(file.text).unwrap();
            runs.push((file.key, Some(proposal.apply(&found, &catalogue).unwrap())));
        }
        for (name, proposed) in &runs {
            if std::env::var("ONLY").is_ok_and(|o| o != format!("{} {name}", built_in.key)) {
                continue;
            }
            let amp = AtRest::new(&found, proposed.as_ref()).unwrap();
            for pace in [Pace::Quick] {
                let start = processor_ms();
                let drive = run(&amp, pace);
                let took = processor_ms() - start;
                println!(
                    "{} {name} {pace:?}: {took:.0} ms, restless {} of {}, held {}",
                    built_in.key,
                    drive.restless,
                    drive.levels.len(),
                    drive.held
                );
                for limit in &drive.limits {
                    println!("  {} % {:?} {:?}", limit.percent, limit.at, limit.without);
                }
                println!("  {:?}", drive.grid_current);
            }
        }
    }
}
