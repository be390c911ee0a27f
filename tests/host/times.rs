//! How long a host waits: for a scan of the bundle and for an instance. Figures for the bench,
//! not a gate: `cargo xtask bench` runs it on the release bundle.

use crate::fixture::CLASSES;
use crate::fixture::clap::Instance;
use clack_host::prelude::PluginEntry;
use std::time::Instant;

#[test]
#[ignore = "a bench: it prints times and judges nothing"]
fn scanning_and_opening() {
    let mut scans = Vec::new();
    for _ in 0..5 {
        let start = Instant::now();
        // SAFETY: the file is the one that this project builds; it follows the CLAP interface.
        let entry =
            unsafe { PluginEntry::load(crate::fixture::clap_file()) }.expect("the plugin opens");
        let factory = entry.get_plugin_factory().expect("a factory");
        assert_eq!(factory.plugin_descriptors().count(), CLASSES.len());
        scans.push(1e3 * start.elapsed().as_secs_f64());
    }
    println!(
        "scan of the bundle: first {:.1} ms, then {:.2} ms",
        scans[0], scans[4]
    );
    for class in CLASSES {
        let times: Vec<f64> = (0..5)
            .map(|_| {
                let start = Instant::now();
                let mut instance = Instance::new(class);
                let made = 1e3 * start.elapsed().as_secs_f64();
                assert!(!instance.params().is_empty());
                made
            })
            .collect();
        let later = times[1..].iter().copied().fold(f64::INFINITY, f64::min);
        println!(
            "{class}: first instance {:.1} ms, further ones {later:.1} ms",
            times[0]
        );
    }
    let mut instance = Instance::new(CLASSES[0]);
    let start = Instant::now();
    instance.activate(48_000.0, 512);
    println!(
        "{}: activated in {:.1} ms",
        CLASSES[0],
        1e3 * start.elapsed().as_secs_f64()
    );
}
