//! Matches from sound, with a known answer: built-in amps with hidden part values, played by the
//! plain transient oracle (never by the processor that the match itself plays), recorded late and
//! upside down, with noise 40 and 20 dB below, and with a loudspeaker behind.
//!
//! Nothing here is tuned: a part that is told as firm must be within a step of E12 of its hidden
//! value, every error within three of the standard deviations stated, and the parts that the
//! Jacobian at the hidden values says can be told must be told.

mod matching_bench;

use matching_bench::{CASES, Case, errors, loudspeaker};
use presolder::analysis::at_rest::AtRest;
use presolder::analysis::matching::colour::Taken;
use presolder::analysis::matching::{
    Behind, Choice, Dry, Match, Others, Request, Told, matching, unknowns,
};
use presolder::analysis::phrase::phrase;
use presolder::analysis::recording::{Sound, Target, with_dry_track};
use presolder::circuit::Circuit;
use presolder::numeric::random::Random;
use presolder::solve::Transient;
use presolder::units::Series;
use realfft::RealFftPlanner;
use std::f64::consts::LN_10;
use std::time::Instant;

/// Sample rate of the sounds, Hz.
const RATE: u32 = 96_000;
/// Steps of the oracle in a sample: at 192 kHz the trapezoidal rule is 0.02 dB off at 5 kHz.
const STEPS: usize = 2;
/// Length, s: little more than the least that can be measured with.
const SECONDS: f64 = 4.2;
/// Where the piece of the phrase begins, s.
const FROM_SECONDS: f64 = 0.5;
/// The phrase is played so softly that no amp clips: 24 dB down.
const SOFT: f32 = 0.06;
/// Volts at the jack for a sample of 1.
const FULL_SCALE_VOLTS: f64 = 1.0;
/// Frames that the recording is late: 3 ms.
const LATE: usize = 288;
/// One step of E12 in the logarithm; of a dial, one division of ten.
const STEP_LOG: f64 = LN_10 / 12.0;
const STEP_ROTATION: f64 = 0.1;

/// A piece of the built-in phrase.
fn dry() -> Sound {
    let frame = |seconds: f64| (seconds * f64::from(RATE)) as usize;
    let from = frame(FROM_SECONDS);
    let piece = &phrase(RATE)[from..from + frame(SECONDS)];
    Sound {
        name: "dry.wav".into(),
        rate: RATE,
        channels: vec![piece.iter().map(|v| SOFT * v).collect()],
    }
}

/// What the oracle makes of it, V.
fn oracle(truth: &Circuit, dry: &Sound) -> Vec<f64> {
    let amp = AtRest::new(truth, None).expect("an operating point");
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
            let input = before + share * (now - before);
            out = transient.step(input).expect("a small step");
        }
        before = now;
        out - rest
    });
    samples.collect()
}

/// The sound behind a filter given by its level, dB by hertz, without phase.
fn behind(volts: &[f64], level: impl Fn(f64) -> f64) -> Vec<f64> {
    let mut planner = RealFftPlanner::<f64>::new();
    let size = volts.len() + 1024;
    let forward = planner.plan_fft_forward(size);
    let back = planner.plan_fft_inverse(size);
    let mut padded = volts.to_vec();
    padded.resize(size, 0.0);
    let mut spectrum = forward.make_output_vec();
    forward
        .process(&mut padded, &mut spectrum)
        .expect("lengths");
    for (bin, value) in spectrum.iter_mut().enumerate() {
        let hz = bin as f64 * f64::from(RATE) / size as f64;
        *value *= 10f64.powf(level(hz.max(1.0)) / 20.0) / size as f64;
    }
    let last = spectrum.len() - 1;
    spectrum[0].im = 0.0;
    spectrum[last].im = 0.0;
    back.process(&mut spectrum, &mut padded).expect("lengths");
    padded.truncate(volts.len());
    padded
}

/// A recording: late, upside down, with white noise so far below, dB, at half of full scale.
fn recorded(volts: &[f64], noise_db: f64, seed: u64) -> Sound {
    let power = volts.iter().map(|v| v * v).sum::<f64>() / volts.len() as f64;
    let noise = power.sqrt() * 10f64.powf(-noise_db / 20.0);
    let mut random = Random::new(seed, 7);
    let silence = std::iter::repeat_n(&0.0, LATE);
    let noisy: Vec<f64> = silence
        .chain(volts)
        .map(|v| noise * random.normal() - v)
        .collect();
    let peak = noisy.iter().fold(0.0f64, |m, v| m.max(v.abs()));
    Sound {
        name: "recording.wav".into(),
        rate: RATE,
        channels: vec![noisy.iter().map(|v| (0.5 * v / peak) as f32).collect()],
    }
}

/// How a recording is matched.
#[derive(Clone, Copy)]
struct Way<'a> {
    taken: Taken,
    others: Others,
    behind: Option<&'a Behind>,
}

fn found(circuit: &Circuit, names: &[String], target: &Target, dry: &Sound, way: Way) -> Match {
    let unknowns = unknowns(circuit, names).expect("parts that can be varied");
    let request = Request {
        circuit,
        unknowns: &unknowns,
        target,
        taken: way.taken,
        behind: way.behind,
        dry: Some(Dry {
            sound: dry,
            full_scale_volts: FULL_SCALE_VOLTS,
        }),
        others: way.others,
        choice: Choice::Series(Series::E12),
    };
    let found = matching(request, &mut |_| true).expect("nobody calls it off");
    found.unwrap_or_else(|why| panic!("{why}"))
}

/// Checks what holds for every recording, and counts the firm parts.
fn check(case: &Case, what: &str, found: &Match, seconds: f64) -> usize {
    let amp = case.amp;
    println!(
        "{amp} {what}: left {:.2} dB, fitted {:.3}, rounded {:.3}, each alone {:.3}; {seconds:.1} s",
        found.as_found.db,
        found.fitted.db,
        found.rounded.map_or(f64::NAN, |l| l.db),
        found.each_alone.map_or(f64::NAN, |l| l.db),
    );
    let truth = case.truth();
    let hidden = unknowns(&truth, &case.names()).expect("the same parts");
    let parts = found.parts.iter().zip(errors(case, found)).zip(&hidden);
    for ((part, (name, off, deviation, told)), hidden) in parts {
        println!("  {name:8} off {off:+.3}, stated {deviation:.3}, {told:?}");
        assert!(
            off.abs() <= 3.0 * deviation,
            "{amp} {what}, {name}: off by {off:.3}, stated {deviation:.3}"
        );
        if told == Told::Firm {
            let step = match part.position {
                true => (part.fitted - hidden.value(hidden.start)).abs() / STEP_ROTATION,
                false => off.abs() / STEP_LOG,
            };
            assert!(step <= 1.0, "{amp} {what}, {name}: {step:.2} steps off");
        }
    }
    let last = found.parts.last().expect("parts");
    assert_eq!(last.told, Told::Nothing, "{amp} {what}: {}", last.sentence);
    assert!(last.sentence.contains("says nothing about it"));
    found.told(Told::Firm).len()
}

/// All recordings of one amp. `firm`: how many parts must be told as firm from a line recording with
/// 40 dB, the other parts being as stated.
fn known_answer(case: &Case, firm: usize) {
    let dry = dry();
    let start = Instant::now();
    let truth = case.truth();
    let volts = oracle(&truth, &dry);
    println!(
        "{}: oracle {:.1} s",
        case.amp,
        start.elapsed().as_secs_f64()
    );
    let through = behind(&volts, loudspeaker);
    let circuit = case.as_found();
    let run = |what: &str, sound: &Sound, way: Way| {
        let target = with_dry_track(sound, &dry).unwrap_or_else(|why| panic!("{why}"));
        let late = target.delay_seconds.expect("a delay");
        assert!((late - 0.003).abs() < 1e-4, "{late}");
        let start = Instant::now();
        let found = found(&circuit, &case.names(), &target, &dry, way);
        let count = check(case, what, &found, start.elapsed().as_secs_f64());
        (target, found, count)
    };
    let line = |others| Way {
        taken: Taken::Line,
        others,
        behind: None,
    };
    let quiet = recorded(&volts, 40.0, 1);
    let (target, exact, count) = run("line, 40 dB, others exact", &quiet, line(Others::AsStated));
    assert!(count >= firm, "{}: {count} firm parts", case.amp);
    // What the Jacobian at the hidden values says can be known to half a step is within one.
    let at_truth = found(&truth, &case.names(), &target, &dry, line(Others::AsStated));
    let can_be: Vec<&str> = at_truth.told(Told::Firm);
    println!("{}: can be told: {can_be:?}", case.amp);
    assert!(can_be.len() >= firm, "{}: {can_be:?}", case.amp);
    for (name, off, ..) in errors(case, &exact) {
        let position = case.as_found().find_part(&name).is_none();
        if can_be.contains(&name.as_str()) && !position {
            assert!(off.abs() <= STEP_LOG, "{} {name}: off {off:.3}", case.amp);
        }
    }
    run("line, 40 dB", &quiet, line(Others::WithinTolerance));
    let noisy = recorded(&volts, 20.0, 2);
    run("line, 20 dB, others exact", &noisy, line(Others::AsStated));
    let heard = recorded(&through, 40.0, 3);
    let unknown = Way {
        taken: Taken::Microphone,
        others: Others::WithinTolerance,
        behind: None,
    };
    let (target, far, _) = run("microphone, 40 dB", &heard, unknown);
    assert!(far.told(Told::Firm).len() <= exact.told(Told::Firm).len());
    let known = Behind {
        name: "the very loudspeaker".into(),
        db: target.hz.iter().map(|&hz| loudspeaker(hz)).collect(),
    };
    let with_it = Way {
        taken: Taken::KnownLoudspeaker,
        others: Others::AsStated,
        behind: Some(&known),
    };
    run("known loudspeaker, 40 dB", &heard, with_it);
}

#[test]
fn bradawl() {
    known_answer(&CASES[0], 2);
}

#[test]
fn mizzle() {
    known_answer(&CASES[1], 2);
}

#[test]
fn spokeshave() {
    known_answer(&CASES[2], 3);
}

#[test]
fn sluice() {
    known_answer(&CASES[3], 1);
}
