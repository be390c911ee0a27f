//! Paths in Rust code: which items of the crate a file names, as absolute paths. Takes code whose
//! comments and strings are blanked; knows `use` trees, `crate::`, `super::`, `self::`, and paths
//! that begin with a module that is in scope.

/// A module of the library, from the crate's root: `["units", "marking"]`.
pub type Module = Vec<String>;

/// One name that a `use` brings into scope.
#[derive(Clone, Debug, PartialEq)]
pub struct Import {
    /// Its segments as written, such as `["super", "limit", "Limit"]`.
    pub path: Vec<String>,
    /// The name that it has in the file.
    pub name: String,
    /// Whether it is handed on (`pub use`, in any form).
    pub handed_on: bool,
}

/// A source file's path from where its room stands: the engine's rooms are a package of their own, whose
/// names are the same above it.
pub fn below_sources(path: &str) -> Option<&str> {
    path.strip_prefix("src/engine/")
        .or_else(|| path.strip_prefix("src/"))
}

/// The module that a file below `src/` is; none for the files that are no modules.
pub fn module_of_file(path: &str) -> Option<Module> {
    let below = below_sources(path)?.strip_suffix(".rs")?;
    let mut parts: Module = below.split('/').map(str::to_string).collect();
    match parts.last().map(String::as_str) {
        Some("main") => return None,
        Some("mod" | "lib") => drop(parts.pop()),
        _ => {}
    }
    Some(parts)
}

/// The code without what only its own tests see: items behind `#[cfg(test)]`.
pub fn without_tests(code: &str) -> String {
    let mut rest = code;
    let mut kept = String::new();
    while let Some(start) = rest.find("#[cfg(test)]") {
        kept += &rest[..start];
        let item = &rest[start..];
        let brace = item.find('{').unwrap_or(item.len());
        let semicolon = item.find(';').unwrap_or(item.len());
        let end = match brace < semicolon {
            true => brace + end_of_braces(&item[brace..]),
            false => (semicolon + 1).min(item.len()),
        };
        rest = &item[end..];
    }
    kept + rest
}

/// Length of a text from its opening brace to the one that closes it.
fn end_of_braces(text: &str) -> usize {
    let mut depth = 0;
    for (at, c) in text.char_indices() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            _ => {}
        }
        if depth == 0 {
            return at + 1;
        }
    }
    text.len()
}

/// The `use` declarations of a file, and its code without them.
pub fn imports_and_rest(code: &str) -> (Vec<Import>, String) {
    let mut imports = Vec::new();
    let mut rest = String::new();
    for statement in code.split_inclusive(';') {
        match use_of(statement) {
            Some((before, tree, handed_on)) => {
                rest += before;
                let mut found = Vec::new();
                expand(&[], tree.trim(), &mut found);
                imports.extend(found.into_iter().map(|(path, name)| Import {
                    path,
                    name,
                    handed_on,
                }));
            }
            None => rest += statement,
        }
    }
    (imports, rest)
}

/// A statement that ends in a `use`: what stands before it, its tree, and whether it is handed on.
fn use_of(statement: &str) -> Option<(&str, &str, bool)> {
    let body = statement.strip_suffix(';')?;
    let at = body.rfind("use ").filter(|&at| {
        let before = body[..at].chars().next_back();
        before.is_none_or(|c| c.is_whitespace() || c == '}' || c == ')')
    })?;
    let tree = &body[at + 4..];
    let looks_like_a_path = tree
        .chars()
        .all(|c| c.is_alphanumeric() || c.is_whitespace() || "_:{},*".contains(c));
    if !looks_like_a_path {
        return None;
    }
    let line = body[..at].rfind(['\n', '}', ';']).map_or(0, |i| i + 1);
    let handed_on = body[line..at].trim_start().starts_with("pub");
    Some((&body[..line], tree, handed_on))
}

/// Every path of a `use` tree, with the name that it gets.
fn expand(prefix: &[String], tree: &str, found: &mut Vec<(Vec<String>, String)>) {
    if let Some(open) = tree.find('{') {
        let mut path = prefix.to_vec();
        path.extend(segments(&tree[..open]));
        for part in parts_of_group(&tree[open + 1..open + 1 + body_length(&tree[open..])]) {
            expand(&path, part.trim(), found);
        }
        return;
    }
    let (path_text, renamed) = match tree.split_once(" as ") {
        Some((path, name)) => (path, Some(name.trim().to_string())),
        None => (tree, None),
    };
    let mut path = prefix.to_vec();
    path.extend(segments(path_text));
    if path.last().is_some_and(|last| last == "self") {
        path.pop();
    }
    if let Some(last) = path.last().cloned() {
        found.push((path, renamed.unwrap_or(last)));
    }
}

/// Length of what stands between an opening brace and the one that closes it.
fn body_length(from_brace: &str) -> usize {
    end_of_braces(from_brace).saturating_sub(2)
}

fn parts_of_group(body: &str) -> Vec<&str> {
    let mut parts = Vec::new();
    let (mut depth, mut start) = (0, 0);
    for (at, c) in body.char_indices() {
        match c {
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => {
                parts.push(&body[start..at]);
                start = at + 1;
            }
            _ => {}
        }
    }
    parts.push(&body[start..]);
    parts.retain(|part| !part.trim().is_empty());
    parts
}

fn segments(path: &str) -> impl Iterator<Item = String> + '_ {
    let names = path.split("::").map(str::trim);
    names.filter(|name| !name.is_empty()).map(str::to_string)
}

/// The paths of two segments or more in code without `use`, as written: `super::a::B`, `words::all`.
pub fn paths_in(code: &str) -> Vec<Vec<String>> {
    let squeezed = squeeze(code);
    let mut paths = Vec::new();
    let bytes = squeezed.as_bytes();
    let is_name = |c: u8| c.is_ascii_alphanumeric() || c == b'_';
    let mut at = 0;
    while at < bytes.len() {
        if !is_name(bytes[at]) {
            at += 1;
            continue;
        }
        let start = at;
        while at < bytes.len() && (is_name(bytes[at]) || squeezed[at..].starts_with("::")) {
            at += if is_name(bytes[at]) { 1 } else { 2 };
        }
        let text = squeezed[start..at].trim_end_matches("::");
        let follows_a_path = squeezed[..start].ends_with("::");
        if text.contains("::") && !follows_a_path {
            paths.push(segments(text).collect());
        }
    }
    paths
}

/// The words of code, but for the names of modules where they are declared: `mod edit;` uses no
/// `edit`.
pub fn words_in(code: &str) -> impl Iterator<Item = &str> {
    let mut before = "";
    code.split(|c: char| !(c.is_alphanumeric() || c == '_'))
        .filter(|word| !word.is_empty())
        .filter(move |word| std::mem::replace(&mut before, *word) != "mod")
}

/// Without the white space about `::`.
fn squeeze(code: &str) -> String {
    let pieces: Vec<&str> = code.split("::").map(str::trim).collect();
    pieces.join("::")
}

/// An absolute path from one that is written in a module; none for paths of other crates.
/// `in_scope` gives what a first name stands for that is no keyword.
pub fn absolute(
    written: &[String],
    module: &[String],
    in_scope: &dyn Fn(&str) -> Option<Vec<String>>,
) -> Option<Vec<String>> {
    let (first, rest) = written.split_first()?;
    let mut base: Vec<String> = match first.as_str() {
        "crate" => Vec::new(),
        "self" => module.to_vec(),
        "super" => module[..module.len().saturating_sub(1)].to_vec(),
        name => in_scope(name)?,
    };
    for segment in rest {
        match segment.as_str() {
            "super" => drop(base.pop()),
            "self" => {}
            name => base.push(name.to_string()),
        }
    }
    Some(base)
}
