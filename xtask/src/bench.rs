//! `cargo xtask bench`: what the processor costs, beside references measured in the same run.
//!
//! Times are processor time of the measuring thread, so that a busy machine does not pass for a
//! slow program. Every figure names its setting.

mod cabinet;
mod instance;
mod matching;
mod ngspice;
mod spread;
mod torture;
mod verdict;

use cpu_time::ThreadTime;
use presolder::circuit::{self, Circuit};
use presolder::device::Catalogue;
use presolder::network::{BranchValue, Network, Values};
use presolder::realtime::dispatch::{Circuits, FusedLanes, Instructions};
use presolder::realtime::{Counts, Processor, Settings};
use presolder::solve::{OperatingPoint, Transient, operating_point};
use presolder::sound::phrase::phrase;

const RATE: f64 = 48_000.0;

/// A circuit ready to play.
struct Subject {
    circuit: Circuit,
    network: Network,
    values: Values,
    point: OperatingPoint,
}

impl Subject {
    fn new(text: &str) -> Result<Self, String> {
        let circuit =
            circuit::read(text, &Catalogue::built_in()).map_err(|faults| format!("{faults:?}"))?;
        let network = Network::new(&circuit);
        let values = network.values(&circuit);
        let point = operating_point(&network, &values).map_err(|e| e.to_string())?;
        Ok(Subject {
            circuit,
            network,
            values,
            point,
        })
    }
}

/// The hard chord of the built-in phrase, volts at 48 kHz.
fn hard_chord() -> Vec<f64> {
    let all = phrase(RATE as u32);
    let loudest = (0..all.len())
        .max_by(|&a, &b| all[a].abs().total_cmp(&all[b].abs()))
        .unwrap_or(0);
    let start = loudest.saturating_sub(2400);
    all[start..(start + 48_000).min(all.len())]
        .iter()
        .map(|&v| f64::from(v))
        .collect()
}

/// What a run cost.
struct Cost {
    /// Share of real time.
    mean: f64,
    /// Shares of a block's time, sorted.
    blocks: Vec<f64>,
    counts: Counts,
}

impl Cost {
    fn percentile(&self, share: f64) -> f64 {
        self.blocks[((self.blocks.len() - 1) as f64 * share) as usize]
    }
}

fn run<const N: usize>(
    subject: &Subject,
    settings: Settings,
    instructions: Instructions,
    signal: &[f64],
    block: usize,
    repeats: usize,
) -> Cost
where
    Circuits<N>: FusedLanes,
{
    let mut best: Option<Cost> = None;
    for _ in 0..repeats {
        let lanes = [(&subject.values, subject.point.solution.as_slice()); N];
        let mut processor = Processor::<N>::new(&subject.network, lanes, settings, instructions);
        let mut out = vec![vec![0.0; block]; N];
        let mut blocks = Vec::new();
        for chunk in signal.chunks_exact(block) {
            let inputs = [chunk; N];
            let mut slices = out.iter_mut().map(Vec::as_mut_slice);
            let mut outputs: [&mut [f64]; N] =
                std::array::from_fn(|_| slices.next().expect("one a lane"));
            let start = ThreadTime::now();
            processor.process(&inputs, &mut outputs);
            blocks.push(start.elapsed().as_secs_f64() / (block as f64 / settings.rate));
        }
        let mean = blocks.iter().sum::<f64>() / blocks.len() as f64;
        blocks.sort_by(f64::total_cmp);
        let cost = Cost {
            mean,
            blocks,
            counts: processor.counts(),
        };
        if best.as_ref().is_none_or(|b| cost.mean < b.mean) {
            best = Some(cost);
        }
    }
    best.expect("at least one repeat")
}

fn report(what: &str, cost: &Cost) {
    println!(
        "{what:44} {:6.1} % of a core; 64-frame blocks p99 {:5.1} %, worst {:5.1} %; {:.2} iterations an interval, worst {}; governed {}, held {}",
        100.0 * cost.mean,
        100.0 * cost.percentile(0.99),
        100.0 * cost.percentile(1.0),
        cost.counts.iterations as f64 / cost.counts.intervals as f64,
        cost.counts.worst,
        cost.counts.governed,
        cost.counts.unsolved,
    );
}

/// Runs the benches. `--quick` repeats less, `--verdict`, `--match`, `--spread` and `--cabinet` run only
/// that one.
///
/// # Errors
/// When the demo's amp cannot be solved.
pub fn bench(arguments: &[String]) -> Result<(), String> {
    let repeats = if arguments.iter().any(|a| a == "--quick") {
        2
    } else {
        7
    };
    if arguments.iter().any(|a| a == "--match") {
        return matching::bench();
    }
    if arguments.iter().any(|a| a == "--verdict") {
        return verdict::bench();
    }
    if arguments.iter().any(|a| a == "--cabinet") {
        cabinet::bench();
        return Ok(());
    }
    if arguments.iter().any(|a| a == "--spread") {
        return spread::bench(repeats);
    }
    let amp = circuit::built_in_circuits()
        .iter()
        .find(|c| c.name == "Bradawl 15")
        .ok_or("no demo amp")?;
    let subject = Subject::new(amp.text)?;
    let best = Instructions::detect();
    let chord = hard_chord();
    let program = subject.network.program();
    println!(
        "{}: {} unknowns, {} lead, {} products an iteration; {best:?}",
        subject.circuit.name(),
        program.unknowns(),
        program.leading(),
        program.trailing_products()
    );
    println!(
        "\nHard chord of the built-in phrase, as found and proposed in stereo (4 lanes), 48 kHz host:"
    );
    for doublings in [1, 2, 3] {
        let cost = run::<4>(
            &subject,
            Settings::live(RATE, doublings),
            best,
            &chord,
            64,
            repeats,
        );
        report(&format!("oversampling × {}", 1 << doublings), &cost);
    }
    instance::bench(repeats.min(3))?;
    cabinet::bench();
    verdict::bench()?;
    matching::bench()?;
    spread::bench(repeats.min(3))?;
    println!("\nLanes, × 2:");
    let two = Settings::live(RATE, 1);
    report(
        "1 lane",
        &run::<1>(&subject, two, best, &chord, 64, repeats),
    );
    report(
        "2 lanes",
        &run::<2>(&subject, two, best, &chord, 64, repeats),
    );
    report(
        "4 lanes",
        &run::<4>(&subject, two, best, &chord, 64, repeats),
    );
    report(
        "8 lanes",
        &run::<8>(&subject, two, best, &chord, 64, repeats),
    );
    report(
        "4 lanes, baseline instructions",
        &run::<4>(&subject, two, Instructions::Baseline, &chord, 64, repeats),
    );
    println!("\nTorture, 4 lanes, with the governor:");
    for (name, signal) in torture::signals() {
        for doublings in [1, 2] {
            let cost = run::<4>(
                &subject,
                Settings::live(RATE, doublings),
                best,
                &signal,
                64,
                repeats.min(3),
            );
            report(&format!("{name}, × {}", 1 << doublings), &cost);
        }
    }
    for doublings in [1, 2] {
        let cost = torture::jumping(&subject, Settings::live(RATE, doublings));
        report(
            &format!("three parts jumping each sample, × {}", 1 << doublings),
            &cost,
        );
    }
    change(&subject, &chord, repeats);
    println!("\nGrowth: gain stages in a row, 4 lanes, × 2, the chord at 20 mV:");
    let quiet: Vec<f64> = chord.iter().map(|v| v * 0.02 / 0.5).collect();
    for stages in [1, 3, 7, 14, 18] {
        let subject = Subject::new(&row_of_stages(stages))?;
        let cost = run::<4>(&subject, two, best, &quiet, 64, repeats.min(3));
        let start = ThreadTime::now();
        let network = Network::new(&subject.circuit);
        println!(
            "{stages:3} stages, {:3} unknowns: {:.2} µs a step, compiled in {:.1} ms",
            network.unknowns(),
            1e6 * cost.mean / (2.0 * RATE),
            1e3 * start.elapsed().as_secs_f64()
        );
    }
    let costs = [
        (4, run::<4>(&subject, two, best, &chord, 64, repeats).mean),
        (8, run::<8>(&subject, two, best, &chord, 64, repeats).mean),
    ];
    references(&subject, &chord, &costs);
    Ok(())
}

/// A supply chain and `stages` triode stages, each divided down to about unity gain.
fn row_of_stages(stages: usize) -> String {
    let mut text = String::from(
        "format = 1\n[amp]\nname = \"Row\"\nabout = \"For the bench.\"\ninput = \"in\"\noutput = \"n0\"\n[parts]\n\
         HT = { supply = \"300 V\", node = \"h0\", resistance = \"100\" }\n\
         C999 = { capacitor = \"47u\", between = [\"h0\", \"gnd\"] }\n",
    );
    let mut from = "in".to_string();
    for k in 1..=stages {
        let h = k.div_ceil(2);
        if k % 2 == 1 {
            text += &format!(
                "R{k}09 = {{ resistor = \"4k7\", between = [\"h{}\", \"h{h}\"] }}\n",
                h - 1
            );
            text += &format!("C{k}09 = {{ capacitor = \"22u\", between = [\"h{h}\", \"gnd\"] }}\n");
        }
        text += &format!(
            "R{k}01 = {{ resistor = \"68k\", between = [\"{from}\", \"g{k}\"] }}\n\
             V{k} = {{ triode = \"ECC83\", anode = \"a{k}\", grid = \"g{k}\", cathode = \"k{k}\" }}\n\
             R{k}02 = {{ resistor = \"100k\", between = [\"a{k}\", \"h{h}\"] }}\n\
             R{k}03 = {{ resistor = \"1k5\", between = [\"k{k}\", \"gnd\"] }}\n\
             C{k}01 = {{ capacitor = \"22u\", between = [\"k{k}\", \"gnd\"] }}\n\
             C{k}02 = {{ capacitor = \"22n\", between = [\"a{k}\", \"c{k}\"] }}\n\
             R{k}04 = {{ resistor = \"470k\", between = [\"c{k}\", \"d{k}\"] }}\n\
             R{k}05 = {{ resistor = \"10k\", between = [\"d{k}\", \"gnd\"] }}\n"
        );
        from = format!("d{k}");
    }
    text = text.replace("output = \"n0\"", &format!("output = \"{from}\""));
    text + "R999 = { resistor = \"1M\", between = [\"in\", \"gnd\"] }\n"
}

/// The same circuit in the plain oracle and in a general circuit simulator, which is given the
/// laws in two forms: cut into steps over inner nodes, the quickest that we found, and each law as
/// one expression, as one would write it down.
fn references(subject: &Subject, chord: &[f64], costs: &[(usize, f64)]) {
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

/// Cost of a value change: a part moved on every sample against none moved.
fn change(subject: &Subject, chord: &[f64], repeats: usize) {
    let branch = (0..subject.values.branches.len())
        .find(|&b| matches!(subject.values.branches[b], BranchValue::Capacitive { .. }))
        .unwrap_or(0);
    let mut best = [f64::INFINITY; 2];
    for _ in 0..repeats {
        for (moving, best) in [false, true].into_iter().zip(&mut best) {
            let lanes = [(&subject.values, subject.point.solution.as_slice()); 4];
            let mut processor = Processor::<4>::new(
                &subject.network,
                lanes,
                Settings::live(RATE, 1),
                Instructions::detect(),
            );
            let start = ThreadTime::now();
            for (n, &x) in chord.iter().take(9600).enumerate() {
                if moving {
                    let BranchValue::Capacitive { farads } = subject.values.branches[branch] else {
                        continue;
                    };
                    let farads = farads * (1.0 + 0.1 * (n as f64 * 0.01).sin());
                    for lane in 0..4 {
                        processor.set_branch(lane, branch, BranchValue::Capacitive { farads });
                    }
                }
                let x = [x];
                let mut y = [[0.0]; 4];
                let [a, b, c, d] = &mut y;
                processor.process(&[&x; 4], &mut [a, b, c, d]);
            }
            *best = best.min(start.elapsed().as_secs_f64() / 9600.0);
        }
    }
    println!(
        "\nA part value changed on every sample: {:.2} µs a change (4 lanes)",
        1e6 * (best[1] - best[0])
    );
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
