//! Where the checkout lies, whichever package's test asks.

use std::path::{Path, PathBuf};

/// The folder that holds `presets/` and `tests/`.
pub fn top() -> PathBuf {
    let package = Path::new(env!("CARGO_MANIFEST_DIR"));
    let top = package
        .ancestors()
        .find(|folder| folder.join("presets").is_dir());
    top.expect("a package within the checkout").to_owned()
}
