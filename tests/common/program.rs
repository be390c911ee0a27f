//! Shared by the tests from outside: starts the built program, reads its JSON, writes WAV files.
#![allow(dead_code)]

use engine::sound::{
    Sound,
    wav::{self, Depth},
};
use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// A test circuit's path.
pub fn circuit(name: &str) -> String {
    format!("{}/tests/circuits/{name}.toml", env!("CARGO_MANIFEST_DIR"))
}

/// Runs the program.
pub fn presolder(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_presolder"))
        .args(arguments)
        .output()
        .expect("the program starts")
}

/// Runs the program and expects it to succeed; its standard output.
pub fn said(arguments: &[&str]) -> String {
    let output = presolder(arguments);
    let fault = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(0), "{arguments:?}: {fault}");
    String::from_utf8(output.stdout).expect("text")
}

/// Runs the program with `--json`.
pub fn json(arguments: &[&str]) -> Value {
    let text = said(&[arguments, &["--json"]].concat());
    serde_json::from_str(&text).expect("JSON")
}

/// Runs the program, expects it to fail with `code`; its message.
pub fn refused(arguments: &[&str], code: i32) -> String {
    let output = presolder(arguments);
    let message = String::from_utf8(output.stderr).expect("text");
    assert_eq!(output.status.code(), Some(code), "{arguments:?}: {message}");
    assert!(!message.is_empty() && !message.contains("panicked"));
    message
}

/// A number in a JSON answer.
pub fn number(value: &Value) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| panic!("{value} is no number"))
}

/// A list of numbers.
pub fn numbers(value: &Value) -> Vec<f64> {
    let list = value
        .as_array()
        .unwrap_or_else(|| panic!("{value} is no list"));
    list.iter().map(number).collect()
}

/// A folder with a recording in it; the path of the recording.
pub fn recording(folder: &Path, rate: u32, depth: Depth, channels: Vec<Vec<f32>>) -> PathBuf {
    let path = folder.join("in.wav");
    let sound = Sound {
        name: "in.wav".into(),
        rate,
        channels,
    };
    wav::write(&path, &sound, depth).expect("written");
    path
}

/// A path as an argument.
pub fn text(path: &Path) -> &str {
    path.to_str().expect("a path in Unicode")
}
