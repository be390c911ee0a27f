//! Functions that are too long to be read at once.

use crate::source::{Source, code_of};

/// A line for every function of a file that has more lines than allowed, from `fn` to its brace.
pub fn longer_than(file: &Source, most: usize) -> Vec<String> {
    let code = code_of(&file.text);
    let lines: Vec<&str> = code.lines().collect();
    let mut faults = Vec::new();
    for (start, line) in lines.iter().enumerate() {
        let Some(name) = name_of_function(line) else {
            continue;
        };
        let length = lines_of_function(&lines[start..]);
        if length > most {
            faults.push(format!(
                "{}:{}: {name} has {length} lines, at most {most}",
                file.path,
                start + 1
            ));
        }
    }
    faults
}

fn name_of_function(line: &str) -> Option<&str> {
    let words: Vec<&str> = line.split_whitespace().collect();
    let at = words.iter().position(|word| *word == "fn")?;
    let qualifiers = words[..at].iter().all(|word| {
        word.starts_with("pub") || matches!(*word, "const" | "unsafe" | "async" | "extern" | "in")
    });
    let name = words.get(at + 1)?.split(['(', '<']).next()?;
    (qualifiers && !name.is_empty()).then_some(name)
}

/// Lines from the first one to the brace that closes the body; 1 where there is no body.
fn lines_of_function(lines: &[&str]) -> usize {
    let mut depth = 0;
    let mut opened = false;
    for (index, line) in lines.iter().enumerate() {
        for c in line.chars() {
            match c {
                '{' => {
                    depth += 1;
                    opened = true;
                }
                '}' => depth -= 1,
                ';' if !opened && depth == 0 && !line.contains('[') => return 1,
                _ => {}
            }
        }
        if opened && depth == 0 {
            return index + 1;
        }
    }
    lines.len()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::source::source;

    #[test]
    fn a_long_function_is_found_and_a_short_one_is_not() {
        let body = "    f();\n".repeat(9);
        let text = format!(
            "trait T {{ fn a(); }}\npub(crate) const fn long() {{\n{body}}}\nfn g() {{}}\n"
        );
        let found = longer_than(&source("src/a.rs", &text), 10);
        assert_eq!(found, ["src/a.rs:2: long has 11 lines, at most 10"]);
        assert_eq!(
            longer_than(&source("src/a.rs", &text), 11),
            Vec::<String>::new()
        );
    }
}
