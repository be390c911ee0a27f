//! The plugin: a class for each built-in amp and one for the owner's own file, on `nice-plug`.
//!
//! [`class`] says which there are, [`params`] what a host sees of them, [`instance`] what one
//! instance shares between its threads, [`response`] its impulse response, [`handover`] how values
//! go to the audio thread and back, [`shell`] is the framework's view of it, [`state`] what a
//! project keeps, [`window`] puts the editor into the host's window, [`closing`] sees it closed,
//! [`answers`] keeps it drawing, [`asking`] asks the host for its size, [`rates`] says how fast it is
//! computed, [`worker`] works beside the audio thread, [`slots`] says which parameter moves which part
//! of one's own file, `texts` what parameters and positions are called, [`entry`] is what hosts load.

pub mod answers;
pub mod asking;
pub mod class;
pub mod closing;
pub mod entry;
pub mod handover;
pub mod host_param;
pub mod instance;
mod jack;
mod kept_impulse;
mod launch;
mod param_map;
pub mod params;
pub mod player;
pub mod rates;
pub mod response;
pub mod shell;
mod slots;
pub mod standalone;
pub mod state;
mod texts;
pub mod window;
pub mod worker;
