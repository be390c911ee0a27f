//! The program from outside.

#[path = "../common/absent.rs"]
mod absent;
#[path = "../advice/changes_fixture.rs"]
mod changes_fixture;
#[path = "../common/own_loudspeaker_files.rs"]
mod own_loudspeaker_files;
#[path = "../common/program.rs"]
mod program;
#[path = "../common/sheet.rs"]
mod sheet;

mod arguments;
mod cabinet;
mod changes_text;
mod check;
mod compare;
mod curve;
mod draw;
mod fit;
mod guitar;
mod interrupt;
mod jack;
mod job_sheet;
mod loads;
mod measured;
mod own_loudspeaker;
mod play;
mod render;
mod stability;
mod voltages;
