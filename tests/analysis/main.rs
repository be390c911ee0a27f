//! What a circuit does: the amps that come with the program, response, drive, headroom, loads,
//! audibility, playing.

#[path = "../common/printed/mod.rs"]
mod printed;
#[path = "../common/solved.rs"]
mod solved;
#[path = "../common/top.rs"]
mod top;
#[path = "../common/whole_amp.rs"]
mod whole_amp;

mod amps;
mod amps_playing;
mod audibility;
mod drive;
mod drive_harmonics;
mod drive_pace;
mod headroom;
mod headroom_clean;
mod loads;
mod loads_fixture;
mod loads_solved;
mod low_notes;
mod part_effect;
mod performance;
mod recovery;
mod sensitivity;
mod valve_chart;
