//! Matches from sound, with a known answer: built-in amps with hidden part values, played by the
//! plain transient oracle (never by the processor that the match itself plays), recorded late and
//! upside down, with noise 40 and 20 dB below, and with a loudspeaker behind.
//!
//! Nothing here is tuned: a part that is told as firm must be within a step of E12 of its hidden
//! value, every error within three of the standard deviations stated, and the parts that the
//! Jacobian at the hidden values says can be told must be told. The last two bound the doubt from
//! above: larger deviations would leave fewer parts firm than each case asks for.

use crate::fit_fixture::sounds::{Way, behind, dry, found, oracle, recorded};
use crate::fit_fixture::{CASES, Case, errors, loudspeaker};
use engine::recording::fit::colour::Taken;
use engine::recording::fit::{Behind, Certainty, FitReport, Others, unknowns};
use engine::recording::with_dry_track;
use engine::sound::Sound;
use std::f64::consts::LN_10;
use std::time::Instant;

/// Length, s: little more than the least that can be measured with.
const SECONDS: f64 = 4.2;
/// Where the piece of the phrase begins, s.
const FROM_SECONDS: f64 = 0.5;
/// The phrase is played so softly that no amp clips: 24 dB down.
const SOFT: f32 = 0.06;
/// One step of E12 in the logarithm; of a dial, one division of ten.
const STEP_LOG: f64 = LN_10 / 12.0;
const STEP_ROTATION: f64 = 0.1;

/// Checks what holds for every recording, and counts the firm parts.
fn check(case: &Case, what: &str, found: &FitReport, seconds: f64) -> usize {
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
        if told == Certainty::Firm {
            let step = match part.position {
                true => (part.fitted - hidden.value(hidden.start)).abs() / STEP_ROTATION,
                false => off.abs() / STEP_LOG,
            };
            assert!(step <= 1.0, "{amp} {what}, {name}: {step:.2} steps off");
        }
    }
    let last = found.parts.last().expect("parts");
    assert_eq!(
        last.certainty,
        Certainty::Nothing,
        "{amp} {what}: {}",
        last.sentence
    );
    assert!(last.sentence.contains("says nothing about it"));
    found.with_certainty(Certainty::Firm).len()
}

/// All recordings of one amp. `firm`: how many parts must be told as firm from a line recording with
/// 40 dB, the other parts being as stated.
fn known_answer(case: &Case, firm: usize) {
    let dry = dry(FROM_SECONDS, SECONDS, SOFT);
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
    let can_be: Vec<&str> = at_truth.with_certainty(Certainty::Firm);
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
    assert!(
        far.with_certainty(Certainty::Firm).len() <= exact.with_certainty(Certainty::Firm).len()
    );
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
