//! The chores that need the engine: a program of its own, so that the plain chores need not wait
//! for the engine to be built. Takes the chore's name and its arguments.

mod bench;
mod fit_valves;
mod fuzz;

use std::process::ExitCode;

/// A chore's function: takes its arguments, gives a message on failure.
type Run = fn(&[String]) -> Result<(), String>;

/// Every chore by name.
const CHORES: &[(&str, Run)] = &[
    ("bench", bench::bench),
    ("fit-valves", fit_valves::run),
    ("fuzz", fuzz::run),
];

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let name = arguments.first().map_or("", String::as_str);
    let Some((_, run)) = CHORES.iter().find(|(known, _)| *known == name) else {
        eprintln!("There is no chore called '{name}' in this version.");
        return ExitCode::from(2);
    };
    match run(&arguments[1..]) {
        Ok(()) => ExitCode::SUCCESS,
        Err(message) => {
            eprintln!("{message}");
            ExitCode::FAILURE
        }
    }
}
