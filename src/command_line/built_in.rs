//! The amps and proposals that come with the program, by name.

/// A file that is part of the program: its name and its text.
pub type Embedded = (&'static str, &'static str);

/// Circuits of `presets/circuits/`, by the file's name without its ending.
pub const CIRCUITS: &[Embedded] = &[];

/// Proposals of `presets/proposals/`, likewise.
pub const PROPOSALS: &[Embedded] = &[];

/// The text of the file with this name, in any case.
pub fn find(list: &[Embedded], name: &str) -> Option<&'static str> {
    let found = list
        .iter()
        .find(|(known, _)| known.eq_ignore_ascii_case(name));
    found.map(|(_, text)| *text)
}
