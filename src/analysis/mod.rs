//! Analyses of an amp: plain report structs, no files, no terminal.

pub mod at_rest;
pub mod audibility;
pub mod changes;
pub mod digits;
pub mod drive;
pub mod headroom;
pub mod job;
pub mod loudness;
pub mod measured;
pub mod part_effect;
pub mod parts_list;
pub mod performance;
pub mod phrase;
pub mod playing;
pub mod prices;
pub mod ratings;
pub mod response;
pub mod safety;
pub mod sensitivity;
pub mod sentences;
pub mod spread;
pub mod third_octave;
pub mod valve_chart;
pub mod valves_playing;
pub mod verdict;
pub mod voltages;
