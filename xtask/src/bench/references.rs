//! The same circuit in other solvers: the plain oracle, and a general circuit simulator.

use super::ngspice;
use super::subject::{RATE, Subject};
use cpu_time::ThreadTime;
use engine::solve::Transient;

/// The same circuit in the plain oracle and in a general circuit simulator, which is given the
/// laws in two forms: cut into steps over inner nodes, the quickest that we found, and each law as
/// one expression, as one would write it down.
pub fn references(subject: &Subject, chord: &[f64], costs: &[(usize, f64)]) {
    oracle(subject, chord);
    for (form, what) in [
        (ngspice::Form::Steps, "laws cut into steps"),
        (ngspice::Form::OnePiece, "each law one expression"),
    ] {
        match ngspice::ngspice_seconds_per_second(&subject.circuit, form) {
            Ok(seconds) => {
                print!(
                    "ngspice, one circuit, default tolerances, {what}: {seconds:.1} s for a second of signal;"
                );
                for (lanes, mean) in costs {
                    let per_circuit = mean / *lanes as f64;
                    print!(
                        " ours in {lanes} lanes is {:.0} times as fast a circuit;",
                        seconds / per_circuit
                    );
                }
                println!();
            }
            Err(message) => println!("no ratio to ngspice: {message}"),
        }
    }
}

/// The plain oracle at the same step, for the ratio.
fn oracle(subject: &Subject, chord: &[f64]) {
    let mut transient = Transient::new(
        &subject.network,
        &subject.values,
        &subject.point,
        1.0 / (2.0 * RATE),
    );
    let start = ThreadTime::now();
    for &x in chord.iter().take(2400) {
        for _ in 0..2 {
            if transient.step(x).is_err() {
                println!("the oracle diverged");
                return;
            }
        }
    }
    let seconds = start.elapsed().as_secs_f64() / (2400.0 / RATE);
    println!(
        "Plain oracle, one circuit, fixed steps of 10.4 µs: {:.0} % of a core",
        100.0 * seconds
    );
}
