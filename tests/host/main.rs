//! The built plugin in hosts.
//!
//! The tests open the library beside them, or the bundles in `PRESOLDER_BUNDLES` (`cargo xtask test`
//! lays them out from the tests' own build). `pedalboard` and `ardour` drive real hosts and are
//! skipped, with the reason, where those are not installed. Ardour plays and exports at 2 times
//! oversampling and does not show what cannot be automated, so its export is held against `render` by
//! power; pedalboard runs at 8 times and by peak. Ardour 7.3 without a screen crashes, hangs or begins
//! its export 16 frames early by itself on a busy machine (of 45 exports of a session without any
//! plugin 7 aborted and one hung), so what crashes or hangs is tried again, and an early beginning is
//! printed and not judged.
//!
//! A build with debug assertions aborts when the audio thread allocates (`allocations`).

#[path = "../common/absent.rs"]
mod absent;
#[path = "../common/own_loudspeaker_files.rs"]
mod own_loudspeaker_files;

mod allocations;
mod ardour;
mod clap;
mod clap_cabinet;
mod clap_own_loudspeaker;
mod clap_state;
mod fixture;
mod jack;
mod kept_states;
mod names;
#[cfg(target_os = "linux")]
mod names_window;
mod old_processor;
mod own_file;
mod pedalboard;
mod quality;
mod ranges;
mod removal;
mod times;
mod vst3;
#[cfg(target_os = "linux")]
mod window_left;
#[cfg(target_os = "linux")]
mod window_open;
#[cfg(target_os = "linux")]
mod window_size;
