//! The entry points that hosts look for, our own in place of the framework's.
//!
//! The framework has one plugin type for each class and hands hosts its wrapper as it is. Here all
//! classes are of one type, and what the wrapper of nice-plug 0.4.2 does wrong is kept from hosts:
//! [`clap`] and [`vst3`] list the classes and make instances, [`vst3_instance`] stands between a host
//! and the wrapper, `vst3_view` between it and an open editor, [`fence`] lets an instance go without its thread.

pub mod clap;
pub mod fence;
pub mod vst3;
pub mod vst3_instance;
#[cfg(target_os = "linux")]
mod vst3_view;
