//! What a circuit does: plain report structs, no files, no terminal.

pub mod audibility;
pub mod cabinet_model;
pub mod drive;
pub mod headroom;
pub mod level_search;
pub mod listening;
pub mod load;
pub mod low_notes;
pub mod part_effect;
pub mod parts_list;
pub mod performance;
pub mod playing;
pub mod response;
pub mod sensitivity;
pub mod stability;
pub mod stress;
pub mod third_octave;
pub mod valve_chart;
pub mod valves_playing;
pub mod voltages;
