//! `cargo xtask bundle`: builds the library and the program, and lays them out as hosts expect it:
//! a CLAP file, a VST3 folder and the program itself, in `target/bundled/`.

pub mod layout;

use crate::replace::replace;
use crate::steps::cargo;
use layout::{Content, Platform, System};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// What the library must hold for each format; a build that lost one would not be found by hosts.
const ENTRIES: &[&str] = &["clap_entry", "GetPluginFactory"];

/// What is bundled, and where to.
#[derive(Clone, Debug, PartialEq)]
pub struct Options {
    /// Cargo's profile.
    pub profile: String,
    /// Whether to build first, or take what was built last.
    pub build: bool,
    /// Where the bundles go; `bundled` in cargo's target folder if nothing is said.
    pub into: Option<PathBuf>,
}

impl Default for Options {
    fn default() -> Self {
        Options {
            profile: "release".into(),
            build: true,
            into: None,
        }
    }
}

/// Reads the chore's arguments and bundles.
///
/// # Errors
/// What went wrong, in a sentence.
pub fn run(arguments: &[String]) -> Result<(), String> {
    let options = parse(arguments)?;
    let folder = bundle(&options)?;
    println!("In {}:", folder.display());
    for name in bundled_names(Platform::here()) {
        println!("  {name}");
    }
    println!("cargo xtask install puts them where hosts look.");
    Ok(())
}

/// Names of what is bundled, the program last.
pub fn bundled_names(platform: Platform) -> [String; 3] {
    [
        format!("{}.clap", layout::PRODUCT),
        format!("{}.vst3", layout::PRODUCT),
        platform.program(),
    ]
}

/// Builds and lays out; gives the folder.
///
/// # Errors
/// What went wrong, in a sentence.
pub fn bundle(options: &Options) -> Result<PathBuf, String> {
    portable(|name| std::env::var(name).ok())?;
    if options.build {
        cargo(&[
            "build",
            "--package",
            "presolder",
            "--profile",
            &options.profile,
        ])?;
    }
    let target = crate::target();
    // Cargo keeps the dev profile's builds in a folder of another name.
    let built = target.join(match options.profile.as_str() {
        "dev" => "debug",
        other => other,
    });
    let into = options
        .into
        .clone()
        .unwrap_or_else(|| target.join("bundled"));
    let platform = Platform::here();
    let library = match options.build {
        true => built.join(platform.library()),
        false => newest(&built, platform),
    };
    lay_out(&library, &built, &into, platform)?;
    Ok(into)
}

/// Reads the chore's arguments.
///
/// # Errors
/// Which one is not understood.
pub fn parse(arguments: &[String]) -> Result<Options, String> {
    let mut options = Options::default();
    let mut rest = arguments.iter();
    while let Some(argument) = rest.next() {
        let mut value = || {
            let missing = || format!("{argument} needs a value");
            rest.next().cloned().ok_or_else(missing)
        };
        match argument.as_str() {
            "--debug" => options.profile = "dev".into(),
            "--profile" => options.profile = value()?,
            "--into" => options.into = Some(value()?.into()),
            "--no-build" => options.build = false,
            other => {
                return Err(format!(
                    "'{other}' is not known; there are --debug, --profile NAME, --into FOLDER and --no-build"
                ));
            }
        }
    }
    Ok(options)
}

/// A bundle must run on any machine of its kind: the engine looks at run time for what the
/// processor can do, and nothing else may use more than the baseline.
fn portable(variable: impl Fn(&str) -> Option<String>) -> Result<(), String> {
    for name in [
        "RUSTFLAGS",
        "CARGO_ENCODED_RUSTFLAGS",
        "CARGO_BUILD_RUSTFLAGS",
    ] {
        if let Some(flags) = variable(name)
            && flags.contains("target-cpu")
        {
            return Err(format!(
                "{name} names a processor ({flags}): the bundle would stop on other machines; unset it"
            ));
        }
    }
    Ok(())
}

/// The library that was built last: that of `cargo build`, or that of `cargo test`, which cargo
/// leaves among the dependencies of the tests.
fn newest(built: &Path, platform: Platform) -> PathBuf {
    let places = [built.to_owned(), built.join("deps")].map(|f| f.join(platform.library()));
    let time = |path: &PathBuf| fs::metadata(path).and_then(|m| m.modified()).ok();
    let [build, test] = places;
    if time(&test) > time(&build) {
        test
    } else {
        build
    }
}

/// Lays out what was built into `into`; each bundle is replaced as a whole.
fn lay_out(library: &Path, built: &Path, into: &Path, platform: Platform) -> Result<(), String> {
    let bytes = fs::read(library).map_err(|e| format!("{}: {e}", library.display()))?;
    for entry in ENTRIES {
        if !bytes.windows(entry.len()).any(|w| w == entry.as_bytes()) {
            return Err(format!("{} does not hold {entry}", library.display()));
        }
    }
    let staging = into.join(".new");
    let _ = fs::remove_dir_all(&staging);
    for (path, content) in platform.entries(&version()?) {
        let to = staging.join(&path);
        let told = |e: std::io::Error| format!("{}: {e}", to.display());
        fs::create_dir_all(to.parent().unwrap_or(&staging)).map_err(told)?;
        match content {
            Content::Library => fs::copy(library, &to).map(drop),
            Content::Program => fs::copy(built.join(platform.program()), &to).map(drop),
            Content::Text(text) => fs::write(&to, text),
        }
        .map_err(told)?;
    }
    for name in bundled_names(platform) {
        if platform.system == System::MacOs {
            sign(&staging.join(&name))?;
        }
        replace(&staging.join(&name), &into.join(&name))?;
    }
    fs::remove_dir_all(&staging).map_err(|e| format!("{}: {e}", staging.display()))
}

/// Signs for this machine alone; macOS on its own processors loads nothing unsigned.
fn sign(what: &Path) -> Result<(), String> {
    let status = Command::new("codesign")
        .args(["--force", "--sign", "-"])
        .arg(what)
        .status()
        .map_err(|e| format!("codesign cannot be started: {e}"))?;
    match status.success() {
        true => Ok(()),
        false => Err(format!("{} could not be signed", what.display())),
    }
}

/// The product's version, from its manifest.
fn version() -> Result<String, String> {
    let path = crate::top().join("Cargo.toml");
    let text = fs::read_to_string(&path).map_err(|e| format!("{}: {e}", path.display()))?;
    text.lines()
        .find_map(|line| line.strip_prefix("version = \"")?.strip_suffix('"'))
        .map(str::to_owned)
        .ok_or_else(|| format!("{} names no version", path.display()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(line: &str) -> Vec<String> {
        line.split_whitespace().map(str::to_owned).collect()
    }

    #[test]
    fn arguments_are_understood() {
        assert_eq!(parse(&[]).unwrap(), Options::default());
        assert_eq!(parse(&words("--debug")).unwrap().profile, "dev");
        let all = parse(&words("--profile quick --into x --no-build")).unwrap();
        assert_eq!((all.profile.as_str(), all.build), ("quick", false));
        assert_eq!(all.into, Some(PathBuf::from("x")));
        assert!(parse(&words("--profile")).unwrap_err().contains("a value"));
        assert!(parse(&words("--quick")).unwrap_err().contains("--quick"));
    }

    #[test]
    fn flags_for_one_processor_are_refused() {
        assert!(portable(|_| None).is_ok());
        assert!(portable(|_| Some("-C debuginfo=1".into())).is_ok());
        let refused = portable(|_| Some("-C target-cpu=native".into()));
        assert!(refused.unwrap_err().contains("RUSTFLAGS"));
    }

    #[test]
    fn cargo_is_told_of_no_processor() {
        for file in [".cargo/config.toml", "Cargo.toml"] {
            let text = fs::read_to_string(crate::top().join(file)).unwrap();
            assert!(!text.contains("target-cpu"), "{file}");
            assert!(!text.contains("target-feature"), "{file}");
        }
    }

    #[test]
    fn what_was_built_is_laid_out_and_replaced() {
        let folder = std::env::temp_dir().join(format!("presolder-bundle-{}", std::process::id()));
        let (built, into) = (folder.join("built"), folder.join("bundled"));
        fs::create_dir_all(&built).unwrap();
        let platform = Platform {
            system: System::Linux,
            architecture: "x86_64",
        };
        let library = built.join(platform.library());
        fs::write(&library, "clap_entry").unwrap();
        assert_eq!(newest(&built, platform), library);
        fs::write(built.join(platform.program()), "program").unwrap();
        assert!(
            lay_out(&library, &built, &into, platform)
                .unwrap_err()
                .contains("GetPluginFactory")
        );
        for text in ["clap_entry GetPluginFactory", "GetPluginFactory clap_entry"] {
            fs::write(&library, text).unwrap();
            lay_out(&library, &built, &into, platform).unwrap();
            let read = |path: &str| fs::read_to_string(into.join(path)).unwrap();
            assert_eq!(read("Presolder.clap"), text);
            assert_eq!(
                read("Presolder.vst3/Contents/x86_64-linux/Presolder.so"),
                text
            );
            assert_eq!(read("presolder"), "program");
            assert_eq!(fs::read_dir(&into).unwrap().count(), 3);
        }
        fs::remove_dir_all(folder).unwrap();
    }
}
