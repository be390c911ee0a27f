//! The window, drawn and driven without a screen.

#[path = "../common/own_loudspeaker_files.rs"]
mod own_loudspeaker_files;
#[path = "../common/program.rs"]
mod program;

mod cabinet;
mod figures;
mod files;
mod fit;
mod fixture;
mod howl;
mod jack;
mod loads;
mod own_loudspeaker;
mod pictures;
mod prices;
mod readings;
mod reports;
mod schematic;
mod sheet;
mod spread;
mod typed;
mod values;
