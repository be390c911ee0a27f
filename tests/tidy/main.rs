//! Tidiness: keeps the building's shape. Reads the sources as text and checks that imports point
//! down only, that every file opens with its purpose and stays short, that `unsafe` and the top
//! level hold nothing but what is listed here; that no files need each other in a circle, and that
//! functions stay short. Each rule has a test that shows it can fail.
//!
//! Needs nothing of the library: `rustc --test tests/tidy/main.rs` builds it within seconds.

mod circles;
mod functions;
mod paths;
mod source;

use source::{Source, code_of, source, sources, top};
use std::fs;

/// The modules of the two libraries, `engine` and what stands on it, by floor, the lowest first; `lib` and
/// `main` stand above all.
const FLOORS: &[&[&str]] = &[
    &["units", "numeric", "text", "files", "fourier"],
    &["device", "sound"],
    &["circuit"],
    &["network", "drawing"],
    &["solve", "realtime"],
    &["live", "picture"],
    &["analysis"],
    &["advice"],
    &["recording"],
    &["job_sheet"],
    &["requests"],
    &["command_line", "editor"],
    &["plugin"],
    &["main", "lib"],
];

/// What must not be written in the real-time floor: it would wait for a file, a lock or a terminal.
const NOT_IN_REALTIME: &[&str] = &["std::fs", "Mutex", "RwLock", "println!", "print!", "dbg!"];

/// The only files that may hold the word `unsafe`.
const MAY_BE_UNSAFE: &[&str] = &[
    "src/engine/numeric/sparse/kernel.rs",
    "src/engine/realtime/dispatch.rs",
    "src/engine/realtime/wide.rs",
    "src/plugin/closing.rs",
    "src/plugin/entry/clap.rs",
    "src/plugin/entry/clap_names.rs",
    "src/plugin/entry/fence.rs",
    "src/plugin/entry/vst3.rs",
    "src/plugin/entry/vst3_instance.rs",
    "src/plugin/entry/vst3_names.rs",
    "src/plugin/entry/vst3_view.rs",
    "src/plugin/host_param.rs",
    "src/plugin/param_map.rs",
    "tests/host/fixture/clap.rs",
    "tests/host/fixture/clap_window.rs",
    "tests/host/fixture/vst3.rs",
    "tests/host/fixture/vst3_names.rs",
    "tests/host/fixture/vst3_view.rs",
    "tests/host/times.rs",
];

/// The longest file, in lines.
const LONGEST: usize = 400;

/// The longest function, in lines.
const LONGEST_FUNCTION: usize = 100;

/// All that may lie at the top of the checkout.
const TOP_LEVEL: &[&str] = &[
    "Cargo.toml",
    "Cargo.lock",
    "README.md",
    "DEVELOPERS.md",
    "LICENSE",
    "src",
    "xtask",
    "tests",
    "presets",
    ".gitignore",
    ".cargo",
    ".config",
    ".ci",
    ".git",
    "target",
    "demo",
];

/// The rooms of the library that a file reaches, straight from `use` or by a path in its code.
fn reached(path: &str, code: &str) -> Vec<String> {
    let module = paths::module_of_file(path).unwrap_or_default();
    let (imports, rest) = paths::imports_and_rest(code);
    let written = imports.into_iter().map(|import| import.path);
    let mut rooms: Vec<String> = written
        .chain(paths::paths_in(&rest))
        .filter_map(|path| {
            paths::absolute(&path, &module, &|_| None)?
                .into_iter()
                .next()
        })
        .filter(|room| floor_of(room).is_some())
        .collect();
    rooms.sort();
    rooms.dedup();
    rooms
}

fn floor_of(module: &str) -> Option<usize> {
    FLOORS.iter().position(|floor| floor.contains(&module))
}

/// The module of the library that a path belongs to.
fn module_of(path: &str) -> Option<&str> {
    let below = paths::below_sources(path)?;
    Some(below.split('/').next()?.trim_end_matches(".rs"))
}

fn floor_faults(file: &Source) -> Vec<String> {
    let Some(module) = module_of(&file.path) else {
        return Vec::new();
    };
    let Some(floor) = floor_of(module) else {
        return vec![format!("{}: module {module} has no floor", file.path)];
    };
    let code = code_of(&file.text);
    let mut faults: Vec<String> = reached(&file.path, &code)
        .into_iter()
        .filter(|name| name != module && floor_of(name).is_some_and(|f| f >= floor))
        .map(|name| format!("{}: floor {floor} imports {name}", file.path))
        .collect();
    if module == "realtime" {
        for word in NOT_IN_REALTIME.iter().filter(|word| code.contains(*word)) {
            faults.push(format!("{}: {word} in the real-time floor", file.path));
        }
    }
    if code.contains("super::super") {
        faults.push(format!("{}: super::super hides a floor", file.path));
    }
    faults
}

fn file_faults(file: &Source) -> Vec<String> {
    let mut faults = Vec::new();
    if !file.text.starts_with("//! ") {
        faults.push(format!("{}: does not open with //!", file.path));
    }
    let lines = file.text.lines().count();
    if lines > LONGEST {
        faults.push(format!("{}: {lines} lines, at most {LONGEST}", file.path));
    }
    let mut words = code_of(&file.text)
        .split(|c: char| !(c.is_alphanumeric() || c == '_'))
        .map(str::to_string)
        .collect::<Vec<_>>()
        .into_iter();
    if words.any(|w| w == "unsafe") && !MAY_BE_UNSAFE.contains(&file.path.as_str()) {
        faults.push(format!("{}: unsafe", file.path));
    }
    faults
}

/// Files `a.rs` beside a folder `a/`: one style of module files is `a/mod.rs`.
fn files_beside_their_folders(sources: &[Source]) -> Vec<String> {
    let mut faults = Vec::new();
    for file in sources {
        let folder = file.path.trim_end_matches(".rs").to_string() + "/";
        // Test programs and binaries are no modules: their folders hold what they share.
        let module = file.path.starts_with("src/") || file.path.starts_with("xtask/");
        if module && sources.iter().any(|other| other.path.starts_with(&folder)) {
            faults.push(format!("{}: belongs into {folder}mod.rs", file.path));
        }
    }
    faults
}

fn stray_entries(names: &[String]) -> Vec<String> {
    let stray = names.iter().filter(|n| !TOP_LEVEL.contains(&n.as_str()));
    stray.cloned().collect()
}

fn assert_none(faults: Vec<String>) {
    assert!(faults.is_empty(), "\n{}", faults.join("\n"));
}

#[test]
fn imports_point_down_only() {
    assert_none(sources().iter().flat_map(floor_faults).collect());
}

#[test]
fn files_open_with_their_purpose_and_stay_short_and_safe() {
    assert_none(sources().iter().flat_map(file_faults).collect());
}

#[test]
fn no_files_need_each_other_in_a_circle() {
    let found = circles::circles(&sources());
    assert_none(
        found
            .iter()
            .map(|c| format!("a circle of {}: {}", c.len(), c.join(", ")))
            .collect(),
    );
}

#[test]
fn functions_stay_short() {
    let long = |file: Source| functions::longer_than(&file, LONGEST_FUNCTION);
    assert_none(sources().into_iter().flat_map(long).collect());
}

#[test]
fn a_module_with_a_folder_has_its_file_inside() {
    assert_none(files_beside_their_folders(&sources()));
}

#[test]
fn nothing_stray_lies_at_the_top() {
    let names: Vec<String> = fs::read_dir(top())
        .unwrap()
        .map(|e| e.unwrap().file_name().to_string_lossy().into_owned())
        .collect();
    assert_none(stray_entries(&names));
}

#[test]
fn the_floor_rule_can_fail() {
    let faulty = [
        ("src/network/a.rs", "use crate::solve::Point;"),
        ("src/realtime/a.rs", "use crate::{network, solve::Point};"),
        ("src/solve/mod.rs", "let x = super::realtime::new();"),
        ("src/units.rs", "let x = crate::numeric::y();"),
        ("src/realtime/a.rs", "use std::sync::Mutex;"),
        ("src/realtime/a.rs", "fn f() { println!(\"x\") }"),
        ("src/realtime/a.rs", "use std::fs::File;"),
        ("src/device/a/b.rs", "use super::super::units;"),
        ("src/attic/mod.rs", "fn f() {}"),
        (
            "src/analysis/a.rs",
            "use crate::{\n  units,\n  command_line::run,\n};",
        ),
    ];
    for (path, text) in faulty {
        assert_eq!(floor_faults(&source(path, text)).len(), 1, "{path}: {text}");
    }
    let good = [
        (
            "src/solve/a.rs",
            "use crate::{network::{self, Row}, units};",
        ),
        ("src/solve/a.rs", "use crate::solve::b; use super::*;"),
        // A child of the room, not the room of that name.
        ("src/live/a.rs", "use super::recording::Track;"),
        (
            "src/network/a.rs",
            "// crate::solve uses this\nconst A: &str = \"crate::solve\";",
        ),
        (
            "src/network/a.rs",
            "/* crate::solve /* nested */ */ const A: &str = r#\"crate::solve\"#;",
        ),
        (
            "src/network/a.rs",
            "fn f<'a>(x: &'a str, c: char) -> bool { c == '\"' || c == '\\'' }",
        ),
        ("tests/a.rs", "use presolder::realtime;"),
    ];
    for (path, text) in good {
        assert_none(floor_faults(&source(path, text)));
    }
}

#[test]
fn the_file_rules_can_fail() {
    let long = "//! A file.\n".to_string() + &"\n".repeat(LONGEST);
    let faulty = [
        ("src/units.rs", "// A file.\n"),
        ("src/units.rs", "//! A file.\nunsafe fn f() {}\n"),
        ("src/units.rs", long.as_str()),
    ];
    for (path, text) in faulty {
        assert_eq!(file_faults(&source(path, text)).len(), 1, "{text}");
    }
    let listed = source(MAY_BE_UNSAFE[0], "//! A file.\nunsafe fn f() {}\n");
    assert_none(file_faults(&listed));
    let told = "//! A file that is not unsafe.\nconst A: &str = \"unsafe\"; // unsafe\n";
    assert_none(file_faults(&source("src/units.rs", told)));
}

#[test]
fn the_module_file_rule_can_fail() {
    let files = |paths: &[&str]| -> Vec<Source> { paths.iter().map(|p| source(p, "")).collect() };
    let faulty = files(&["src/a.rs", "src/a/b.rs", "src/ab.rs"]);
    assert_eq!(files_beside_their_folders(&faulty).len(), 1);
    assert_none(files_beside_their_folders(&files(&[
        "src/a/mod.rs",
        "src/a/b.rs",
    ])));
}

#[test]
fn the_top_level_rule_can_fail() {
    let names = ["src", "notes.txt"].map(String::from);
    assert_eq!(stray_entries(&names), ["notes.txt"]);
}
