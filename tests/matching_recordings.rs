//! Matches from sound: built-in amps with hidden part values, played by the plain transient oracle
//! (never by the processor that the match itself plays), recorded with noise, with a loudspeaker
//! behind, late and upside down.

mod matching_bench;

use matching_bench::{CASES, Case, errors};
use presolder::analysis::at_rest::AtRest;
use presolder::analysis::matching::colour::Taken;
use presolder::analysis::matching::{
    Choice, Dry, Match, Others, Request, Told, matching, unknowns,
};
use presolder::analysis::phrase::phrase;
use presolder::analysis::recording::{Sound, with_dry_track};
use presolder::numeric::random::Random;
use presolder::solve::Transient;
use presolder::units::Series;
use std::time::Instant;

/// Sample rate of the sounds, Hz.
const RATE: u32 = 96_000;
/// Steps of the oracle in a sample.
const STEPS: usize = 2;
/// Length, s.
const SECONDS: f64 = 4.2;
/// Volts at the jack for a sample of 1.
const FULL_SCALE_VOLTS: f64 = 1.0;

/// A piece of the built-in phrase.
fn dry() -> Sound {
    let from = (0.5 * f64::from(RATE)) as usize;
    let count = (SECONDS * f64::from(RATE)) as usize;
    let all = phrase(RATE);
    Sound {
        name: "dry.wav".into(),
        rate: RATE,
        channels: vec![all[from..from + count].iter().map(|v| 0.06 * v).collect()],
    }
}

/// What the oracle makes of it, V.
fn oracle(case: &Case, dry: &Sound) -> Vec<f64> {
    let truth = case.truth();
    let amp = AtRest::new(&truth, None).expect("an operating point");
    let side = &amp.as_found;
    let step = 1.0 / f64::from(RATE) / STEPS as f64;
    let mut transient = Transient::new(&amp.network, &side.values, &side.point, step);
    let rest = transient.output();
    let mut before = 0.0;
    let samples = dry.channels[0].iter().map(|&s| {
        let now = FULL_SCALE_VOLTS * f64::from(s);
        let mut out = 0.0;
        for i in 1..=STEPS {
            let share = i as f64 / STEPS as f64;
            out = transient
                .step(before + share * (now - before))
                .expect("a step");
        }
        before = now;
        out - rest
    });
    samples.collect()
}

/// A recording of it: noise so far below, dB, scaled to half of full scale.
fn recorded(volts: &[f64], noise_db: f64, seed: u64, late: usize, sign: f64) -> Sound {
    let power = volts.iter().map(|v| v * v).sum::<f64>() / volts.len() as f64;
    let noise = power.sqrt() * 10f64.powf(-noise_db / 20.0);
    let mut random = Random::new(seed, 7);
    let silence = std::iter::repeat_n(&0.0, late);
    let noisy: Vec<f64> = silence
        .chain(volts)
        .map(|v| sign * v + noise * random.normal())
        .collect();
    let peak = noisy.iter().fold(0.0f64, |m, v| m.max(v.abs()));
    Sound {
        name: "recording.wav".into(),
        rate: RATE,
        channels: vec![noisy.iter().map(|v| (0.5 * v / peak) as f32).collect()],
    }
}

fn found(case: &Case, recording: &Sound, dry: &Sound, taken: Taken, others: Others) -> Match {
    let circuit = case.as_found();
    let unknowns = unknowns(&circuit, &case.names()).expect("parts");
    let target = with_dry_track(recording, dry).unwrap_or_else(|why| panic!("{why}"));
    let trusted = target.trusted.iter().filter(|t| **t).count();
    let lows: Vec<String> = target
        .hz
        .iter()
        .zip(&target.deviation_db)
        .zip(&target.trusted)
        .step_by(6)
        .map(|((h, d), t)| format!("{h:.0}:{d:.2}{}", if *t { "" } else { "x" }))
        .collect();
    println!(
        "trusted {trusted} delay {:?} inv {:?} quiet {:?} {lows:?}",
        target.delay_seconds, target.inverted, target.quiet
    );
    let request = Request {
        circuit: &circuit,
        unknowns: &unknowns,
        target: &target,
        taken,
        behind: None,
        dry: Some(Dry {
            sound: dry,
            full_scale_volts: FULL_SCALE_VOLTS,
        }),
        others,
        choice: Choice::Series(Series::E12),
    };
    matching(request, &mut |_| true)
        .expect("not called off")
        .expect("a match")
}

fn known_answer(case: &Case) {
    let dry = dry();
    let start = Instant::now();
    let volts = oracle(case, &dry);
    println!(
        "== {} oracle {:.2?} peak {:.2}",
        case.amp,
        start.elapsed(),
        volts.iter().fold(0.0f64, |m, v| m.max(v.abs()))
    );
    for (name, sound, taken, others) in [
        (
            "line 40 exact",
            recorded(&volts, 40.0, 1, 0, 1.0),
            Taken::Line,
            Others::AsStated,
        ),
        (
            "line 40 flipped late",
            recorded(&volts, 40.0, 2, 288, -1.0),
            Taken::Line,
            Others::WithinTolerance,
        ),
        (
            "line 20 exact",
            recorded(&volts, 20.0, 3, 0, 1.0),
            Taken::Line,
            Others::AsStated,
        ),
    ] {
        let start = Instant::now();
        let found = found(case, &sound, &dry, taken, others);
        println!(
            "-- {} {name} {:.2?} left {:?} {:?} {:?} chance {:.3}",
            case.amp,
            start.elapsed(),
            found.as_found,
            found.fitted,
            found.rounded,
            found.chance_db
        );
        for (name, off, deviation, told) in errors(case, &found) {
            println!(
                "{name:8} off {off:+.3} dev {deviation:.3} pull {:+.2} {told:?}",
                off / deviation
            );
            let _ = told == Told::Firm;
        }
        for b in &found.bands {
            print!(" {}:{:+.2}", b.hz, b.fitted_db);
        }
        println!();
        for n in &found.notes {
            println!("   {n}");
        }
    }
}

#[test]
fn bradawl() {
    known_answer(&CASES[0]);
}

#[test]
fn mizzle() {
    known_answer(&CASES[1]);
}

#[test]
fn spokeshave() {
    known_answer(&CASES[2]);
}

#[test]
fn sluice() {
    known_answer(&CASES[3]);
}
