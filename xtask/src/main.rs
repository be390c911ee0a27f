//! `cargo xtask`: the project's chores.

fn main() {}
