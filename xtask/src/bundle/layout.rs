//! What a bundle looks like on each system: which file of the build goes where, and the texts that
//! macOS wants beside them. Takes a platform, gives a list; touches no file.
//!
//! VST3: Steinberg, "VST 3 plug-in format structure"; CLAP: the comment on file names in
//! `clap/entry.h`; both from memory.

/// The product's name, which hosts' scanners and users see as the bundle's.
pub const PRODUCT: &str = "Presolder";
/// The program's name, and the library's.
pub const PROGRAM: &str = "presolder";
/// Reversed domain of the bundles' identities on macOS.
const IDENTITY: &str = "org.presolder";

/// A family of systems with one layout.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum System {
    /// Linux and its kin.
    Linux,
    /// macOS.
    MacOs,
    /// Windows.
    Windows,
}

/// What is built for.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Platform {
    /// Its system.
    pub system: System,
    /// Its processor in Rust's words.
    pub architecture: &'static str,
}

/// What a file of a bundle holds.
#[derive(Clone, Debug, PartialEq)]
pub enum Content {
    /// The built library.
    Library,
    /// The built program.
    Program,
    /// This text.
    Text(String),
}

/// A file of a bundle: its path with forward slashes, and what it holds.
pub type Entry = (String, Content);

impl Platform {
    /// That of this machine.
    pub fn here() -> Self {
        Platform {
            system: match std::env::consts::OS {
                "macos" => System::MacOs,
                "windows" => System::Windows,
                _ => System::Linux,
            },
            architecture: std::env::consts::ARCH,
        }
    }

    /// File name of the library as cargo leaves it.
    pub fn library(self) -> String {
        match self.system {
            System::Linux => format!("lib{PROGRAM}.so"),
            System::MacOs => format!("lib{PROGRAM}.dylib"),
            System::Windows => format!("{PROGRAM}.dll"),
        }
    }

    /// File name of the program.
    pub fn program(self) -> String {
        match self.system {
            System::Windows => format!("{PROGRAM}.exe"),
            _ => PROGRAM.into(),
        }
    }

    /// Everything that is bundled, for the product's `version`.
    pub fn entries(self, version: &str) -> Vec<Entry> {
        let mut entries = Vec::new();
        let clap = format!("{PRODUCT}.clap");
        let vst3 = format!("{PRODUCT}.vst3");
        if self.system == System::MacOs {
            for (bundle, format) in [(clap, "clap"), (vst3, "vst3")] {
                let inside = |file: &str| format!("{bundle}/Contents/{file}");
                entries.push((inside(&format!("MacOS/{PRODUCT}")), Content::Library));
                entries.push((inside("PkgInfo"), Content::Text("BNDL????".into())));
                entries.push((
                    inside("Info.plist"),
                    Content::Text(info(&format!("{IDENTITY}.{format}"), version)),
                ));
            }
        } else {
            entries.push((clap, Content::Library));
            let (folder, ending) = match self.system {
                System::Windows => (format!("{}-win", self.windows_architecture()), "vst3"),
                _ => (format!("{}-linux", self.linux_architecture()), "so"),
            };
            entries.push((
                format!("{vst3}/Contents/{folder}/{PRODUCT}.{ending}"),
                Content::Library,
            ));
        }
        entries.push((self.program(), Content::Program));
        entries
    }

    /// As `uname -m` says it, which is what hosts look for.
    fn linux_architecture(self) -> &'static str {
        match self.architecture {
            "x86" => "i386",
            other => other,
        }
    }

    fn windows_architecture(self) -> &'static str {
        match self.architecture {
            "aarch64" => "arm64",
            other => other,
        }
    }
}

/// The property list of a bundle on macOS.
fn info(identity: &str, version: &str) -> String {
    let keys = [
        ("CFBundleDevelopmentRegion", "en"),
        ("CFBundleExecutable", PRODUCT),
        ("CFBundleIdentifier", identity),
        ("CFBundleInfoDictionaryVersion", "6.0"),
        ("CFBundleName", PRODUCT),
        ("CFBundlePackageType", "BNDL"),
        ("CFBundleShortVersionString", version),
        ("CFBundleSignature", "????"),
        ("CFBundleVersion", version),
    ];
    let mut text = String::from(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <!DOCTYPE plist PUBLIC \"-//Apple//DTD PLIST 1.0//EN\" \
         \"http://www.apple.com/DTDs/PropertyList-1.0.dtd\">\n<plist version=\"1.0\">\n<dict>\n",
    );
    for (key, value) in keys {
        text += &format!("  <key>{key}</key>\n  <string>{value}</string>\n");
    }
    text + "  <key>NSHighResolutionCapable</key>\n  <true/>\n</dict>\n</plist>\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    fn paths(system: System, architecture: &'static str) -> Vec<String> {
        let platform = Platform {
            system,
            architecture,
        };
        let entries = platform.entries("1.2.3");
        entries.into_iter().map(|(path, _)| path).collect()
    }

    #[test]
    fn every_system_gets_its_layout() {
        assert_eq!(
            paths(System::Linux, "x86_64"),
            [
                "Presolder.clap",
                "Presolder.vst3/Contents/x86_64-linux/Presolder.so",
                "presolder"
            ]
        );
        assert_eq!(
            paths(System::Windows, "x86_64"),
            [
                "Presolder.clap",
                "Presolder.vst3/Contents/x86_64-win/Presolder.vst3",
                "presolder.exe"
            ]
        );
        assert_eq!(
            paths(System::MacOs, "aarch64"),
            [
                "Presolder.clap/Contents/MacOS/Presolder",
                "Presolder.clap/Contents/PkgInfo",
                "Presolder.clap/Contents/Info.plist",
                "Presolder.vst3/Contents/MacOS/Presolder",
                "Presolder.vst3/Contents/PkgInfo",
                "Presolder.vst3/Contents/Info.plist",
                "presolder"
            ]
        );
        assert!(paths(System::Linux, "aarch64")[1].contains("/aarch64-linux/"));
        assert!(paths(System::Linux, "x86")[1].contains("/i386-linux/"));
        assert!(paths(System::Windows, "aarch64")[1].contains("/arm64-win/"));
    }

    #[test]
    fn bundles_of_a_mac_have_identities_of_their_own() {
        let platform = Platform {
            system: System::MacOs,
            architecture: "aarch64",
        };
        let lists: Vec<String> = platform
            .entries("1.2.3")
            .into_iter()
            .filter_map(|(path, content)| match content {
                Content::Text(text) if path.ends_with("Info.plist") => Some(text),
                _ => None,
            })
            .collect();
        assert_eq!(lists.len(), 2);
        assert!(lists[0].contains("<string>org.presolder.clap</string>"));
        assert!(lists[1].contains("<string>org.presolder.vst3</string>"));
        assert!(lists.iter().all(|text| text.contains("1.2.3")));
    }
}
