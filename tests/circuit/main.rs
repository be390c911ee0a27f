//! The circuit file and what it is made of: reading, diagnostics, changes, text back, quantities,
//! markings, loudspeakers that a file brings.

#[path = "../common/own_loudspeaker_files.rs"]
mod own_loudspeaker_files;
#[path = "../common/processor_time.rs"]
mod processor_time;

mod changes;
mod diagnostics;
mod drawing;
mod drawing_fold;
mod drawing_frozen;
mod hostile;
mod manual;
mod marking;
mod numbers;
mod own_loudspeakers;
mod own_loudspeakers_alike;
mod own_loudspeakers_faults;
mod random_amp;
mod read;
mod recognised;
mod topology;
mod units;
mod write;
