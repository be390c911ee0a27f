//! The program from outside.

#[path = "../common/absent.rs"]
mod absent;
#[path = "../common/own_loudspeaker_files.rs"]
mod own_loudspeaker_files;
#[path = "../common/program.rs"]
mod program;
#[path = "../common/sheet.rs"]
mod sheet;

mod arguments;
mod cabinet;
mod check;
mod compare;
mod curve;
mod fit;
mod guitar;
mod interrupt;
mod job_sheet;
mod loads;
mod measured;
mod own_loudspeaker;
mod play;
mod render;
mod voltages;
