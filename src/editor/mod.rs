//! The editor: reports become pictures, gestures become edits. It knows no plugin framework; what
//! it may see and do is the trait [`edit::Edit`].

pub mod edit;
pub mod hands;
pub mod history;
pub mod look;
pub mod rows;
pub mod view;
pub mod work;
pub mod worker;
