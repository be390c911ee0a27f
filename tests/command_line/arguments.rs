//! The program from outside: help on every word, and exit codes that scripts can rely on.

use std::process::{Command, Output};

const WORDS: [&str; 6] = ["check", "voltages", "curve", "render", "compare", "match"];

fn presolder(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_presolder"))
        .args(arguments)
        .output()
        .unwrap()
}

#[test]
fn help_names_every_word_the_exit_codes_and_the_danger() {
    let output = presolder(&["--help"]);
    assert_eq!(output.status.code(), Some(0));
    let text = String::from_utf8(output.stdout).unwrap();
    for word in WORDS {
        assert!(text.contains(word), "{word}");
    }
    assert!(text.contains("Exit codes") && text.contains("never work on a live chassis"));
}

#[test]
fn each_word_has_examples_and_json_and_takes_changes() {
    for word in WORDS {
        let output = presolder(&[word, "--help"]);
        assert_eq!(output.status.code(), Some(0));
        let text = String::from_utf8(output.stdout).unwrap();
        for expected in ["Examples:", "--json", "--set", "--control", "--proposal"] {
            assert!(text.contains(expected), "{word}: {expected}");
        }
        assert!(text.contains(&format!("presolder {word} ")), "{word}");
    }
}

#[test]
fn what_is_not_understood_ends_with_two() {
    let lines: [&[&str]; 6] = [
        &[],
        &["solder"],
        &["voltages"],
        &["curve", "amp.toml", "--set", "R14"],
        &["render", "amp.toml", "in.wav"],
        &[
            "render",
            "amp.toml",
            "in.wav",
            "out.wav",
            "--full-scale-dbu",
            "loud",
        ],
    ];
    for line in lines {
        let output = presolder(line);
        assert_eq!(output.status.code(), Some(2), "{line:?}");
        assert!(output.stdout.is_empty() && !output.stderr.is_empty());
    }
}
