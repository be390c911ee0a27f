//! The ratings of the amps that come with the program: every sentence can be read in the output.

use presolder::analysis::at_rest::AtRest;
use presolder::analysis::drive::drive;
use presolder::analysis::performance::perform;
use presolder::analysis::phrase::phrase;
use presolder::analysis::ratings::{
    Driven, StressGauge, bias_for, full_output_volts, ratings, sine_stress,
};
use presolder::circuit::{built_in_circuits, read};
use presolder::device::Catalogue;
use std::time::Instant;

#[test]
fn look() {
    let catalogue = Catalogue::built_in();
    let sound = phrase(48_000);
    for amp in built_in_circuits() {
        let circuit = read(amp.text, &catalogue).expect("a sound file");
        let rest = AtRest::new(&circuit, None).expect("rest");
        let side = &rest.as_found;
        let t = Instant::now();
        ratings(&rest.network, side, &Driven::default());
        println!("== {} idle {:?}", amp.name, t.elapsed());
        let t = Instant::now();
        let gauge = StressGauge::new(&rest.network, &circuit);
        let none = perform(
            &rest.network,
            &[side],
            &[&sound],
            48_000,
            &presolder::analysis::performance::NoGauge,
            &mut |_| true,
        )
        .unwrap();
        println!("perform without {:?} {}", t.elapsed(), none.len());
        let t = Instant::now();
        let p = perform(
            &rest.network,
            &[side],
            &[&sound],
            48_000,
            &gauge,
            &mut |_| true,
        )
        .unwrap();
        println!("perform {:?}", t.elapsed());
        let stress = gauge.stress(&p[0].bins);
        let d = drive(&rest.network, side, &mut |_| {});
        let t = Instant::now();
        let sine = sine_stress(&rest.network, side, full_output_volts(&d), &mut |_| true).unwrap();
        println!("sine {:?} at {} V", t.elapsed(), sine.input_volts);
        let report = ratings(
            &rest.network,
            side,
            &Driven {
                phrase: Some(&stress),
                sine: Some(&sine),
            },
        );
        for v in &report.valves {
            println!(
                "{} {} {:?} {:.2}",
                v.designator, v.valve, v.bias, v.bias_volts
            );
            for l in &v.lines {
                println!(
                    "   {}: {:?} hi {:?} cold {:?} ph {:?} sine {:?} of {:?} {:?} {}",
                    l.what,
                    l.at_rest,
                    l.high_mains,
                    l.cold,
                    l.phrase,
                    l.sine,
                    l.limit,
                    l.brief_limit,
                    l.unit
                );
            }
        }
        for v in &report.rectifiers {
            for l in &v.lines {
                println!(
                    "   {}: {:?} hi {:?} cold {:?} ph {:?} sine {:?} of {:?} {:?} {}",
                    l.what,
                    l.at_rest,
                    l.high_mains,
                    l.cold,
                    l.phrase,
                    l.sine,
                    l.limit,
                    l.brief_limit,
                    l.unit
                );
            }
        }
        for r in &report.resistors {
            println!(
                "{} {} {}: {:.3} {:?} {:?} of {:?} want {} | {:.0} V {:?} of {:?}",
                r.designator,
                r.role,
                r.ohms,
                r.rest_watts,
                r.phrase_watts,
                r.sine_watts,
                r.rated_watts,
                r.wanted_watts,
                r.peak_volts,
                r.peak_when,
                r.body_volts
            );
        }
        for r in &report.capacitors {
            println!(
                "{} {}: rest {:.1} dc {:.1} swing {:?} worst {:.1} {:?} of {:?} want {}",
                r.designator,
                r.role,
                r.rest_volts,
                r.direct_volts,
                r.swing_volts,
                r.worst_volts,
                r.worst_when,
                r.rated_volts,
                r.wanted_volts
            );
        }
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
        for s in &report.loose {
            println!("LOOSE {}", s.in_words);
        }
        let t = Instant::now();
        let advice = bias_for(&rest.network, side, None);
        println!("bias {:?}", t.elapsed());
        match advice {
            Ok(a) => {
                for s in &a.sentences {
                    println!("BIAS {s}");
                }
            }
            Err(e) => println!("BIAS {e}"),
        }
    }
}
