//! Recordings that show no amp's response: each is refused in clear words, all reasons at once; and
//! what is odd but usable is used, and told.

use crate::fixture::*;
use crate::processor_time::seconds;
use engine::recording::{Target, Unfit, with_dry_track, without_dry_track};
use engine::sound::Sound;
use std::sync::LazyLock;

fn dry() -> Vec<f64> {
    static DRY: LazyLock<Vec<f64>> = LazyLock::new(|| guitar(RATE, 1));
    DRY.clone()
}

fn good() -> Vec<f64> {
    through(&amp(RATE), &dry())
}

fn of(name: &str, samples: &[f64]) -> Sound {
    sound(name, RATE, &[&single(samples)])
}

/// Both methods refuse with these words.
fn refused(recording: &Sound, words: &[&str]) {
    let results = [
        with_dry_track(recording, &of("dry.wav", &dry())),
        without_dry_track(recording, &of("phrase", &dry())),
    ];
    for result in results {
        told(result, words);
    }
}

fn told(result: Result<Target, Unfit>, words: &[&str]) {
    let reasons = result.expect_err("it is refused").0.join("\n");
    println!("{reasons}\n");
    for word in words {
        assert!(reasons.contains(word), "{word:?} is not in {reasons:?}");
    }
}

#[test]
fn silence() {
    refused(&of("amp.wav", &vec![0.0; 480_000]), &["amp.wav", "silent"]);
    let hiss: Vec<f64> = noise(1, 480_000).iter().map(|s| 1e-4 * s).collect();
    refused(
        &of("amp.wav", &hiss),
        &["-80 dBFS".replace('-', "−").as_str()],
    );
}

#[test]
fn clipped_by_time_at_any_rate() {
    for rate in [44_100, 48_000, 96_000] {
        let heard = through(&amp(rate), &guitar(rate, 1));
        let peak = heard.iter().fold(0f64, |m, s| m.max(s.abs()));
        let at = |gain: f64| {
            let clip = |s: &f64| (s / peak * gain).clamp(-1.0, 1.0);
            sound(
                "amp.wav",
                rate,
                &[&single(&heard.iter().map(clip).collect::<Vec<_>>())],
            )
        };
        // Ten decibels over full scale; and turned down afterwards.
        refused(&at(3.16), &["clipped", "%", "lower"]);
        let mut lower = at(3.16);
        lower.channels[0].iter_mut().for_each(|s| *s *= 0.5);
        refused(&lower, &["clipped"]);
        // To the last bit of full scale is not clipped.
        let whole = without_dry_track(&at(1.0), &of("phrase", &dry())).unwrap();
        assert!(
            !whole.notes.join(" ").contains("clipped"),
            "{:?}",
            whole.notes
        );
    }
}

#[test]
fn a_low_rate_and_a_short_piece_are_told_at_once() {
    let eight = engine::sound::resample::resampled(&[single(&good())], RATE, 8000).unwrap();
    let short = sound("amp.wav", 8000, &[&eight[0][..8000]]);
    refused(&short, &["8000 Hz", "44100 Hz", "1.0 s", "20 s"]);
}

#[test]
fn both_files_faults_are_told_at_once() {
    let result = with_dry_track(
        &of("amp.wav", &vec![0.0; 480_000]),
        &of("dry.wav", &vec![0.0; 480_000]),
    );
    told(result, &["amp.wav", "dry.wav"]);
}

#[test]
fn not_a_number() {
    let mut samples = good();
    samples[96_000] = f64::NAN;
    refused(&of("amp.wav", &samples), &["2.00 s", "not a number"]);
    samples[96_000] = f64::INFINITY;
    refused(&of("amp.wav", &samples), &["not a number"]);
}

/// Another take, a voice-like sound, noise: nothing follows from the dry track.
#[test]
fn something_else() {
    let dry_sound = of("dry.wav", &dry());
    let hiss: Vec<f64> = noise(2, 480_000).iter().map(|s| 0.1 * s).collect();
    told(
        with_dry_track(&of("amp.wav", &hiss), &dry_sound),
        &["does not follow", "another take"],
    );
    // The same notes in another order.
    let other = good();
    let (first, second) = other.split_at(other.len() / 2);
    let backwards: Vec<f64> = second
        .iter()
        .rev()
        .chain(first.iter().rev())
        .copied()
        .collect();
    told(
        with_dry_track(&of("amp.wav", &backwards), &dry_sound),
        &["does not follow"],
    );
    // Without a dry track noise and a tone are known.
    let phrase = of("phrase", &dry());
    told(
        without_dry_track(&of("amp.wav", &hiss), &phrase),
        &["noise without notes"],
    );
    let tone: Vec<f64> = (0..480_000)
        .map(|n| 0.5 * (std::f64::consts::TAU * 440.0 * n as f64 / 48e3).sin())
        .collect();
    told(
        without_dry_track(&of("amp.wav", &tone), &phrase),
        &["test tone"],
    );
}

/// Chance, in numbers: of 99 points none is trusted in noise.
#[test]
fn far_apart_in_time() {
    let dry = dry();
    let late: Vec<f64> = vec![0.0; 30 * 48_000].into_iter().chain(good()).collect();
    told(
        with_dry_track(&of("amp.wav", &late), &of("dry.wav", &dry)),
        &["15 s apart"],
    );
}

#[test]
fn one_dead_side() {
    let heard = single(&good());
    let hiss = single(
        &noise(3, heard.len())
            .iter()
            .map(|s| 1e-5 * s)
            .collect::<Vec<_>>(),
    );
    let dry_sound = of("dry.wav", &dry());
    let mono = with_dry_track(&sound("amp.wav", RATE, &[&heard]), &dry_sound).unwrap();
    for (channels, words) in [
        ([&heard, &hiss], "the right side is dead"),
        ([&hiss, &heard], "the left side is dead"),
    ] {
        let channels = channels.map(Vec::as_slice);
        let target = with_dry_track(&sound("amp.wav", RATE, &channels), &dry_sound).unwrap();
        assert!(
            target.notes.join("\n").contains(words),
            "{:?}",
            target.notes
        );
        assert_eq!(target.db, mono.db);
    }
    // Two microphones.
    let other = single(&later(&good(), 20.5)[..heard.len()]);
    let two = sound("amp.wav", RATE, &[&heard, &other]);
    let target = with_dry_track(&two, &dry_sound).unwrap();
    assert!(
        target.notes.join("\n").contains("two sides differ"),
        "{:?}",
        target.notes
    );
}

/// Ten minutes: a minute of it is used, and told; the time, about two seconds of a processor with
/// debug assertions, is printed and not judged.
#[test]
fn ten_minutes() {
    let dry = guitar(RATE, 63);
    let heard = through(&amp(RATE), &dry);
    let (recording, dry) = (of("amp.wav", &heard), of("dry.wav", &dry));
    for with in [true, false] {
        let start = seconds();
        let target = match with {
            true => with_dry_track(&recording, &dry),
            false => without_dry_track(&recording, &of("phrase", &self::dry())),
        };
        let took = seconds() - start;
        let target = target.unwrap();
        println!("{took:.2} s, {:?}", target.notes);
        assert!(
            target
                .notes
                .join("\n")
                .contains("60 s with the most playing")
        );
        assert!((target.span_seconds[1] - target.span_seconds[0] - 60.0).abs() < 1e-6);
    }
}

#[test]
fn unequal_lengths() {
    let dry = guitar(RATE, 3);
    let heard = through(&amp(RATE), &dry);
    let cut = &heard[5 * 48_000..17 * 48_000];
    let target = with_dry_track(&of("amp.wav", cut), &of("dry.wav", &dry)).unwrap();
    let milliseconds = 1e3 * target.delay_seconds.unwrap();
    assert!((milliseconds + 5000.0).abs() < 0.1, "{milliseconds}");
    assert!(
        target.notes.join("\n").contains("in common"),
        "{:?}",
        target.notes
    );
    // Two seconds of twenty-nine are too little.
    told(
        with_dry_track(&of("amp.wav", &heard[..96_000]), &of("dry.wav", &dry)),
        &["too short"],
    );
}
