//! What is heard from the renderer: sound, loudness, cabinets, recordings, no allocation.

#[path = "../common/absent.rs"]
mod absent;
#[path = "../common/forbids_allocation.rs"]
mod forbids_allocation;
#[path = "../common/own_loudspeaker_files.rs"]
mod own_loudspeaker_files;

mod allocations;
mod cabinet;
mod ends;
mod fixture;
mod full_scale;
mod howl;
mod loudness;
mod own_loudspeaker;
mod recording;
mod sound;
mod torture;
