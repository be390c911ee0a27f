//! The built plugin in hosts.

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
mod old_processor;
mod pedalboard;
mod times;
mod vst3;
