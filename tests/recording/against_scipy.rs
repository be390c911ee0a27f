//! Transfer function and coherence against the Python package `scipy`, on the same files. Skipped
//! where the package is not installed; `cargo xtask test` installs it.

use crate::fixture::*;
use engine::recording::with_dry_track;
use hound::{SampleFormat, WavSpec, WavWriter};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The interpreter that has the package: the one that the environment names, the one that the chore
/// has made, or any.
fn interpreter() -> Result<PathBuf, String> {
    let target = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).with_file_name("python");
    let within = if cfg!(windows) {
        "Scripts/python.exe"
    } else {
        "bin/python"
    };
    let candidates = [
        std::env::var_os("PRESOLDER_PYTHON").map(PathBuf::from),
        Some(target.join(within)),
        Some("python3".into()),
    ];
    let has = |python: &PathBuf| {
        let mut command = Command::new(python);
        command.args(["-c", "import scipy.signal, scipy.io.wavfile"]);
        command.stderr(Stdio::null());
        command.status().is_ok_and(|status| status.success())
    };
    let found = candidates.into_iter().flatten().find(has);
    found.ok_or_else(|| "the Python package scipy is not installed".into())
}

fn write(path: &Path, samples: &[f32]) {
    let spec = WavSpec {
        channels: 1,
        sample_rate: RATE,
        bits_per_sample: 32,
        sample_format: SampleFormat::Float,
    };
    let mut writer = WavWriter::create(path, spec).expect("a file");
    for &sample in samples {
        writer.write_sample(sample).expect("written");
    }
    writer.finalize().expect("written");
}

/// Level and coherence at each frequency.
fn by_scipy(python: &Path, folder: &Path, later: i64, length: usize, hz: &[f64]) -> Vec<[f64; 2]> {
    let script = crate::top::top().join("tests/hosts/recording_scipy.py");
    let mut child = Command::new(python)
        .arg(script)
        .args([folder.join("dry.wav"), folder.join("amp.wav")])
        .args([later.to_string(), length.to_string()])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("it starts");
    let asked: Vec<String> = hz.iter().map(f64::to_string).collect();
    let mut to = child.stdin.take().expect("a pipe");
    to.write_all(asked.join(" ").as_bytes()).expect("written");
    drop(to);
    let output = child.wait_with_output().expect("it ends");
    assert!(output.status.success());
    let text = String::from_utf8(output.stdout).expect("text");
    let row = |line: &str| {
        let words: Vec<f64> = line
            .split(' ')
            .map(|w| w.parse().expect("a number"))
            .collect();
        [words[0], words[1]]
    };
    text.lines().map(row).collect()
}

/// Sounds without pauses, so that all windows are used, as scipy uses them. The bound: our samples are
/// rounded to single precision once more when their mean is taken away, noise at 2⁻²⁵ of the sample;
/// in the band where the recording is weakest, 80 dB below its level, that is 3e-4 of it, 0.003 dB.
#[test]
fn levels_and_coherence_are_those_of_scipy() {
    let python = match interpreter() {
        Ok(python) => python,
        Err(reason) => {
            crate::absent::absent(&reason);
            return;
        }
    };
    let frames = 10 * RATE as usize;
    let white: Vec<f64> = noise(61, frames).iter().map(|s| 0.1 * s).collect();
    let phrase = guitar(RATE, 2);
    let played: Vec<f64> = phrase
        .iter()
        .zip(&white)
        .map(|(s, n)| s + 0.05 * n)
        .collect();
    for (name, dry) in [("noise", &white), ("guitar", &played)] {
        let heard = later(&through(&amp(RATE), dry), 144.0);
        let level = rms(&heard);
        let hiss = noise(62, heard.len());
        let recording: Vec<f64> = heard
            .iter()
            .zip(&hiss)
            .map(|(s, n)| s + 0.1 * level * n)
            .collect();
        let folder = tempfile::tempdir().expect("a folder");
        let [dry, recording] = [single(dry), single(&recording)];
        write(&folder.path().join("dry.wav"), &dry);
        write(&folder.path().join("amp.wav"), &recording);
        let target = with_dry_track(
            &sound("amp.wav", RATE, &[&recording]),
            &sound("dry.wav", RATE, &[&dry]),
        )
        .unwrap();
        assert!(target.quiet.is_none());
        let later = (target.delay_seconds.unwrap() * f64::from(RATE)).round() as i64;
        let scipy = by_scipy(&python, folder.path(), later, 8192, &target.hz);
        assert_eq!(scipy.len(), target.hz.len());
        let coherence = target.coherence.as_ref().unwrap();
        let mut most = [0f64; 2];
        let mut count = 0;
        for (i, [db, share]) in scipy.into_iter().enumerate() {
            most[1] = most[1].max((coherence[i] - share.clamp(0.0, 1.0)).abs());
            if target.trusted[i] {
                most[0] = most[0].max((target.db[i] + target.gain_db - db).abs());
                count += 1;
            }
        }
        println!(
            "{name}: levels within {:.1e} dB at {count} frequencies, coherence within {:.1e}",
            most[0], most[1]
        );
        assert!(count > 50);
        assert!(most[0] < 0.003 && most[1] < 1e-3, "{most:?}");
    }
}
