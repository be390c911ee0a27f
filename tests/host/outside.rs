//! Real hosts, which run as programs of their own: whether they are there, how they are started,
//! and the command line's rendering that their sound is held against.

use super::pluck;
use presolder::sound::wav::{self, Depth, Recording};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

/// The hosts' rate, Hz.
pub const RATE: u32 = 48_000;

/// Agreement that is asked for, dB: the plugin and the command line share the processor, but not
/// what lies around it.
pub const AGREEMENT: f64 = -60.0;

/// How a difference is measured.
#[derive(Clone, Copy)]
pub enum Measure {
    /// The largest difference against the reference's peak: for hosts in which everything is set as
    /// on the command line.
    Peak,
    /// Powers: for hosts in which the oversampling cannot be set. At 2 times instead of 8 the
    /// processor itself misses the one steepest edge by more (-50 dB, driven hard) than the rest.
    Power,
}

/// A script of `tests/hosts/`.
pub fn script(name: &str) -> PathBuf {
    let top = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    top.join("tests/hosts").join(name)
}

/// Runs a program for at most so many seconds and gives what it said.
///
/// # Errors
/// What it said, if it failed or took too long.
pub fn run(command: &mut Command, seconds: u64) -> Result<String, String> {
    let file = tempfile::NamedTempFile::new().expect("a file");
    let log = || file.reopen().map(Stdio::from).expect("a file");
    let mut child = command
        .stdin(Stdio::null())
        .stdout(log())
        .stderr(log())
        .spawn()
        .map_err(|fault| format!("{command:?}: {fault}"))?;
    let started = Instant::now();
    let status = loop {
        if let Some(status) = child.try_wait().expect("a child") {
            break Some(status);
        }
        if started.elapsed() > Duration::from_secs(seconds) {
            let _ = child.kill();
            let _ = child.wait();
            break None;
        }
        std::thread::sleep(Duration::from_millis(20));
    };
    let said = std::fs::read(file.path()).unwrap_or_default();
    let said = String::from_utf8_lossy(&said).into_owned();
    match status {
        Some(status) if status.success() => Ok(said),
        Some(status) => Err(format!("{command:?}: {status}\n{said}")),
        None => Err(format!("{command:?}: not done in {seconds} s\n{said}")),
    }
}

/// One comparison: an amp, what is changed in it, how hard it is played.
pub struct Comparison {
    /// The class's name in hosts.
    pub class: &'static str,
    /// Its identity in CLAP, whose texts turn values into positions.
    pub clap: &'static str,
    /// The amp's name on the command line.
    pub amp: &'static str,
    /// Two parts with their values: parameter name, designator, value.
    pub parts: [[&'static str; 3]; 2],
    /// Peak of the input, of full scale.
    pub peak: f64,
}

/// A quiet and a driven one.
pub const COMPARISONS: [Comparison; 2] = [
    Comparison {
        class: "Presolder Bradawl 15",
        clap: "org.presolder.bradawl",
        amp: "Bradawl 15",
        parts: [
            ["R103 anode load", "R103", "100k"],
            ["C102 coupling", "C102", "4n7"],
        ],
        peak: 0.02,
    },
    Comparison {
        class: "Presolder Mizzle 5",
        clap: "org.presolder.mizzle",
        amp: "Mizzle 5",
        parts: [
            ["R3 anode load", "R3", "150k"],
            ["C2 coupling", "C2", "22n"],
        ],
        peak: 0.9,
    },
];

impl Comparison {
    /// What is played: a second and a half, stereo.
    pub fn input(&self) -> Vec<Vec<f32>> {
        pluck(f64::from(RATE), 72_000, 2, self.peak)
    }

    /// Names and positions of everything that is set in the host, so that it does what the
    /// command line does: the values, no loudness match, eight times oversampling.
    pub fn positions(&self) -> Vec<(String, f64)> {
        let mut plugin = super::clap::Instance::new(self.clap);
        let mut positions = vec![("Loudness match".into(), 0.0), ("Oversampling".into(), 1.0)];
        for [name, _, value] in self.parts {
            let id = plugin.param(name).id;
            let position = plugin.parse(id, value).expect("a value of the series");
            assert_eq!(plugin.text(id, position), value);
            positions.push((name.into(), position));
        }
        positions
    }

    /// Writes the input as a WAV file.
    pub fn write_input(&self, path: &Path) {
        let recording = Recording {
            rate: RATE,
            depth: Depth::Float32,
            channels: self.input(),
        };
        wav::write(path, &recording).expect("a recording");
    }

    /// The command line's rendering, and that of the amp as found, which must differ.
    pub fn rendered(&self, folder: &Path) -> Vec<Vec<f32>> {
        let input = folder.join("in.wav");
        self.write_input(&input);
        let render = |name: &str, parts: &[[&str; 3]]| {
            let output = folder.join(name);
            let mut command = Command::new(env!("CARGO_BIN_EXE_presolder"));
            command.args(["render", self.amp]).args([&input, &output]);
            for [_, part, value] in parts {
                command.args(["--set", &format!("{part}={value}")]);
            }
            run(&mut command, 120).expect("rendered");
            wav::read(&output).expect("a recording").channels
        };
        let reference = render("proposed.wav", &self.parts);
        for missing in 0..2 {
            let other = render("other.wav", &self.parts[missing..=missing]);
            let apart = difference(&reference, &other, 0, Measure::Power);
            assert!(
                apart > AGREEMENT + 20.0,
                "a value less would not be heard: {apart} dB"
            );
        }
        reference
    }

    /// Holds what a host made against the reference, at the delay that fits best; that must be none
    /// or the latency that was told, since a host may or may not take it away, but for `early`
    /// frames by which the host may begin too soon of its own accord.
    pub fn assert_agrees(
        &self,
        reference: &[Vec<f32>],
        heard: &[Vec<f32>],
        (latency, early): (usize, usize),
        measure: Measure,
    ) {
        let missing = |delay: isize| delay.min(0).unsigned_abs();
        let late = |delay: isize| delay.max(0).unsigned_abs();
        let best = (-(early as isize)..=(2 * latency + 64) as isize)
            .map(|delay| {
                // What was played before the host began is in the reference only.
                let begun = reference.iter().map(|channel| &channel[missing(delay)..]);
                let begun: Vec<&[f32]> = begun.collect();
                (difference(&begun, heard, late(delay), measure), delay)
            })
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .expect("delays");
        let (decibels, delay) = best;
        let class = self.class;
        println!("{class}: {decibels:.1} dB at a delay of {delay} frames, {latency} told");
        assert!(
            delay <= 0 || delay == latency as isize,
            "{class}: delayed by {delay}, told {latency}"
        );
        assert!(decibels < AGREEMENT, "{class}: {decibels} dB");
    }
}

/// Difference in dB below the reference, with the delay taken off.
fn difference(
    reference: &[impl AsRef<[f32]>],
    heard: &[Vec<f32>],
    delay: usize,
    measure: Measure,
) -> f64 {
    assert_eq!(reference.len(), heard.len());
    let (mut most, mut peak, mut error, mut power) = (0.0f64, 0.0f64, 0.0, 0.0);
    for (a, b) in reference.iter().zip(heard) {
        let a = a.as_ref();
        assert!(
            b.len() + 4096 > a.len(),
            "{} frames of {}",
            b.len(),
            a.len()
        );
        for (a, b) in a.iter().zip(&b[delay..]) {
            let (a, apart) = (f64::from(*a), f64::from(a - b));
            most = most.max(apart.abs());
            peak = peak.max(a.abs());
            error += apart * apart;
            power += a * a;
        }
    }
    match measure {
        Measure::Peak => 20.0 * (most / peak).log10(),
        Measure::Power => 10.0 * (error / power).log10(),
    }
}

/// The number after a word in what a script said.
pub fn told(said: &str, word: &str) -> usize {
    let line = said.lines().find_map(|line| line.strip_prefix(word));
    let number = line.and_then(|rest| rest.trim().parse::<f64>().ok());
    number.unwrap_or_else(|| panic!("no {word} in:\n{said}")) as usize
}
