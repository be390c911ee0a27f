//! `cargo xtask bench`: what the processor costs, beside references measured in the same run.
//!
//! Times are processor time of the measuring thread, so that a busy machine does not pass for a
//! slow program. Every figure names its setting.
//!
//! Beside ngspice 39 the ratio depends on how the laws are written for it. Cut into steps over inner
//! nodes, the quickest form that we found, it needs about 8 s for a second of Bradawl 15; each law as
//! one expression, as one would write it down, several minutes.

mod cabinet;
mod cost;
mod fit;
mod instance;
mod ngspice;
mod processor;
mod references;
mod reports;
mod spread;
mod subject;
mod torture;
mod verdict;

use processor::Bench;

/// One part of the bench: what runs it alone, and the function, which takes how often to repeat.
type Part = (&'static str, fn(usize) -> Result<(), String>);

/// The parts that can run alone.
const PARTS: &[Part] = &[
    ("--processor", |repeats| {
        Bench::new(repeats)?.oversampling();
        Ok(())
    }),
    ("--instance", |repeats| instance::bench(repeats.min(3))),
    ("--cabinet", |_| {
        cabinet::bench();
        Ok(())
    }),
    ("--verdict", |_| verdict::bench()),
    ("--match", |_| fit::bench()),
    ("--spread", spread::bench),
    ("--reports", |_| reports::bench()),
];

/// Runs the benches. `--quick` repeats less; the name of a part runs only that one.
///
/// # Errors
/// When the demo's amp cannot be solved, or an argument is not known.
pub fn bench(arguments: &[String]) -> Result<(), String> {
    let mut repeats = 7;
    let mut alone = None;
    for argument in arguments {
        match PARTS.iter().find(|(name, _)| name == argument) {
            Some((_, part)) => alone = Some(part),
            None if argument == "--quick" => repeats = 2,
            None => {
                let names: Vec<&str> = PARTS.iter().map(|(name, _)| *name).collect();
                return Err(format!(
                    "'{argument}' is not known; there are --quick, {}",
                    names.join(", ")
                ));
            }
        }
    }
    if let Some(part) = alone {
        return part(repeats);
    }
    for (_, part) in PARTS {
        part(repeats)?;
    }
    let bench = Bench::new(repeats)?;
    bench.lanes();
    bench.torture();
    bench.change();
    bench.growth()?;
    bench.references();
    Ok(())
}
