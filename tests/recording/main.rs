//! Sounds and recordings: files, impulse responses, what a recording shows, and part values from it.

#[path = "../common/absent.rs"]
mod absent;
#[path = "../common/chi_square.rs"]
mod chi_square;
#[path = "../common/processor_time.rs"]
mod processor_time;
#[path = "../common/top.rs"]
mod top;

mod against_scipy;
mod drive;
mod driven;
mod fit;
mod fit_driven;
mod fit_fixture;
mod fit_recordings;
mod fixture;
mod impulse;
mod refused;
mod textbook;
mod wav;
mod with_dry_track;
mod without_dry_track;
