//! Real hosts, which run as programs of their own: whether they are there, and how they are started.

use std::path::PathBuf;

/// A script of `tests/hosts/`.
pub fn script(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("tests/hosts")
        .join(name)
}
