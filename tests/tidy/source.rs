//! Sources as text: finds them, and blanks what is no code.

use std::fs;
use std::path::{Path, PathBuf};

/// One source file: its path from the top with forward slashes, and its text.
pub struct Source {
    pub path: String,
    pub text: String,
}

pub fn source(path: &str, text: &str) -> Source {
    Source {
        path: path.into(),
        text: text.into(),
    }
}

pub fn top() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Every `.rs` file below the given folders.
pub fn sources() -> Vec<Source> {
    let mut found = Vec::new();
    for folder in ["src", "xtask", "tests"] {
        collect(&top().join(folder), &mut found);
    }
    assert!(found.len() > 10, "the sources were not found");
    found
}

fn collect(folder: &Path, found: &mut Vec<Source>) {
    let Ok(entries) = fs::read_dir(folder) else {
        return;
    };
    for path in entries.map(|e| e.unwrap().path()) {
        if path.is_dir() && path.file_name().is_some_and(|n| n != "target") {
            collect(&path, found);
        } else if path.extension().is_some_and(|e| e == "rs") {
            let relative = path.strip_prefix(top()).unwrap();
            found.push(Source {
                path: relative.to_string_lossy().replace('\\', "/"),
                text: fs::read_to_string(&path).unwrap(),
            });
        }
    }
}

/// The text with comments, strings and character literals blanked, line breaks kept.
pub fn code_of(text: &str) -> String {
    let chars: Vec<char> = text.chars().collect();
    let mut code = String::with_capacity(text.len());
    let mut i = 0;
    let blank = |code: &mut String, from: usize, to: usize| {
        for &c in &chars[from..to.min(chars.len())] {
            code.push(if c == '\n' { '\n' } else { ' ' });
        }
    };
    while i < chars.len() {
        let rest = &chars[i..];
        let end = match rest {
            ['/', '/', ..] => i + rest.iter().position(|&c| c == '\n').unwrap_or(rest.len()),
            ['/', '*', ..] => i + end_of_block_comment(rest),
            ['"', ..] => i + end_of_string(rest),
            ['r', '"' | '#', ..] if !follows_a_word(&chars, i) => match end_of_raw_string(rest) {
                Some(length) => i + length,
                None => i,
            },
            ['\'', '\\', ..] => i + 3 + rest[3..].iter().position(|&c| c == '\'').unwrap_or(0) + 1,
            ['\'', _, '\'', ..] => i + 3,
            _ => i,
        };
        if end > i {
            blank(&mut code, i, end);
            i = end;
        } else {
            code.push(chars[i]);
            i += 1;
        }
    }
    code
}

fn follows_a_word(chars: &[char], i: usize) -> bool {
    i > 0 && (chars[i - 1].is_alphanumeric() || chars[i - 1] == '_')
}

fn end_of_block_comment(rest: &[char]) -> usize {
    let mut depth = 0;
    let mut i = 0;
    while i < rest.len() {
        match rest[i..] {
            ['/', '*', ..] => {
                depth += 1;
                i += 2;
            }
            ['*', '/', ..] => {
                depth -= 1;
                i += 2;
                if depth == 0 {
                    return i;
                }
            }
            _ => i += 1,
        }
    }
    rest.len()
}

fn end_of_string(rest: &[char]) -> usize {
    let mut i = 1;
    while i < rest.len() {
        match rest[i] {
            '\\' => i += 2,
            '"' => return i + 1,
            _ => i += 1,
        }
    }
    rest.len()
}

fn end_of_raw_string(rest: &[char]) -> Option<usize> {
    let hashes = rest[1..].iter().take_while(|&&c| c == '#').count();
    let start = 1 + hashes;
    if rest.get(start) != Some(&'"') {
        return None;
    }
    let closing: Vec<char> = std::iter::once('"')
        .chain(std::iter::repeat_n('#', hashes))
        .collect();
    let body = &rest[start + 1..];
    let length = body
        .windows(closing.len())
        .position(|w| w == closing)
        .unwrap_or(body.len());
    Some(start + 1 + length + closing.len())
}
