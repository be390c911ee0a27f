//! Reports: plain structs that the editor, the command line and the job sheet render alike.

pub mod phrase;
