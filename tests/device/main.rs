//! Laws of valves, rectifiers and loudspeakers against print and against themselves.

#[path = "../common/top.rs"]
mod top;

mod acoustics;
mod loudspeaker;
mod output_valves;
mod published;
mod rectifier;
mod valve_laws;
mod valves;
