//! For reading, not for checking: the sentence about every part of every built-in amp, and how long
//! the reports take that a window shows at once. Both are run by hand:
//! `cargo test --release --test quick_reports -- --ignored --nocapture`.

use presolder::analysis::part_effect::part_effect;
use presolder::analysis::response::{Path, axis, response};
use presolder::analysis::sensitivity::sensitivity;
use presolder::analysis::valve_chart::valve_chart;
use presolder::circuit::{
    Circuit, PartId, built_in_circuits, built_in_proposals, read, read_proposal,
};
use presolder::device::Catalogue;
use presolder::solve::solved::SolvedAmp;

fn circuit(text: &str) -> Circuit {
    read(text, &Catalogue::built_in()).expect("a sound file")
}

#[test]
#[ignore = "prints every sentence, for reading"]
fn print_sentences() {
    for built_in in built_in_circuits() {
        let found = circuit(built_in.text);
        let mut runs = vec![("as found", None)];
        for file in built_in_proposals(built_in.key) {
            let proposal = read_proposal(file.text).unwrap();
            let proposed = proposal.apply(&found, &Catalogue::built_in()).unwrap();
            runs.push((file.key, Some(proposed)));
        }
        for (name, proposed) in &runs {
            println!("== {} {name}", built_in.name);
            let amp = SolvedAmp::new(&found, proposed.as_ref()).unwrap();
            for i in 0..found.parts().len() {
                let e = part_effect(&amp, PartId(i as u16), Path::default());
                if proposed.is_none() || e.difference.is_some() {
                    let change = e.proposed.map(|p| format!(" to {p}")).unwrap_or_default();
                    let (name, role, value) = (e.designator, e.role, e.as_found);
                    let said = e.sentence.unwrap_or_default();
                    println!("{name} ({role}) {value}{change}: {said}");
                }
            }
        }
    }
}

#[test]
#[ignore = "prints times; run it by hand in an optimised build"]
fn time_of_the_quick_reports() {
    let found = circuit(built_in_circuits()[0].text);
    let changes = ["R505=15k", "C102=22n"].map(|c| c.parse().unwrap());
    let proposed = found.with_written_changes(&changes, &Catalogue::built_in());
    let proposed = proposed.expect("sound changes");
    let time = |what: &str, work: &mut dyn FnMut()| {
        let mut times: Vec<f64> = (0..40)
            .map(|_| {
                let start = std::time::Instant::now();
                work();
                1e3 * start.elapsed().as_secs_f64()
            })
            .collect();
        times.sort_by(f64::total_cmp);
        println!(
            "{what}: {:.2} ms (worst of 40: {:.2})",
            times[20], times[39]
        );
    };
    time("at rest", &mut || {
        SolvedAmp::new(&found, Some(&proposed)).unwrap();
    });
    let amp = SolvedAmp::new(&found, Some(&proposed)).unwrap();
    let changed = found.find_part("C102").unwrap();
    time("at rest, response, one part, valve chart", &mut || {
        let amp = SolvedAmp::new(&found, Some(&proposed)).unwrap();
        response(&amp, Path::default());
        part_effect(&amp, changed, Path::default());
        valve_chart(&amp, None);
    });
    time("valve chart at rest", &mut || {
        valve_chart(&amp, None);
    });
    let hz = axis();
    time("sensitivity of all parts", &mut || {
        sensitivity(&amp.network, &amp.as_found, Path::default(), &hz);
    });
    time("response", &mut || {
        response(&amp, Path::default());
    });
    for part in ["R505", "C102", "C401", "R401", "VR102"] {
        let id = found.find_part(part).unwrap();
        time(part, &mut || {
            part_effect(&amp, id, Path::default());
        });
    }
}
