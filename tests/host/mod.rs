//! Shared by the tests of the plugin in hosts: where the built bundles are, signals, and the hosts.
#![allow(dead_code)]

pub mod clap;
mod handlers;
pub mod outside;

use std::path::{Path, PathBuf};
use std::sync::OnceLock;

/// Identities of the classes, as projects of users keep them: these never change.
pub const CLASSES: [&str; 5] = [
    "org.presolder.bradawl",
    "org.presolder.mizzle",
    "org.presolder.spokeshave",
    "org.presolder.sluice",
    "org.presolder.own",
];

/// The class for the owner's own file.
pub const OWN: &str = "org.presolder.own";

/// Where `cargo xtask test` has laid out the bundles, if it runs these tests. The check for
/// allocations needs a library of its own.
fn bundles() -> Option<PathBuf> {
    let named = std::env::var_os("PRESOLDER_BUNDLES").map(PathBuf::from);
    named.filter(|_| !cfg!(feature = "allocation-check"))
}

/// The library that cargo has built for this test; it lies beside it.
fn library() -> PathBuf {
    let test = std::env::current_exe().expect("this test's path");
    let name = format!(
        "{}presolder{}",
        std::env::consts::DLL_PREFIX,
        std::env::consts::DLL_SUFFIX
    );
    let path = test.with_file_name(name);
    assert!(path.exists(), "{} is not built", path.display());
    path
}

/// What a CLAP host opens: the bundle, or without one the library, which is the same file.
pub fn clap_file() -> PathBuf {
    match bundles() {
        Some(bundles) if cfg!(target_os = "macos") => {
            bundles.join("Presolder.clap/Contents/MacOS/Presolder")
        }
        Some(bundles) => bundles.join("Presolder.clap"),
        None => library(),
    }
}

/// What a VST3 host opens: the bundle, or one made here for the library.
pub fn vst3_folder() -> PathBuf {
    static MADE: OnceLock<PathBuf> = OnceLock::new();
    match bundles() {
        Some(bundles) => bundles.join("Presolder.vst3"),
        None => MADE.get_or_init(make_vst3).clone(),
    }
}

/// A bundle around the library; one for each test program, made anew by each run.
fn make_vst3() -> PathBuf {
    let folder = format!("{}/Presolder.vst3", env!("CARGO_CRATE_NAME"));
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(folder);
    let architecture = match std::env::consts::OS {
        "macos" => "MacOS".to_owned(),
        "windows" => format!("{}-win", std::env::consts::ARCH),
        _ => format!("{}-linux", std::env::consts::ARCH),
    };
    let ending = match std::env::consts::OS {
        "macos" => "",
        "windows" => ".vst3",
        _ => ".so",
    };
    let inner = folder.join("Contents").join(architecture);
    let file = inner.join(format!("Presolder{ending}"));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&inner).expect("a folder for the bundle");
    std::fs::hard_link(library(), &file).expect("a bundle beside the build");
    folder
}

/// Numbers that look random and are the same in every run.
pub struct Dice(u64);

impl Dice {
    /// From a seed.
    pub fn new(seed: u64) -> Self {
        Dice(seed)
    }

    /// The next one, from 0 up to 1.
    pub fn roll(&mut self) -> f64 {
        // Constants of D. Knuth's MMIX generator, from memory.
        self.0 = self
            .0
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    /// An index below `count`.
    pub fn below(&mut self, count: usize) -> usize {
        (self.roll() * count as f64) as usize
    }
}

/// A plucked string, 110 Hz with harmonics, about `peak` at its loudest; every channel a little
/// different.
pub fn pluck(rate: f64, frames: usize, channels: usize, peak: f64) -> Vec<Vec<f32>> {
    let sample = |channel: usize, n: usize| {
        let t = n as f64 / rate;
        let base = std::f64::consts::TAU * (110.0 + 0.5 * channel as f64) * t;
        let sum: f64 = (1..8)
            .map(|k| (base * f64::from(k)).sin() / f64::from(k * k))
            .sum();
        (peak * (-3.0 * t).exp() * sum / 1.4) as f32
    };
    (0..channels)
        .map(|channel| (0..frames).map(|n| sample(channel, n)).collect())
        .collect()
}

/// The bits of a recording, for "identical".
pub fn bits(channels: &[Vec<f32>]) -> Vec<Vec<u32>> {
    let of = |channel: &Vec<f32>| channel.iter().map(|x| x.to_bits()).collect();
    channels.iter().map(of).collect()
}

/// The first frame in which two recordings differ.
pub fn first_difference(a: &[Vec<f32>], b: &[Vec<f32>]) -> Option<usize> {
    let channels = a.iter().zip(b);
    channels
        .filter_map(|(a, b)| {
            a.iter()
                .zip(b)
                .position(|(a, b)| a.to_bits() != b.to_bits())
        })
        .min()
}

/// Loudest sample; not a number if one is.
pub fn peak(channels: &[Vec<f32>]) -> f32 {
    let all = channels.iter().flatten();
    all.fold(0.0, |most: f32, x| {
        if x.is_finite() {
            most.max(x.abs())
        } else {
            f32::NAN
        }
    })
}
