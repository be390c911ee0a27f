//! Reports: plain structs that the editor, the command line and the job sheet render alike.

pub mod loudness;
pub mod parts_list;
pub mod phrase;
pub mod third_octave;
