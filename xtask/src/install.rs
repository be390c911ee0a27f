//! `cargo xtask install`: bundles, and puts the bundles where hosts look for them, for this user
//! alone; says what went where and how to remove it.

use crate::bundle::layout::{PRODUCT, Platform, System};
use crate::bundle::{self, bundled_names};
use crate::replace::copy_and_replace;
use std::path::{Path, PathBuf};

/// Where the CLAP, the VST3 and the program go.
type Folders = [PathBuf; 3];

/// What the chore is asked for.
struct Wish {
    to: Option<PathBuf>,
    dry: bool,
    bundle: Vec<String>,
}

/// Reads the chore's arguments, bundles and installs.
///
/// # Errors
/// What went wrong, in a sentence.
pub fn run(arguments: &[String]) -> Result<(), String> {
    let wish = parse(arguments)?;
    let options = bundle::parse(&wish.bundle)?;
    let platform = Platform::here();
    let folders = match &wish.to {
        Some(folder) => [folder.clone(), folder.clone(), folder.clone()],
        None => folders(platform.system, |name| std::env::var(name).ok())?,
    };
    let places = places(platform, &folders);
    if wish.dry {
        println!("Would install, each in the place of an older one:");
        for place in &places {
            println!("  {}", place.display());
        }
        return Ok(());
    }
    let bundled = bundle::bundle(&options)?;
    println!("Installed, each in the place of an older one:");
    for (name, place) in bundled_names(platform).iter().zip(&places) {
        copy_and_replace(&bundled.join(name), place)?;
        println!("  {}", place.display());
    }
    println!("Let your host scan for plugins again, or start it anew.");
    if !on_path(&folders[2], std::env::var_os("PATH")) {
        println!(
            "{} is not on the search path: add it to run '{}' by its name.",
            folders[2].display(),
            platform.program()
        );
    }
    println!(
        "To remove it again:\n  {}",
        removal(platform.system, &places)
    );
    Ok(())
}

fn parse(arguments: &[String]) -> Result<Wish, String> {
    let mut wish = Wish {
        to: None,
        dry: false,
        bundle: Vec::new(),
    };
    let mut rest = arguments.iter();
    while let Some(argument) = rest.next() {
        match argument.as_str() {
            "--dry-run" => wish.dry = true,
            "--to" => wish.to = Some(rest.next().ok_or("--to needs a folder")?.into()),
            _ => wish.bundle.push(argument.clone()),
        }
    }
    Ok(wish)
}

/// The folders of a user on a system, from the environment.
fn folders(system: System, variable: impl Fn(&str) -> Option<String>) -> Result<Folders, String> {
    let from = |name: &str| {
        let value = variable(name).filter(|value| !value.is_empty());
        value.map(PathBuf::from).ok_or_else(|| {
            format!("{name} is not set, so there is no telling where plugins go; use --to FOLDER")
        })
    };
    Ok(match system {
        System::Linux => {
            let home = from("HOME")?;
            [
                home.join(".clap"),
                home.join(".vst3"),
                home.join(".local/bin"),
            ]
        }
        System::MacOs => {
            let home = from("HOME")?;
            let plugins = home.join("Library/Audio/Plug-Ins");
            [
                plugins.join("CLAP"),
                plugins.join("VST3"),
                home.join(".local/bin"),
            ]
        }
        System::Windows => {
            let programs = from("LOCALAPPDATA")?.join("Programs");
            let common = programs.join("Common");
            [
                common.join("CLAP"),
                common.join("VST3"),
                programs.join(PRODUCT),
            ]
        }
    })
}

/// Full paths of what is installed.
fn places(platform: Platform, folders: &Folders) -> Vec<PathBuf> {
    let names = bundled_names(platform);
    folders
        .iter()
        .zip(names)
        .map(|(folder, name)| folder.join(name))
        .collect()
}

fn on_path(folder: &Path, path: Option<std::ffi::OsString>) -> bool {
    path.is_some_and(|path| std::env::split_paths(&path).any(|entry| entry == folder))
}

/// The line that removes what was installed.
fn removal(system: System, places: &[PathBuf]) -> String {
    let (command, between) = match system {
        System::Windows => ("Remove-Item -Recurse", ", "),
        _ => ("rm -r", " "),
    };
    let quoted: Vec<String> = places
        .iter()
        .map(|p| format!("\"{}\"", p.display()))
        .collect();
    format!("{command} {}", quoted.join(between))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(system: System, name: &'static str, value: &str) -> Vec<String> {
        let value = value.to_owned();
        let folders = folders(system, |asked| (asked == name).then(|| value.clone())).unwrap();
        let platform = Platform {
            system,
            architecture: "x86_64",
        };
        places(platform, &folders)
            .iter()
            .map(|path| path.display().to_string().replace('\\', "/"))
            .collect()
    }

    #[test]
    fn every_system_has_its_folders() {
        assert_eq!(
            shown(System::Linux, "HOME", "/home/ann"),
            [
                "/home/ann/.clap/Presolder.clap",
                "/home/ann/.vst3/Presolder.vst3",
                "/home/ann/.local/bin/presolder"
            ]
        );
        assert_eq!(
            shown(System::MacOs, "HOME", "/Users/ann"),
            [
                "/Users/ann/Library/Audio/Plug-Ins/CLAP/Presolder.clap",
                "/Users/ann/Library/Audio/Plug-Ins/VST3/Presolder.vst3",
                "/Users/ann/.local/bin/presolder"
            ]
        );
        assert_eq!(
            shown(
                System::Windows,
                "LOCALAPPDATA",
                "C:/Users/ann/AppData/Local"
            ),
            [
                "C:/Users/ann/AppData/Local/Programs/Common/CLAP/Presolder.clap",
                "C:/Users/ann/AppData/Local/Programs/Common/VST3/Presolder.vst3",
                "C:/Users/ann/AppData/Local/Programs/Presolder/presolder.exe"
            ]
        );
    }

    #[test]
    fn without_a_home_it_says_what_to_do() {
        for system in [System::Linux, System::MacOs, System::Windows] {
            assert!(folders(system, |_| None).unwrap_err().contains("--to"));
            assert!(folders(system, |_| Some(String::new())).is_err());
        }
    }

    #[test]
    fn removal_names_every_place() {
        let places = [PathBuf::from("/a b/x.clap"), PathBuf::from("/c/y")];
        assert_eq!(
            removal(System::Linux, &places),
            "rm -r \"/a b/x.clap\" \"/c/y\""
        );
        assert_eq!(
            removal(System::Windows, &places),
            "Remove-Item -Recurse \"/a b/x.clap\", \"/c/y\""
        );
    }

    #[test]
    fn arguments_are_understood() {
        let words = |line: &str| line.split(' ').map(str::to_owned).collect::<Vec<_>>();
        let wish = parse(&words("--to x --dry-run --debug")).unwrap();
        assert_eq!((wish.to, wish.dry), (Some(PathBuf::from("x")), true));
        assert_eq!(wish.bundle, ["--debug"]);
        assert!(parse(&words("--to")).is_err());
    }
}
