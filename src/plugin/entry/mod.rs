//! The entry points that hosts look for, our own in place of the framework's.
//!
//! The framework has one plugin type for each class and hands hosts its wrapper as it is. Here all
//! classes are of one type, and what the wrapper of nice-plug 0.4.2 does wrong is kept from hosts:
//! [`clap`] and [`vst3`] list the classes and make instances, [`vst3_instance`] stands between a host
//! and the wrapper, `vst3_view` between it and an open editor, [`fence`] lets an instance go without its thread,
//! `clap_names` and `vst3_names` give hosts the names of one's own file, [`made`] says whose.

pub mod clap;
mod clap_names;
pub mod fence;
pub mod made;
pub mod vst3;
pub mod vst3_instance;
mod vst3_names;
#[cfg(target_os = "linux")]
mod vst3_view;
