//! The frequency response as a picture, and the parts that every curve of the window is made of.

pub mod axes;
pub mod figures;
pub mod response;
pub mod target;
