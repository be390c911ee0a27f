//! `cargo xtask tidy`: the house rules of `tests/tidy`, built by the compiler alone and checked within
//! seconds, before anything else is built.

use std::process::Command;

/// Builds the rules' program and runs it on the checkout.
///
/// # Errors
/// When it cannot be built, or a rule is broken; the program says which.
pub fn run(arguments: &[String]) -> Result<(), String> {
    if let Some(other) = arguments.first() {
        return Err(format!("takes no arguments, but got '{other}'"));
    }
    let top = std::path::absolute(crate::top()).map_err(|e| format!("no folder to check: {e}"))?;
    let target = crate::target();
    std::fs::create_dir_all(&target).map_err(|e| format!("{}: {e}", target.display()))?;
    let program = target.join(format!("tidy{}", std::env::consts::EXE_SUFFIX));
    let compiler = std::env::var_os("RUSTC").unwrap_or_else(|| "rustc".into());
    let built = Command::new(compiler)
        .args(["--edition", "2024", "--test", "-C", "opt-level=2", "-o"])
        .arg(&program)
        .arg(top.join("tests/tidy/main.rs"))
        .env("CARGO_MANIFEST_DIR", &top)
        .status();
    if !built.is_ok_and(|status| status.success()) {
        return Err("the rules in tests/tidy cannot be built".into());
    }
    let kept = Command::new(&program).arg("--quiet").status();
    match kept.is_ok_and(|status| status.success()) {
        true => Ok(()),
        false => Err("a house rule is broken; it is named above".into()),
    }
}
