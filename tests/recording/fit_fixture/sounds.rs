//! Sounds with a known answer: a built-in amp played by the plain transient oracle (never by the
//! processor that a match itself plays), recorded late and upside down, with noise, and with a
//! loudspeaker behind; and the match of such a recording.
#![allow(dead_code)]

use engine::circuit::Circuit;
use engine::numeric::random::Random;
use engine::recording::Target;
use engine::recording::fit::colour::Taken;
use engine::recording::fit::{Behind, Choice, Dry, FitReport, Others, Question, fit, unknowns};
use engine::solve::Transient;
use engine::solve::solved::SolvedAmp;
use engine::sound::Sound;
use engine::sound::phrase::phrase;
use engine::units::Series;

/// Sample rate of the sounds, Hz.
pub const RATE: u32 = 96_000;
/// Steps of the oracle in a sample: at 192 kHz the trapezoidal rule is 0.02 dB off at 5 kHz.
const STEPS: usize = 2;
/// Volts at the jack for a sample of 1.
const FULL_SCALE_VOLTS: f64 = 1.0;
/// Frames that the recording is late: 3 ms.
const LATE: usize = 288;
/// A piece of the built-in phrase: from where, how long, s, and how loud.
pub fn dry(from_seconds: f64, seconds: f64, share: f32) -> Sound {
    let frame = |seconds: f64| (seconds * f64::from(RATE)) as usize;
    let from = frame(from_seconds);
    let piece = &phrase(RATE)[from..from + frame(seconds)];
    Sound {
        name: "dry.wav".into(),
        rate: RATE,
        channels: vec![piece.iter().map(|v| share * v).collect()],
    }
}

/// What the oracle makes of it, V.
pub fn oracle(truth: &Circuit, dry: &Sound) -> Vec<f64> {
    let amp = SolvedAmp::new(truth, None).expect("an operating point");
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
pub fn behind(volts: &[f64], level: impl Fn(f64) -> f64) -> Vec<f64> {
    let size = volts.len() + 1024;
    let forward = fourier::forward(size);
    let back = fourier::inverse(size);
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
pub fn recorded(volts: &[f64], noise_db: f64, seed: u64) -> Sound {
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
pub struct Way<'a> {
    pub taken: Taken,
    pub others: Others,
    pub behind: Option<&'a Behind>,
}

/// The match of a recording, rounded to E12.
pub fn found(
    circuit: &Circuit,
    names: &[String],
    target: &Target,
    dry: &Sound,
    way: Way,
) -> FitReport {
    let unknowns = unknowns(circuit, names).expect("parts that can be varied");
    let request = Question {
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
    let found = fit(request, &mut |_| true).expect("nobody calls it off");
    found.unwrap_or_else(|why| panic!("{why}"))
}
