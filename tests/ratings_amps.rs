//! The ratings of the amps that come with the program: every sentence can be read in the output.

use presolder::analysis::at_rest::AtRest;
use presolder::analysis::ratings::{Driven, ratings};
use presolder::circuit::{built_in_circuits, read};
use presolder::device::Catalogue;

#[test]
fn look() {
    let catalogue = Catalogue::built_in();
    for amp in built_in_circuits() {
        let circuit = read(amp.text, &catalogue).expect("a sound file");
        let rest = AtRest::new(&circuit, None).expect("rest");
        let start = std::time::Instant::now();
        let report = ratings(&rest.network, &rest.as_found, &Driven::default());
        println!("== {} {:?}", amp.name, start.elapsed());
        println!("{}", serde_json::to_string_pretty(&report.valves).unwrap());
        for s in report.over_sentences() {
            println!("OVER {s}");
        }
        for s in report.brief_sentences() {
            println!("BRIEF {s}");
        }
        for s in report.near_sentences() {
            println!("NEAR {s}");
        }
        for s in &report.reservoirs {
            println!("RES {}: {}", s.designator, s.in_words);
        }
    }
}
