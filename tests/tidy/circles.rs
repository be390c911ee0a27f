//! Circles of files: files of the library that need each other, straight or through others.
//!
//! A file needs the file that defines what it names; a name that a `mod.rs` only hands on
//! (`pub use`) counts as the file's that it comes from, and handing on is no need. What only a
//! file's own tests name does not count.

use crate::paths::{
    Import, Module, absolute, imports_and_rest, module_of_file, paths_in, without_tests, words_in,
};
use crate::source::{Source, code_of};
use std::collections::{BTreeMap, BTreeSet};

/// One file of the library, read.
struct Room {
    path: String,
    imports: Vec<Import>,
    paths: Vec<Vec<String>>,
    words: BTreeSet<String>,
}

/// Every circle, as its files in order.
pub fn circles(sources: &[Source]) -> Vec<Vec<String>> {
    let rooms: BTreeMap<Module, Room> = sources
        .iter()
        .filter_map(|source| Some((module_of_file(&source.path)?, room(source))))
        .collect();
    let needs: BTreeMap<Module, BTreeSet<Module>> = rooms
        .keys()
        .map(|module| (module.clone(), needs_of(module, &rooms)))
        .collect();
    let mut found: Vec<Vec<String>> = Vec::new();
    let mut seen = BTreeSet::new();
    for module in rooms.keys() {
        let circle: Vec<&Module> = reached_from(module, &needs)
            .into_iter()
            .filter(|other| reached_from(other, &needs).contains(module))
            .collect();
        if !circle.is_empty() && seen.insert(circle.clone()) {
            found.push(circle.iter().map(|m| rooms[*m].path.clone()).collect());
        }
    }
    found
}

fn room(source: &Source) -> Room {
    let code = without_tests(&code_of(&source.text));
    let (imports, rest) = imports_and_rest(&code);
    Room {
        path: source.path.clone(),
        paths: paths_in(&rest),
        words: words_in(&rest).map(str::to_string).collect(),
        imports,
    }
}

/// The modules that a file needs.
fn needs_of(module: &Module, rooms: &BTreeMap<Module, Room>) -> BTreeSet<Module> {
    let room = &rooms[module];
    let mut needs = BTreeSet::new();
    for import in &room.imports {
        // Handing on is no need; using what is handed on is one.
        if import.handed_on && !room.words.contains(&import.name) {
            continue;
        }
        if let Some(path) = absolute_in(&import.path, module, rooms) {
            // A module in scope is needed for what is named through it.
            if !rooms.contains_key(&path) {
                needs.extend(definer(&path, rooms));
            }
        }
    }
    for path in &room.paths {
        if let Some(path) = absolute_in(path, module, rooms) {
            needs.extend(definer(&path, rooms));
        }
    }
    needs.remove(module);
    needs.remove(&Module::new());
    needs
}

/// A path as written in a module, from the root.
fn absolute_in(
    written: &[String],
    module: &Module,
    rooms: &BTreeMap<Module, Room>,
) -> Option<Vec<String>> {
    let in_scope = |name: &str| {
        let child: Module = module.iter().cloned().chain([name.to_string()]).collect();
        if rooms.contains_key(&child) {
            return Some(child);
        }
        // A name that a `use` brings; what another crate brings stays unknown.
        let import = rooms[module].imports.iter().find(|i| i.name == name)?;
        absolute(&import.path, module, &|first| {
            let child: Module = module.iter().cloned().chain([first.to_string()]).collect();
            rooms.contains_key(&child).then_some(child)
        })
    };
    absolute(written, module, &in_scope)
}

/// The module that defines what a path names, through what modules hand on.
fn definer(path: &[String], rooms: &BTreeMap<Module, Room>) -> Option<Module> {
    let mut path = path.to_vec();
    // As many steps as names are handed on; a circle of them does not compile.
    for _ in 0..16 {
        let length = (0..=path.len())
            .rev()
            .find(|&n| rooms.contains_key(&path[..n]))?;
        let module: Module = path[..length].to_vec();
        let Some(name) = path.get(length) else {
            return Some(module);
        };
        let handed_on = |i: &&Import| i.handed_on && i.name == *name;
        let Some(import) = rooms[&module].imports.iter().find(handed_on) else {
            return Some(module);
        };
        let Some(mut target) = absolute_in(&import.path, &module, rooms) else {
            return Some(module);
        };
        target.extend_from_slice(&path[length + 1..]);
        path = target;
    }
    None
}

/// Everything that a module needs, straight or through others.
fn reached_from<'a>(
    module: &Module,
    needs: &'a BTreeMap<Module, BTreeSet<Module>>,
) -> BTreeSet<&'a Module> {
    let mut reached = BTreeSet::new();
    let mut next: Vec<&Module> = needs[module].iter().collect();
    while let Some(one) = next.pop() {
        if reached.insert(one) {
            next.extend(needs[one].iter());
        }
    }
    reached
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::source;

    fn circles_of(files: &[(&str, &str)]) -> Vec<Vec<String>> {
        let sources: Vec<Source> = files
            .iter()
            .map(|(path, text)| source(path, text))
            .collect();
        circles(&sources)
    }

    #[test]
    fn a_child_that_needs_its_parent_makes_a_circle() {
        let parent = "mod child;\npub struct Limit;\npub fn f() { child::g() }";
        let found = circles_of(&[
            ("src/a/mod.rs", parent),
            ("src/a/child.rs", "use super::Limit;\npub fn g() {}"),
        ]);
        assert_eq!(found, [["src/a/mod.rs", "src/a/child.rs"]]);
        let imported = "mod child;\nuse child::{g as h};\npub struct Limit;\npub fn f() { h() }";
        let found = circles_of(&[
            ("src/a/mod.rs", imported),
            ("src/a/child.rs", "pub fn g() { super::Limit::new() }"),
        ]);
        assert_eq!(found.len(), 1);
    }

    #[test]
    fn circles_over_three_files_and_through_names_handed_on_are_seen() {
        let found = circles_of(&[
            ("src/a.rs", "use crate::b::B;"),
            ("src/b/mod.rs", "mod inner;\npub use inner::B;"),
            (
                "src/b/inner.rs",
                "use crate::{c::{self, D}, x};\nfn f() { c::g() }",
            ),
            ("src/c.rs", "pub fn g() { crate::a::h() }"),
        ]);
        assert_eq!(found, [["src/a.rs", "src/b/inner.rs", "src/c.rs"]]);
    }

    #[test]
    fn what_is_handed_on_and_what_tests_name_is_no_circle() {
        let found = circles_of(&[
            (
                "src/a/mod.rs",
                "mod limit;\nmod child;\npub use limit::Limit;\npub use child::g;",
            ),
            ("src/a/limit.rs", "pub struct Limit;"),
            ("src/a/child.rs", "use super::Limit;\npub fn g() {}"),
            (
                "src/b.rs",
                "use std::fmt;\npub struct B;\n#[cfg(test)]\nmod tests { use crate::c::C; fn f() { fmt::x() } }",
            ),
            (
                "src/c.rs",
                "use crate::b::B; // crate::a\nconst A: &str = \"crate::c\";",
            ),
        ]);
        assert_eq!(found, Vec::<Vec<String>>::new());
        // A module that is named as what it holds is declared, not used.
        let found = circles_of(&[
            (
                "src/a/mod.rs",
                "mod edit;\npub use edit::edit;\npub struct L;",
            ),
            ("src/a/edit.rs", "use super::L;\npub fn edit() {}"),
        ]);
        assert_eq!(found, Vec::<Vec<String>>::new());
        // As soon as the parent uses what it hands on, it needs the child.
        let found = circles_of(&[
            (
                "src/a/mod.rs",
                "mod child;\npub use child::g;\npub struct L;\nfn f() { g() }",
            ),
            ("src/a/child.rs", "use super::L;\npub fn g() {}"),
        ]);
        assert_eq!(found.len(), 1);
    }
}
