//! The spread over amps of one model: against formulas, published limits, and the sentences on the
//! amps that come with the program.

use presolder::analysis::spread::{SpreadReport, SpreadSettings, spread};
use presolder::circuit::{self, Circuit};
use presolder::device::Catalogue;

/// A built-in amp, and with one of its proposals.
fn built_in(amp: &str, proposal: &str) -> [Circuit; 2] {
    let catalogue = Catalogue::built_in();
    let found = circuit::built_in_circuit(amp).expect("a built-in amp");
    let as_found = circuit::read(found.text, &catalogue).expect("a sound file");
    let text = found.proposals.iter().find(|p| p.key == proposal);
    let text = text.expect("a built-in proposal").text;
    let proposal = circuit::read_proposal(text).expect("a sound file");
    let proposed = proposal.apply(&as_found, &catalogue).expect("it fits");
    [as_found, proposed]
}

fn draw(as_found: &Circuit, proposed: Option<&Circuit>, amps: usize) -> SpreadReport {
    let settings = SpreadSettings {
        amps,
        ..SpreadSettings::default()
    };
    spread(as_found, proposed, settings, &mut |_| true)
        .expect("not given up")
        .expect("a solution")
}

#[test]
#[ignore = "prints figures and times"]
fn figures_to_look_at() {
    for amp in circuit::built_in_circuits() {
        for proposal in amp.proposals {
            let [as_found, proposed] = built_in(amp.key, proposal.key);
            let start = std::time::Instant::now();
            let report = draw(&as_found, Some(&proposed), 1000);
            println!(
                "\n{} {}: {:.2} s, {} unsolved, clean outside {} {}",
                amp.key,
                proposal.key,
                start.elapsed().as_secs_f64(),
                report.unsolved,
                report.as_found.clean_outside,
                report.proposed.as_ref().map_or(0, |p| p.clean_outside),
            );
            println!("  gain {:?}", report.as_found.gain_db);
            println!("  clean {:?}", report.as_found.clean_volts);
            println!(
                "  clean {:?}",
                report.proposed.as_ref().and_then(|p| p.clean_volts)
            );
            for (name, valve) in &report.as_found.valves.0 {
                println!("  {name} {:?}", valve.anode_watts);
            }
            for sentence in &report.sentences {
                println!("  {sentence}");
            }
        }
    }
}
