//! `cargo xtask fuzz`: mutated circuit files, proposals, values, changes and recordings against
//! the readers, in process. Takes `--executions N`, `--seed S` and `--threads T`; prints counts
//! and the slowest execution; fails at the first panic, hang or broken promise.
//!
//! Work is cut into batches, each with its own random numbers from the seed and its number, so a
//! seed finds the same faults whatever the number of threads.
//!
//! `cargo xtask fuzz --executions 10000000 --seed 20261126` ran through all readers without a failure
//! in two and a half minutes on two cores.

mod mutate;
mod targets;

use mutate::{Pool, Random};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};
use std::time::{Duration, Instant};
use targets::{Targets, Verdict};

/// Executions of one batch: long enough for its pool to grow, short enough to share out.
const BATCH: u64 = 20_000;

/// An execution that takes longer hangs.
const LONGEST: Duration = Duration::from_secs(10);

struct Options {
    executions: u64,
    seed: u64,
    threads: usize,
}

impl Options {
    fn parse(arguments: &[String]) -> Result<Self, String> {
        let clock = std::time::SystemTime::now()
            .duration_since(std::time::UNIX_EPOCH)
            .map_or(1, |t| t.as_nanos() as u64);
        let mut options = Options {
            executions: 1_000_000,
            seed: clock,
            threads: std::thread::available_parallelism().map_or(1, usize::from),
        };
        let mut arguments = arguments.iter();
        while let Some(name) = arguments.next() {
            let number = arguments
                .next()
                .and_then(|text| text.parse().ok())
                .ok_or_else(|| format!("{name} takes a number"))?;
            match name.as_str() {
                "--executions" => options.executions = number,
                "--seed" => options.seed = number,
                "--threads" => options.threads = (number as usize).max(1),
                _ => return Err(format!("unknown option {name}")),
            }
        }
        Ok(options)
    }
}

/// What the threads share.
struct Shared {
    next_batch: AtomicU64,
    done: AtomicU64,
    stop: AtomicBool,
    failure: Mutex<Option<String>>,
    counts: Mutex<Counts>,
}

#[derive(Default)]
struct Counts {
    /// Executions, and how many were accepted, by target.
    by_target: Vec<(u64, u64)>,
    slowest: Duration,
}

/// Runs the chore.
///
/// # Errors
/// The first failure, with the file that holds its input.
pub fn run(arguments: &[String]) -> Result<(), String> {
    let options = Options::parse(arguments)?;
    println!(
        "fuzz: {} executions, seed {}, {} threads",
        options.executions, options.seed, options.threads
    );
    let corpus = corpus_directory();
    let targets = Targets::new(&corpus)?;
    // The message of a caught panic is kept with its input instead.
    std::panic::set_hook(Box::new(|_| {}));
    let shared = Shared {
        next_batch: AtomicU64::new(0),
        done: AtomicU64::new(0),
        stop: AtomicBool::new(false),
        failure: Mutex::new(None),
        counts: Mutex::new(Counts {
            by_target: vec![(0, 0); Targets::NAMES.len()],
            slowest: Duration::ZERO,
        }),
    };
    // Start of the execution that each thread is in, in microseconds since `start`, and one more.
    let running: Vec<AtomicU64> = (0..options.threads).map(|_| AtomicU64::new(0)).collect();
    let start = Instant::now();
    std::thread::scope(|scope| {
        let workers: Vec<_> = running
            .iter()
            .map(|running| scope.spawn(|| work(&options, &targets, &shared, start, running)))
            .collect();
        watch(&options, &shared, start, &running, || {
            workers.iter().all(|w| w.is_finished())
        });
    });
    let _ = std::panic::take_hook();
    if let Some(failure) = shared.failure.into_inner().unwrap_or(None) {
        return Err(failure);
    }
    let counts = shared.counts.into_inner().map_err(|e| e.to_string())?;
    let seconds = start.elapsed().as_secs_f64();
    let done = shared.done.load(Ordering::Relaxed);
    println!(
        "{done} executions in {seconds:.1} s ({:.0} a second), slowest {:.1} ms, no failure",
        done as f64 / seconds,
        counts.slowest.as_secs_f64() * 1e3
    );
    for (name, (run, accepted)) in Targets::NAMES.iter().zip(counts.by_target) {
        println!("  {name:<10} {run:>10} run, {accepted:>9} accepted");
    }
    Ok(())
}

fn corpus_directory() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("fuzz/corpus")
}

/// Prints progress and ends the program when an execution hangs: its thread cannot be ended.
fn watch(
    options: &Options,
    shared: &Shared,
    start: Instant,
    running: &[AtomicU64],
    finished: impl Fn() -> bool,
) {
    let mut told = Instant::now();
    while !finished() {
        std::thread::sleep(Duration::from_millis(50));
        let now = start.elapsed().as_micros() as u64;
        for began in running {
            let began = began.load(Ordering::Relaxed);
            if began > 0 && now.saturating_sub(began) > LONGEST.as_micros() as u64 {
                eprintln!("an execution hangs; seed {}", options.seed);
                std::process::exit(1);
            }
        }
        if told.elapsed() > Duration::from_secs(20) {
            told = Instant::now();
            println!("  {} done", shared.done.load(Ordering::Relaxed));
        }
    }
}

fn work(
    options: &Options,
    targets: &Targets,
    shared: &Shared,
    start: Instant,
    running: &AtomicU64,
) {
    loop {
        let batch = shared.next_batch.fetch_add(1, Ordering::Relaxed);
        let first = batch * BATCH;
        if first >= options.executions || shared.stop.load(Ordering::Relaxed) {
            return;
        }
        let count = BATCH.min(options.executions - first);
        let counts = run_batch(options, targets, shared, batch, count, |busy| {
            let now = start.elapsed().as_micros() as u64 + 1;
            running.store(if busy { now } else { 0 }, Ordering::Relaxed);
        });
        if let Ok(mut all) = shared.counts.lock() {
            all.slowest = all.slowest.max(counts.slowest);
            for (sum, one) in all.by_target.iter_mut().zip(counts.by_target) {
                sum.0 += one.0;
                sum.1 += one.1;
            }
        }
    }
}

fn run_batch(
    options: &Options,
    targets: &Targets,
    shared: &Shared,
    batch: u64,
    count: u64,
    busy: impl Fn(bool),
) -> Counts {
    let mut random = Random::new(options.seed, batch);
    let mut pools: Vec<Pool> = targets.seeds.iter().map(|s| Pool::new(s)).collect();
    let mut counts = Counts {
        by_target: vec![(0, 0); Targets::NAMES.len()],
        slowest: Duration::ZERO,
    };
    for execution in 0..count {
        if shared.stop.load(Ordering::Relaxed) {
            break;
        }
        let target = targets.choose(&mut random);
        let input = pools[target].mutate(&mut random);
        busy(true);
        let began = Instant::now();
        let verdict = catch_unwind(AssertUnwindSafe(|| targets.run(target, &input)));
        counts.slowest = counts.slowest.max(began.elapsed());
        busy(false);
        counts.by_target[target].0 += 1;
        match verdict {
            Ok(Verdict::Accepted(signature)) => {
                counts.by_target[target].1 += 1;
                pools[target].keep_if_new(signature, true, input);
            }
            Ok(Verdict::Refused(signature)) => {
                pools[target].keep_if_new(signature, false, input);
            }
            Ok(Verdict::Broken(promise)) => {
                fail(
                    shared,
                    options.seed,
                    batch,
                    execution,
                    target,
                    &input,
                    &promise,
                );
            }
            Err(payload) => {
                let message = payload
                    .downcast_ref::<String>()
                    .map(String::as_str)
                    .or_else(|| payload.downcast_ref::<&str>().copied())
                    .unwrap_or("a panic without a message");
                fail(
                    shared,
                    options.seed,
                    batch,
                    execution,
                    target,
                    &input,
                    message,
                );
            }
        }
        shared.done.fetch_add(1, Ordering::Relaxed);
    }
    counts
}

/// Stops all threads and keeps the input of the first failure in a file.
fn fail(
    shared: &Shared,
    seed: u64,
    batch: u64,
    execution: u64,
    target: usize,
    input: &[u8],
    message: &str,
) {
    if shared.stop.swap(true, Ordering::Relaxed) {
        return;
    }
    let file = std::env::temp_dir().join(format!("fuzz-{seed}-{batch}-{execution}"));
    let kept = match std::fs::write(&file, input) {
        Ok(()) => format!("input kept in {}", file.display()),
        Err(error) => format!("input could not be kept: {error}"),
    };
    let name = Targets::NAMES[target];
    if let Ok(mut failure) = shared.failure.lock() {
        *failure = Some(format!(
            "{name}: {message}; seed {seed}, batch {batch}; {kept}"
        ));
    }
}
