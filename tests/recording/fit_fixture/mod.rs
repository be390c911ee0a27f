//! Matches with a known answer: built-in amps with hidden part values, and what a recording of them
//! would show. All values are invented.
#![allow(dead_code)]

pub mod sounds;

use engine::analysis::response::{Path, gains};
use engine::circuit::{Circuit, WrittenChange, WrittenSetting, built_in_circuit, read};
use engine::device::Catalogue;
use engine::numeric::random::Random;
use engine::recording::fit::colour::Taken;
use engine::recording::fit::{
    Certainty, Choice, FitReport, Others, Question, Unknown, fit, unknowns,
};
use engine::recording::{Method, Target, grid};
use engine::solve::solved::SolvedAmp;
use engine::units::Series;

/// An amp with hidden values.
#[derive(Clone, Copy)]
pub struct Case {
    /// Short name of the amp.
    pub amp: &'static str,
    /// What is varied, and its true value: a part's, or a control's rotation.
    pub hidden: &'static [(&'static str, &'static str)],
}

/// The hidden values of the known answers: each amp once, six unknowns, none as found; the last one
/// is a part that no recording of quiet playing can tell.
pub const CASES: [Case; 4] = [
    Case {
        amp: "bradawl",
        hidden: &[
            ("C103", "560p"),
            ("R308", "56k"),
            ("C101", "1u"),
            ("C201", "6n8"),
            ("Volume", "0.6"),
            ("R403", "5k6"),
        ],
    },
    Case {
        amp: "mizzle",
        hidden: &[
            ("C5", "2n2"),
            ("Tone", "0.45"),
            ("C1", "680n"),
            ("C2", "4n7"),
            ("R10", "330"),
            ("R9", "5k6"),
        ],
    },
    Case {
        amp: "spokeshave",
        hidden: &[
            ("R6", "47k"),
            ("C4", "33n"),
            ("C2", "470p"),
            ("Bass", "0.65"),
            ("R18", "180"),
            ("C9", "100u"),
        ],
    },
    Case {
        amp: "sluice",
        hidden: &[
            ("C202", "47n"),
            ("C204", "3n3"),
            ("R303", "82"),
            ("C206", "4n7"),
            ("Treble", "0.6"),
            ("C303", "47n"),
        ],
    },
];

impl Case {
    /// The amp as its file has it.
    pub fn as_found(&self) -> Circuit {
        let text = built_in_circuit(self.amp).expect("a built-in amp").text;
        read(text, &Catalogue::built_in()).expect("a sound file")
    }

    /// The amp with the hidden values.
    pub fn truth(&self) -> Circuit {
        with(&self.as_found(), self.hidden)
    }

    /// Names of what is varied.
    pub fn names(&self) -> Vec<String> {
        self.hidden.iter().map(|(n, _)| (*n).to_string()).collect()
    }
}

/// A circuit with other values and settings.
pub fn with(circuit: &Circuit, values: &[(&str, &str)]) -> Circuit {
    let catalogue = Catalogue::built_in();
    let (parts, controls): (Vec<_>, Vec<_>) = values
        .iter()
        .partition(|(name, _)| circuit.find_part(name).is_some());
    let changes: Vec<WrittenChange> = parts
        .into_iter()
        .map(|(name, value)| format!("{name}={value}").parse().expect("a change"))
        .collect();
    let settings: Vec<WrittenSetting> = controls
        .into_iter()
        .map(|(name, value)| format!("{name}={value}").parse().expect("a setting"))
        .collect();
    let changed = circuit.with_written_changes(&changes, &catalogue);
    let set = changed.and_then(|c| c.with_written_controls(&settings));
    set.unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// Small-signal level on the grid of a target, dB.
pub fn level(circuit: &Circuit) -> Vec<f64> {
    let amp = SolvedAmp::new(circuit, None).expect("an operating point");
    let gains = gains(&amp.network, &amp.as_found, Path::default(), &grid());
    gains.iter().map(|g| 20.0 * g.norm().log10()).collect()
}

/// What a perfect recording of a circuit would show but for chance of this size, dB, and for
/// `behind` (dB by frequency).
pub fn target(circuit: &Circuit, chance_db: f64, seed: u64, behind: impl Fn(f64) -> f64) -> Target {
    target_of(&level(circuit), chance_db, seed, behind)
}

/// The same of a level on the grid of a target, dB.
pub fn target_of(level: &[f64], chance_db: f64, seed: u64, behind: impl Fn(f64) -> f64) -> Target {
    let hz = grid();
    let mut random = Random::new(seed, 0);
    let db: Vec<f64> = level
        .iter()
        .zip(&hz)
        .map(|(db, &hz)| db + behind(hz) + chance_db * random.normal())
        .collect();
    let mean = db.iter().sum::<f64>() / db.len() as f64;
    let count = hz.len();
    Target {
        name: "hidden.wav".into(),
        dry_name: Some("dry.wav".into()),
        method: Method::WithDryTrack,
        db: db.into_iter().map(|db| db - mean).collect(),
        deviation_db: vec![chance_db; count],
        coherence: Some(vec![0.99; count]),
        trusted: hz.iter().map(|hz| (70.0..8000.0).contains(hz)).collect(),
        gain_db: mean,
        delay_seconds: Some(0.0),
        drift_ppm: Some(0.0),
        inverted: Some(false),
        span_seconds: [0.0, 4.0],
        quiet: None,
        level_dependence: None,
        notes: Vec::new(),
        hz,
    }
}

/// A match that is asked for, without a dry track, rounded to E12.
pub fn request<'a>(
    circuit: &'a Circuit,
    unknowns: &'a [Unknown],
    target: &'a Target,
    taken: Taken,
    others: Others,
) -> Question<'a> {
    Question {
        circuit,
        unknowns,
        target,
        taken,
        behind: None,
        dry: None,
        others,
        choice: Choice::Series(Series::E12),
    }
}

/// The match of a target.
pub fn matched(
    circuit: &Circuit,
    names: &[String],
    target: &Target,
    taken: Taken,
    others: Others,
) -> FitReport {
    let unknowns = unknowns(circuit, names).expect("parts that can be varied");
    let request = request(circuit, &unknowns, target, taken, others);
    let found = fit(request, &mut |_| true);
    found.expect("nobody calls it off").expect("a match")
}

/// How far each part is off its hidden value: its error and the standard deviation that was stated,
/// both in the logarithm (of a control, in the logit of its track).
pub fn errors(case: &Case, found: &FitReport) -> Vec<(String, f64, f64, Certainty)> {
    let truth = case.truth();
    let hidden = unknowns(&truth, &case.names()).expect("the same parts");
    let each = found.parts.iter().zip(&hidden);
    each.map(|(part, hidden)| {
        let off = hidden.number(part.fitted) - hidden.start;
        (part.name.clone(), off, part.deviation, part.certainty)
    })
    .collect()
}

/// A loudspeaker and microphone of nobody: a resonance, a presence peak, a dip and two roll-offs.
pub fn loudspeaker(hz: f64) -> f64 {
    let bell = |centre: f64, width: f64| (-0.5 * ((hz / centre).log2() / width).powi(2)).exp();
    let high = -10.0 * (1.0 + (hz / 4800.0).powi(8)).log10();
    let low = -10.0 * (1.0 + (85.0 / hz).powi(4)).log10();
    3.0 * bell(110.0, 0.4) - 2.5 * bell(450.0, 0.6) + 6.0 * bell(2800.0, 0.35)
        - 5.0 * bell(1500.0, 0.15)
        + high
        + low
}
