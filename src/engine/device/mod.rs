//! Laws of the parts that are not straight lines, and the data of named parts.
//!
//! Voltages are in volts and referred to the cathode, currents in amperes and counted positive
//! into the electrode. A law returns the currents and their partial derivatives together.

pub mod acoustics;
pub mod catalogue;
pub mod core;
pub mod electrode;
pub mod grid;
mod lanes;
pub mod load_line;
pub mod loudspeaker;
pub mod pentode;
pub mod rectifier;
pub mod rectifier_file;
pub mod rectifier_type;
pub mod triode;
pub mod valve;
pub mod valve_file;

pub use self::core::{CoreCurrent, CoreLaw};
pub use acoustics::{Acoustic, AnalogSection, MOST_SECTIONS};
pub use catalogue::Catalogue;
pub use electrode::Electrode;
pub use grid::GridLaw;
pub use loudspeaker::Loudspeaker;
pub use pentode::{PentodeCurrents, PentodeLaw};
pub use rectifier::{RectifierCurrent, RectifierLaw};
pub use rectifier_file::RectifierFile;
pub use rectifier_type::RectifierType;
pub use triode::{TriodeCurrents, TriodeLaw};
pub use valve::{RatingSystem, Ratings, Valve, ValveLaw};
pub use valve_file::ValveFile;
